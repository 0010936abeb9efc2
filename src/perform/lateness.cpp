#include "perform/lateness.hpp"

#include <algorithm>
#include <cmath>

namespace mien::perform {

void LatenessMeter::add(double late_us, bool missed) noexcept {
  const int c = late_us <= 1 ? 0 : static_cast<int>(8 * std::log2(late_us));
  ++seconds_[now_][static_cast<std::size_t>(std::clamp(c, 0, kClasses - 1))];
  max_us_ = std::max(max_us_, late_us);
  ++ticks_;
  missed_ += missed;
}

void LatenessMeter::next_second() noexcept {
  now_ = (now_ + 1) % seconds_.size();
  seconds_[now_] = {};
}

Lateness LatenessMeter::result(bool realtime) const noexcept {
  Counts sum{};
  std::uint64_t all = 0;
  for (const auto& second : seconds_)
    for (std::size_t c = 0; c < kClasses; ++c) sum[c] += second[c], all += second[c];
  const auto percentile = [&](double share) {
    std::uint64_t below = 0;
    for (std::size_t c = 0; c < kClasses; ++c)
      if ((below += sum[c]) > 0 && static_cast<double>(below) >= share * static_cast<double>(all)) return std::min(std::exp2((static_cast<double>(c) + 1) / 8), max_us_);
    return 0.0;
  };
  return {percentile(0.5), percentile(0.99), max_us_, ticks_, missed_, realtime};
}

}  // namespace mien::perform
