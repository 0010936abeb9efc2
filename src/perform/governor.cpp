#include "perform/governor.hpp"

#include <algorithm>
#include <cmath>

#include "motion/index.hpp"

namespace mien::perform {
namespace {

using motion::at;

constexpr double kSettle_s = 0.1;    // a servo goes on for that long after its setpoint stands, at most
constexpr double kLongest_s = 0.4;   // of looking ahead
constexpr double kStill_deg_s = 0.5;
constexpr int kHalvings = 5;

// One rail's actuators by themselves, so that a share can be tried on them without touching any other.
class Trial {
 public:
  Trial(const GovernedRail& rail, std::span<const motion::Servo> servos, const Governor& governor, const motion::LimiterState& before,
        std::span<const double> target_deg, double velocity_share)
      : rail_(rail), servos_(servos), governor_(governor), velocity_share_(velocity_share) {
    take(before_, before);
    for (std::size_t i = 0; i < rail.actuators.size(); ++i) target_deg_[i] = target_deg[at(rail.actuators[i])];
  }

  void take(motion::LimiterState& to, const motion::LimiterState& from) const noexcept {
    for (std::size_t i = 0; i < rail_.actuators.size(); ++i) {
      const std::size_t a = at(rail_.actuators[i]);
      to.position_deg[i] = from.position_deg[a], to.step_deg[i] = from.step_deg[a];
      to.target_deg[i] = from.target_deg[a], to.pace_deg[i] = from.pace_deg[a];
    }
  }
  void give(motion::LimiterState& to, const motion::LimiterState& from) const noexcept {
    for (std::size_t i = 0; i < rail_.actuators.size(); ++i) {
      const std::size_t a = at(rail_.actuators[i]);
      to.position_deg[a] = from.position_deg[i], to.step_deg[a] = from.step_deg[i];
      to.target_deg[a] = from.target_deg[i], to.pace_deg[a] = from.pace_deg[i];
    }
  }

  motion::LimiterState stepped(double share) const noexcept {
    motion::LimiterState next = before_;
    motion::step(next, rail_.limits, target_deg_, velocity_share_ * share);
    return next;
  }

  // Whether the rail carries this step, and a full stop after it.
  bool carries(const motion::LimiterState& step) const noexcept {
    motion::LimiterState next = step;
    const double tick_s = rail_.limits.tick_s;
    std::array<motion::ServoState, show::kMaxActuators> servo;
    for (std::size_t i = 0; i < rail_.actuators.size(); ++i) servo[i] = governor_.servo[at(rail_.actuators[i])];
    double still_s = 0;
    for (double ahead_s = 0; ahead_s < kLongest_s && still_s < kSettle_s; ahead_s += tick_s) {
      double sum = 0, fastest = 0;
      bool moves = false;
      for (std::size_t i = 0; i < rail_.actuators.size(); ++i) {
        servos_[at(rail_.actuators[i])].follow(servo[i], next.position_deg[i]);
        sum += servo[i].current_a;
        fastest = std::max(fastest, std::abs(servo[i].velocity_deg_s));
        moves = moves || next.step_deg[i] != 0;
      }
      if (sum > rail_.most_a) return false;
      if (!moves && fastest < kStill_deg_s) return true;
      still_s = moves ? 0 : still_s + tick_s;
      motion::step(next, rail_.limits, target_deg_, 0);
    }
    return true;
  }

 private:
  const GovernedRail& rail_;
  std::span<const motion::Servo> servos_;
  const Governor& governor_;
  const double velocity_share_;
  motion::LimiterState before_;
  std::array<double, show::kMaxActuators> target_deg_{};
};

// The share for this tick; `next` is made anew where it is less than 1.
double govern(const GovernedRail& rail, const Trial& trial, double last_share, motion::LimiterState& next) noexcept {
  const double most = std::min(1.0, last_share + kRise_per_s * rail.limits.tick_s);
  motion::LimiterState tried;
  if (most == 1) {
    trial.take(tried, next);
    if (trial.carries(tried)) return 1;
  } else if (tried = trial.stepped(most); trial.carries(tried)) {
    trial.give(next, tried);
    return most;
  }
  double good = 0, bad = most;
  for (int k = 0; k < kHalvings; ++k) {
    const double share = 0.5 * (good + bad);
    (trial.carries(trial.stepped(share)) ? good : bad) = share;
  }
  if (good == 0 && !trial.carries(trial.stepped(0))) good = std::min(kWayOut, most);
  trial.give(next, trial.stepped(good));
  return good;
}

}  // namespace

std::vector<GovernedRail> governed_rails(const show::Rig& rig, const motion::Limits& limits) {
  std::vector<GovernedRail> rails;
  for (std::size_t b = 0; b < rig.boards.size(); ++b) {
    for (std::size_t r = 0; r < rig.boards[b].rails.size(); ++r) {
      const show::Rail& asked = rig.boards[b].rails[r];
      if (!asked.governed || !(asked.rating_a > 0) || rails.size() == kMostGoverned) continue;
      GovernedRail rail;
      rail.board = static_cast<int>(b), rail.rail = static_cast<int>(r);
      rail.most_a = kGovernedShare * asked.rating_a;
      std::vector<show::Actuator> fed;
      double stall_a = 0;
      for (int a = 0; a < limits.count; ++a) {
        const show::Actuator& actuator = rig.actuators[at(a)];
        if (actuator.board != rig.boards[b].name || actuator.rail != asked.name) continue;
        rail.actuators.push_back(a);
        fed.push_back(actuator);
        stall_a += motion::figures_of(rig, actuator).stall_current_a;
      }
      if (fed.empty()) continue;
      rail.limits = motion::limits_of(fed, limits.tick_s);
      rail.can_exceed = stall_a > rail.most_a;
      rails.push_back(std::move(rail));
    }
  }
  return rails;
}

void govern(std::span<const GovernedRail> rails, std::span<const motion::Servo> servos, Governor& governor, const motion::LimiterState& before,
            motion::LimiterState& next, std::span<const double> target_deg, double velocity_share) noexcept {
  if (!governor.standing) {
    for (const GovernedRail& rail : rails)
      for (const int a : rail.actuators) governor.servo[at(a)] = {.position_deg = before.position_deg[at(a)]};
    governor.share.fill(1);
    governor.standing = true;
  }
  for (std::size_t r = 0; r < rails.size(); ++r) {
    if (!rails[r].can_exceed) continue;
    const Trial trial(rails[r], servos, governor, before, target_deg, velocity_share);
    governor.share[r] = govern(rails[r], trial, governor.share[r], next);
  }
}

void follow(std::span<const GovernedRail> rails, std::span<const motion::Servo> servos, Governor& governor, std::span<const double> setpoint_deg,
            std::span<double> current_a) noexcept {
  for (std::size_t r = 0; r < rails.size(); ++r) {
    current_a[r] = 0;
    for (const int a : rails[r].actuators) {
      servos[at(a)].follow(governor.servo[at(a)], setpoint_deg[at(a)]);
      current_a[r] += governor.servo[at(a)].current_a;
    }
  }
}

}  // namespace mien::perform
