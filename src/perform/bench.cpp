#include "perform/bench.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "motion/servo.hpp"

namespace mien::perform {
namespace {

constexpr const char* kAngle = "angle";
constexpr double kStallShare = 0.5;  // of what the servo draws when it is stuck: the threshold until a person sets another


double angle_at(const show::Actuator& a, double us) noexcept {
  const double at_min = show::pulse_us(a, a.min_deg), at_max = show::pulse_us(a, a.max_deg);
  return a.min_deg + (us - at_min) / (at_max - at_min) * (a.max_deg - a.min_deg);
}

show::Actuator on_bench(const show::Rig& rig, int actuator) {
  show::Actuator a = rig.actuators[static_cast<std::size_t>(actuator)];
  if (!a.commissioned) {
    const double one = angle_at(a, kBenchLeast_us), other = angle_at(a, kBenchMost_us), middle = angle_at(a, kBenchMiddle_us);
    a.min_deg = std::min(one, other), a.max_deg = std::max(one, other), a.rest_deg = middle;
    a.pulse_min_us = kBenchLeast_us, a.pulse_max_us = kBenchMost_us;
  }
  a.velocity_deg_s = kBenchCreep_deg_s;
  a.acceleration_deg_s2 = kBenchCreep_deg_s * rig.tick_hz;
  return a;
}

}  // namespace

show::Rig bench_rig(const show::Rig& rig, int actuator) {
  show::Rig bench;
  bench.name = rig.name, bench.tick_hz = rig.tick_hz, bench.latch_lead_ms = rig.latch_lead_ms, bench.watchdog = rig.watchdog;
  bench.creep_share = 1;  // it creeps anyway
  bench.groups = rig.groups, bench.boards = rig.boards, bench.servos = rig.servos;
  for (show::Board& board : bench.boards)
    for (show::Rail& rail : board.rails) rail.governed = false;
  const show::Actuator a = on_bench(rig, actuator);
  bench.actuators = {a};
  bench.controls = {{kAngle, a.group, "deg", a.min_deg, a.max_deg, a.rest_deg}};
  bench.mappings = {{{{"", 0, {{kAngle, 1}}}}, show::Straight{}, {a.name}}};
  return bench;
}

show::ShowPtr bench_show(double angle_deg) {
  auto show = std::make_shared<show::Show>();
  show->name = "Workbench";
  show->length = std::chrono::seconds(1);
  show->channels = {std::make_shared<const show::Channel>(show::Channel{kAngle, {{show::Time{0}, angle_deg, show::kHold}}})};
  return show;
}

Bench::Bench(const show::Rig& rig, int actuator) {
  const show::Actuator a = on_bench(rig, actuator);
  least_deg_ = a.min_deg, most_deg_ = a.max_deg, setpoint_deg_ = a.rest_deg;
  low_deg_ = a.commissioned ? least_deg_ : std::max(least_deg_, a.rest_deg - kBandStep_deg);
  high_deg_ = a.commissioned ? most_deg_ : std::min(most_deg_, a.rest_deg + kBandStep_deg);
  most_current_a_ = kStallShare * motion::figures_of(rig, a).stall_current_a;
}

double Bench::within(double angle_deg) const noexcept { return std::clamp(angle_deg, low_deg_, high_deg_); }

void Bench::acknowledge() noexcept {
  if (doing_ == Doing::locked) doing_ = Doing::silent, stopping_ = armed_;
}

void Bench::go(Doing doing, std::vector<double> goals, double speed_deg_s) noexcept {
  doing_ = doing, speed_deg_s_ = speed_deg_s, goals_ = std::move(goals);
  halted_ = Halt::none, standing_ = true, done_deg_ = 0, way_deg_ = 0;
  double from = setpoint_deg_;
  for (const double goal : goals_) way_deg_ += std::abs(goal - from), from = goal;
}

bool Bench::jog(double by_deg) noexcept {
  if ((doing_ != Doing::holding && doing_ != Doing::jogging) || !std::isfinite(by_deg)) return false;
  const double from = doing_ == Doing::jogging ? goals_.back() : setpoint_deg_;
  const double goal = within(from + by_deg);
  if (goal == from) return false;
  go(Doing::jogging, {goal}, kBenchCreep_deg_s);
  return true;
}

bool Bench::identify() noexcept {
  if (doing_ != Doing::holding) return false;
  const double home = within(setpoint_deg_);
  go(Doing::identifying, {within(home + kWiggle_deg), within(home - kWiggle_deg), within(home + kWiggle_deg), within(home - kWiggle_deg), home}, kWiggle_deg_s);
  return true;
}

bool Bench::travel(double low_deg, double high_deg, double rest_deg) noexcept {
  const auto inside = [&](double angle) { return angle >= low_deg_ && angle <= high_deg_; };  // false for NaN
  if (doing_ != Doing::holding || !inside(low_deg) || !inside(high_deg) || !inside(rest_deg)) return false;
  travelled_ = false;
  go(Doing::travelling, {low_deg, high_deg, rest_deg}, kBenchCreep_deg_s);
  return true;
}

void Bench::halt() noexcept {
  if (!moving()) return;
  doing_ = Doing::holding, halted_ = Halt::person;
  goals_.clear();
}

bool Bench::widen(int side) noexcept {
  if (doing_ != Doing::holding || side == 0) return false;
  double& edge = side > 0 ? high_deg_ : low_deg_;
  const double end = side > 0 ? most_deg_ : least_deg_;
  if (edge == end || std::abs(setpoint_deg_ - edge) > kAtEdge_deg) return false;
  edge = side > 0 ? std::min(end, edge + kBandStep_deg) : std::max(end, edge - kBandStep_deg);
  return true;
}

void Bench::set_most_current(double ampere) noexcept {
  if (ampere >= 0) most_current_a_ = ampere;
}

bool Bench::fall(Halt why, bool stop) noexcept {
  if (stop || moving()) halted_ = why;
  doing_ = Doing::silent, stopping_ = stop;
  goals_.clear();
  return stop;
}

void Bench::move(double step_deg) noexcept {
  // The limiter takes a target that moves to go on as it went; so that it never passes the band's edge, the target stands still for a
  // tick before it sets out and wherever it turns.
  if (std::exchange(standing_, false)) return;
  const double gap = goals_.front() - setpoint_deg_, part = std::min(std::abs(gap), step_deg);
  done_deg_ += part;
  setpoint_deg_ = part < std::abs(gap) ? setpoint_deg_ + std::copysign(part, gap) : goals_.front();
  if (setpoint_deg_ != goals_.front()) return;
  goals_.erase(goals_.begin());
  standing_ = true;
  if (!goals_.empty()) return;
  travelled_ = travelled_ || doing_ == Doing::travelling;
  doing_ = Doing::holding;
}

bool Bench::tick(const Seen& now) noexcept {
  if (doing_ == Doing::locked) return armed_ = now.link == Contact::armed;
  if (doing_ == Doing::silent) {
    stopping_ = stopping_ && now.link == Contact::armed;
    if (now.link != Contact::armed || stopping_) return false;
    // Pulses begin where the boards say that it is; from beyond the band it first comes back into it.
    if (std::isfinite(now.position_deg)) setpoint_deg_ = std::clamp(now.position_deg, least_deg_, most_deg_);
    go(Doing::jogging, {within(setpoint_deg_)}, kBenchCreep_deg_s);
    return false;
  }
  if (now.link == Contact::lost) return fall(Halt::link, true);
  if (now.link == Contact::silent) return fall(Halt::person, false);
  if (now.current_a && *now.current_a > most_current_a_) return fall(Halt::current, true);
  const double passed_s = now.passed_s > 0 ? std::min(now.passed_s, kLongestStep_s) : 0;
  if (moving()) move(speed_deg_s_ * passed_s);
  return false;
}

double Bench::progress() const noexcept { return way_deg_ > 0 ? std::min(1.0, done_deg_ / way_deg_) : 0; }

}  // namespace mien::perform
