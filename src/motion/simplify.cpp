#include "motion/simplify.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "motion/easing.hpp"

namespace mien::motion {
namespace {

using show::Easing;

constexpr float kThird = 1.0f / 3, kTwoThirds = 2.0f / 3;

class Fit {
 public:
  Fit(std::span<const Sample> samples, double error) : s_(samples) {
    const auto [low, high] = std::minmax_element(s_.begin(), s_.end(), [](const Sample& a, const Sample& b) { return a.value < b.value; });
    const double reach = std::max({std::abs(low->value), std::abs(high->value), 1e-300});
    error_ = std::max(error, 1e-9 * reach);
  }

  std::vector<show::Keyframe> keys() {
    std::vector<show::Keyframe> keys;
    for (std::size_t i = 0; i + 1 < s_.size();) {
      Easing easing = show::kLinear;
      const std::size_t j = longest(i, easing);
      keys.push_back({s_[i].time, s_[i].value, easing});
      i = j;
    }
    keys.push_back({s_.back().time, s_.back().value, show::kHold});
    while (keys.size() > 1 && keys[keys.size() - 2].easing == show::kHold && keys[keys.size() - 2].value == keys.back().value) keys.pop_back();
    return keys;
  }

 private:
  double share(std::size_t i, std::size_t j, std::size_t n) const noexcept {
    return static_cast<double>((s_[n].time - s_[i].time).count()) / static_cast<double>((s_[j].time - s_[i].time).count());
  }

  // The end of the longest segment from i, as far as doubling and bisection find it, and its easing. i + 1 always fits. One that doesn't fit may be
  // an accident of where it ends, so that longer ones are tried, too, before that counts.
  std::size_t longest(std::size_t i, Easing& easing) const {
    constexpr int kMostMisses = 3;
    const std::size_t last = s_.size() - 1;
    std::size_t good = i + 1, bad = last + 1;
    fits(i, good, easing);
    Easing tried;
    int misses = 0;
    for (std::size_t step = 2; good < last && misses < kMostMisses; step *= 2) {
      const std::size_t j = std::min(i + step, last);
      if (fits(i, j, tried)) good = j, easing = tried, bad = last + 1, misses = 0;
      else if (misses++ == 0) bad = j;
      if (j == last) break;
    }
    while (bad <= last && bad - good > 1) {
      const std::size_t middle = good + (bad - good) / 2;
      if (fits(i, middle, tried)) good = middle, easing = tried;
      else bad = middle;
    }
    return good;
  }

  template <class Curve>
  bool within(std::size_t i, std::size_t j, Curve curve) const {
    for (std::size_t n = i + 1; n < j; ++n)
      if (!(std::abs(curve(share(i, j, n)) - s_[n].value) <= error_)) return false;
    return true;
  }

  bool fits(std::size_t i, std::size_t j, Easing& easing) const {
    const double y0 = s_[i].value, dy = s_[j].value - y0;
    if (dy == 0 && within(i, j, [&](double) { return y0; })) return easing = show::kHold, true;
    if (within(i, j, [&](double u) { return y0 + u * dy; })) return easing = show::kLinear, true;
    const auto best = least_squares(i, j);
    if (!best) return false;
    easing = *best;
    return within(i, j, [&](double u) { return y0 + dy * bezier_ease(easing, u); });
  }

  // y(u) = y0 h00 + m0 h10 + y1 h01 + m1 h11 with the slopes m that leave the least sum of squares. None where the ends are so near in value that
  // no easing can say what lies between: there the segment ends elsewhere.
  std::optional<Easing> least_squares(std::size_t i, std::size_t j) const {
    const double y0 = s_[i].value, y1 = s_[j].value;
    if (std::abs(y1 - y0) < 1e-3 * error_) return std::nullopt;
    if (j - i == 2) {  // the parabola through the one sample between
      const double u = share(i, j, i + 1), m0 = (s_[i + 1].value - y0 - (y1 - y0) * u * u) / (u - u * u);
      return cubic(y0, y1, m0, 2 * (y1 - y0) - m0);
    }
    double a = 0, b = 0, c = 0, p = 0, q = 0;
    for (std::size_t n = i + 1; n < j; ++n) {
      const double u = share(i, j, n), v = 1 - u;
      const double h10 = u * v * v, h11 = -u * u * v, left = s_[n].value - y0 * (1 + 2 * u) * v * v - y1 * u * u * (3 - 2 * u);
      a += h10 * h10, b += h10 * h11, c += h11 * h11, p += h10 * left, q += h11 * left;
    }
    const double det = a * c - b * b;
    if (!(det > 1e-12 * a * c)) return std::nullopt;
    const double m0 = (p * c - q * b) / det, m1 = (a * q - b * p) / det;
    return cubic(y0, y1, m0, m1);
  }

  static std::optional<Easing> cubic(double y0, double y1, double m0, double m1) noexcept {
    const Easing easing{Easing::Kind::bezier, kThird, static_cast<float>(m0 / (3 * (y1 - y0))), kTwoThirds, static_cast<float>(1 - m1 / (3 * (y1 - y0)))};
    return std::isfinite(easing.y1) && std::isfinite(easing.y2) ? std::optional(easing) : std::nullopt;
  }

  std::span<const Sample> s_;
  double error_;
};

}  // namespace

std::vector<show::Keyframe> simplified(std::span<const Sample> samples, double error) {
  if (samples.empty()) return {};
  return Fit(samples, error).keys();
}

}  // namespace mien::motion
