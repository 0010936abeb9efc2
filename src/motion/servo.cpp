#include "motion/servo.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "motion/angles.hpp"

namespace mien::motion {
namespace {

constexpr double kLongestStep_s = 0.002;
constexpr int kMostServoSteps = 100;
constexpr int kMostRounds = 60;  // two or three are usual

}  // namespace

ServoFigures figures_of(const show::Rig& rig, const show::Actuator& actuator) {
  const auto named = [](const auto& parts, const std::string& name) {
    const auto found = std::find_if(parts.begin(), parts.end(), [&](const auto& part) { return part.name == name; });
    return found == parts.end() ? nullptr : &*found;
  };
  const auto* kind = named(rig.servos, actuator.servo);
  ServoFigures f = kind ? kind->figures : ServoFigures{};
  f.skin_n_m_per_deg = actuator.skin_n_m_per_deg;
  f.inertia_kg_m2 += actuator.load_kg_m2;
  const auto* board = named(rig.boards, actuator.board);
  const auto* rail = board ? named(board->rails, actuator.rail) : nullptr;
  if (rail && rail->voltage_v > 0) {
    const double share = rail->voltage_v / f.voltage_v;
    f.no_load_deg_s *= share, f.stall_torque_n_m *= share;
    f.stall_current_a = f.idle_current_a + (f.stall_current_a - f.idle_current_a) * share;  // idle feeds the electronics
    f.voltage_v = rail->voltage_v;
  }
  return f;
}

Servo::Servo(const ServoFigures& f, double rest_deg, double tick_s) noexcept
    : rest_rad_(rest_deg * kDeg),
      steps_(static_cast<int>(std::clamp(std::ceil(tick_s / kLongestStep_s - 1e-9), 1.0, double(kMostServoSteps)))),
      torque_n_m_(f.stall_torque_n_m + f.friction_n_m),
      per_no_load_s_(f.stall_torque_n_m / (f.no_load_deg_s * kDeg * torque_n_m_)),
      friction_n_m_(f.friction_n_m),
      skin_n_m_(f.skin_n_m_per_deg / kDeg),
      drive_per_rad_(1 / (f.full_drive_error_deg * kDeg)),
      dead_rad_(f.dead_band_deg * kDeg),
      idle_a_(f.idle_current_a),
      motor_a_(f.stall_current_a - f.idle_current_a),
      tick_j_per_a_(f.voltage_v * tick_s) {
  step_s_ = tick_s / steps_;
  inertia_by_s_ = f.inertia_kg_m2 / step_s_;
}

// The forces at the end of a step that is moved with speed v, as the motion's own equation has them: balance(v) = 0 but for friction.
Servo::Forces Servo::forces(const Step& s, double v) const noexcept {
  Forces f;
  double rate = 0;  // of the drive with v
  if (s.driven) {
    const double error = s.error - step_s_ * v, beyond = (std::abs(error) - dead_rad_) * drive_per_rad_;
    f.drive = std::copysign(std::clamp(beyond, 0.0, 1.0), error);
    if (beyond > 0 && beyond < 1) rate = step_s_ * drive_per_rad_;
    const double wanted = f.drive - v * per_no_load_s_;
    f.share = std::clamp(wanted, -1.0, 1.0);
    rate = wanted == f.share ? rate + per_no_load_s_ : 0;
  }
  f.balance = inertia_by_s_ * (v - s.v) - torque_n_m_ * f.share + skin_n_m_ * (s.from_rest + step_s_ * v);
  f.rate = inertia_by_s_ + torque_n_m_ * rate + skin_n_m_ * step_s_;
  return f;
}

// balance(v) rises with v, in straight pieces, so with friction there is one speed for the step: none if friction can hold it, else
// the root on the side it is pushed to. Most steps stay on one piece and keep their direction: then Newton's first step is the root.
double Servo::next_speed(const Step& s, Forces& f) const noexcept {
  const auto is_root = [&](double v, double friction) {
    return std::abs(f.balance + friction) <= 1e-12 * (1 + std::abs(v)) * f.rate;
  };
  if (s.v != 0) {
    const double friction = std::copysign(friction_n_m_, s.v);
    f = forces(s, s.v);
    const double v = s.v - (f.balance + friction) / f.rate;
    if ((v > 0) == (s.v > 0)) {
      f = forces(s, v);
      if (is_root(v, friction)) return v;
    }
  }
  f = forces(s, 0);
  const double held = f.balance;
  if (std::abs(held) <= friction_n_m_) return 0;
  const double friction = std::copysign(friction_n_m_, -held);
  const double far = -(held + friction) / (inertia_by_s_ + skin_n_m_ * step_s_);
  double low = std::min(0.0, far), high = std::max(0.0, far), v = std::clamp(s.v, low, high);
  for (int k = 0; k < kMostRounds; ++k) {
    f = forces(s, v);
    if (is_root(v, friction)) break;
    const double off = f.balance + friction, newton = v - off / f.rate;
    (off > 0 ? high : low) = v;
    v = newton > low && newton < high ? newton : 0.5 * (low + high);
  }
  return v;
}

void Servo::follow(ServoState& state, double setpoint_deg) const noexcept {
  const bool driven = setpoint_deg == setpoint_deg;
  const double target = driven ? setpoint_deg * kDeg : 0;
  double x = state.position_deg * kDeg, v = state.velocity_deg_s * kDeg, motor = 0;
  for (int k = 0; k < steps_; ++k) {
    const Step step{driven, target - x, x - rest_rad_, v};
    Forces f;
    v = next_speed(step, f);
    x += step_s_ * v;
    motor += std::max(f.drive * f.share, 0.0);
  }
  state.position_deg = x / kDeg;
  state.velocity_deg_s = v / kDeg;
  state.current_a = idle_a_ + motor_a_ * motor / steps_;
  state.energy_j += state.current_a * tick_j_per_a_;
}

}  // namespace mien::motion
