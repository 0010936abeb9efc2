#include "motion/supply.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <span>

namespace mien::motion {
namespace {

// As sold (common practice).
constexpr double kSupplies_a[] = {1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60};
constexpr double kFuses_a[] = {1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40};
constexpr double kDensity_a_mm2 = 5;
constexpr double kMostDrop = 0.05;
constexpr int kThinnest = 30, kThickest = 8;

double first_from(std::span<const double> list, double least) {
  const auto found = std::lower_bound(list.begin(), list.end(), least - 1e-9);
  return found == list.end() ? 0 : *found;
}

// At most two decimals, none that say nothing.
std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.2f", value);
  std::string s = text;
  while (s.back() == '0') s.pop_back();
  if (s.back() == '.') s.pop_back();
  return s;
}

}  // namespace

double awg_diameter_mm(int awg) noexcept { return 0.127 * std::pow(92.0, (36 - awg) / 39.0); }
double awg_area_mm2(int awg) noexcept {
  const double d = awg_diameter_mm(awg);
  return std::numbers::pi / 4 * d * d;
}

double ohm_per_m(double area_mm2, double temperature_c) noexcept {
  return (1 + 0.00393 * (temperature_c - 20)) / (58 * area_mm2);
}
double drop_v(const Wire& wire, double current_a) noexcept {
  return 2 * wire.length_m * current_a * ohm_per_m(wire.area_mm2, wire.temperature_c);
}

double hold_up_farad(double current_a, double time_s, double drop) noexcept { return current_a * time_s / drop; }
double hold_up_farad(double power_w, double time_s, double from_v, double to_v) noexcept {
  return 2 * power_w * time_s / (from_v * from_v - to_v * to_v);
}
double hold_up_s(double farad, double current_a, double drop) noexcept { return farad * drop / current_a; }

SlidingRms::SlidingRms(int samples) noexcept : window_(std::clamp(samples, 1, kMostSamples)) {}

double SlidingRms::add(double current_a) noexcept {
  const float square = current_a == current_a ? static_cast<float>(std::min(current_a * current_a, 1e12)) : 0.0f;
  const auto slot = static_cast<std::size_t>(next_);
  if (count_ == window_) sum_ -= static_cast<double>(squares_[slot]);
  else ++count_;
  squares_[slot] = square;
  sum_ += static_cast<double>(square);
  fresh_ += static_cast<double>(square);
  if (++next_ == window_) next_ = 0, sum_ = fresh_, fresh_ = 0;
  return std::sqrt(std::max(sum_, 0.0) / count_);
}

show::Findings check(const Feed& feed, const Load& load) {
  show::Findings findings;
  const auto add = [&](show::Severity severity, std::string what, std::string cure) {
    findings.push_back({severity, "", "", std::move(what), std::move(cure)});
  };
  const auto given = [](double x) { return std::isfinite(x) && x > 0; };
  if (!given(feed.supply_a)) add(show::Severity::error, "the rail has no rating", "Enter what its supply can give, in amperes");
  const auto above = [&](double load_a, const char* name, const char* part, double rating) {
    if (given(rating) && load_a > kContinuousShare * rating * (1 + 1e-9))
      add(show::Severity::warning,
          std::string(name) + " of " + number(load_a) + " A is above " + number(kContinuousShare * rating) +
              " A, 80 % of the " + part + "'s " + number(rating) + " A",
          "Split the rail, or see what `mien power` says would do");
  };
  above(load.stall_a, ("the worst case, all " + std::to_string(load.actuators) + " stalled,").c_str(), "supply", feed.supply_a);
  above(load.rms_a, "the RMS over one second", "supply", feed.supply_a);
  above(load.rms_a, "the RMS over one second", "connector", feed.connector_a);
  above(load.rms_a, "the RMS over one second", "fuse", feed.fuse_a);
  if (given(feed.supply_a) && load.peak_a > feed.supply_a)
    add(show::Severity::error,
        "the expected peak of " + number(load.peak_a) + " A is more than the supply's " + number(feed.supply_a) + " A",
        "Split the rail, slow the show, or turn the rail's governor on");
  if (given(feed.wire.area_mm2) && given(feed.wire.length_m)) {
    const double lost = drop_v(feed.wire, load.peak_a);
    if (given(feed.voltage_v) && lost > kMostDrop * feed.voltage_v)
      add(show::Severity::warning,
          "the wire loses " + number(lost) + " V at the expected peak, " + number(100 * lost / feed.voltage_v) + " % of " +
              number(feed.voltage_v) + " V",
          "Take a thicker or shorter wire");
    if (given(feed.fuse_a) && feed.fuse_a > kDensity_a_mm2 * feed.wire.area_mm2 * (1 + 1e-9))
      add(show::Severity::warning,
          "the fuse of " + number(feed.fuse_a) + " A doesn't protect the wire of " + number(feed.wire.area_mm2) +
              " mm2, good for " + number(kDensity_a_mm2 * feed.wire.area_mm2) + " A",
          "Take a smaller fuse or a thicker wire");
  }
  return findings;
}

Advice advise(double voltage_v, double length_m, const Load& load) noexcept {
  Advice a;
  a.supply_a = first_from(kSupplies_a, load.stall_a / kContinuousShare);
  a.fuse_a = first_from(kFuses_a, std::max(load.rms_a / kContinuousShare, load.peak_a + load.stuck_a));
  if (a.fuse_a == 0) return a;
  for (int awg = kThinnest; awg >= kThickest; awg -= 2) {
    const Wire wire{awg_area_mm2(awg), length_m};
    const double lost = motion::drop_v(wire, load.peak_a);
    if (!(lost <= kMostDrop * voltage_v) || kDensity_a_mm2 * wire.area_mm2 < a.fuse_a) continue;
    a.awg = awg, a.area_mm2 = wire.area_mm2, a.drop_v = lost;
    break;
  }
  return a;
}

std::string to_text(const Advice& a) {
  std::string text =
      a.supply_a > 0 ? "a supply of " + number(a.supply_a) + " A would do" : "no usual supply would do: split the rail";
  text += a.fuse_a > 0 ? ", with a fuse of " + number(a.fuse_a) + " A" : ", no usual fuse would do: split the rail";
  if (a.awg > 0)
    text += " and AWG " + std::to_string(a.awg) + " wire (" + number(a.area_mm2) + " mm2, " + number(a.drop_v) + " V lost)";
  else if (a.fuse_a > 0) text += "; no usual wire would do at this length: shorten it or split the rail";
  return text;
}

}  // namespace mien::motion
