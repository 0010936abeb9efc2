// What of a rig lives.
#include <algorithm>
#include <cmath>
#include <optional>

#include "perform/idle.hpp"
#include "perform/rig_map.hpp"
#include "show/roles.hpp"

namespace mien::perform {
namespace {

using show::Role;

// A control that moves an axis, and what x gains per unit of it.
struct Mover { int control; double weight; };

// Of the controls that move the axis the one with the longest way; towards > 0 or < 0: in that direction alone.
std::optional<Mover> mover_of(const show::Rig& rig, const show::Axis& axis, int towards) {
  std::optional<Mover> best;
  double longest = 0;
  for (const auto& term : axis.terms) {
    const int c = control_index(rig, term.control);
    if (c < 0 || c >= show::kMaxControls || term.weight == 0) continue;
    const auto& control = rig.controls[static_cast<std::size_t>(c)];
    if (!control.states.empty()) continue;
    const double up = term.weight * (control.max - control.rest), down = term.weight * (control.min - control.rest);
    const double way = towards == 0 ? std::max(std::abs(up), std::abs(down)) : std::max(towards * up, towards * down);
    if (way > longest) longest = way, best = Mover{c, term.weight};
  }
  return best;
}

class Finder {
 public:
  Finder(const show::Rig& rig, Idle& idle) : rig_(rig), idle_(idle) {}

  void run() {
    if (rig_.gaze) {
      add_control(idle_.yaw, control_index(rig_, rig_.gaze->yaw), 1);
      add_control(idle_.pitch, control_index(rig_, rig_.gaze->pitch), 1);
    }
    for (const auto& mapping : rig_.mappings)
      for (const auto& axis : mapping.axes)
        if (const auto role = show::parse_role(axis.role)) add(*role, axis);
    idle_.most_yaw_deg = reach(idle_.yaw), idle_.most_pitch_deg = reach(idle_.pitch);
  }

 private:
  void add(Role role, const show::Axis& axis) {
    const auto in = [&](Role first, Role last) { return role >= first && role <= last; };
    if (in(Role::lid_upper_left, Role::lid_upper)) lid(axis);
    else if (in(Role::eye_yaw_left, Role::eye_yaw_right) && !rig_.gaze) angle(idle_.yaw, axis);
    else if (in(Role::eye_pitch_left, Role::eye_pitch) && !rig_.gaze) angle(idle_.pitch, axis);
    else if (in(Role::brow_inner_left, Role::brow_raise_right)) brow(axis);
    else if (role == Role::neck_yaw) angle(idle_.neck_yaw, axis);
    else if (role == Role::neck_pitch) angle(idle_.neck_pitch, axis);
    else if (role == Role::neck_roll) angle(idle_.neck_roll, axis);
  }

  void lid(const show::Axis& axis) {
    if (axis.closing) {
      const int c = control_index(rig_, axis.closing->control);
      if (c >= 0) add_control(idle_.lids, c, 1 - rig_.controls[static_cast<std::size_t>(c)].rest);
    } else if (const auto mover = mover_of(rig_, axis, -1)) {
      add_control(idle_.lids, mover->control, way_to_end(*mover, -1));
    }
  }
  void brow(const show::Axis& axis) {
    if (const auto mover = mover_of(rig_, axis, 1)) add_control(idle_.brows, mover->control, way_to_end(*mover, 1));
  }
  void angle(std::vector<Idle::Moved>& parts, const show::Axis& axis) {
    if (const auto mover = mover_of(rig_, axis, 0)) add_control(parts, mover->control, 1 / mover->weight);
  }

  double way_to_end(const Mover& mover, int towards) const {
    const auto& control = rig_.controls[static_cast<std::size_t>(mover.control)];
    return (mover.weight * towards > 0 ? control.max : control.min) - control.rest;
  }

  void add_control(std::vector<Idle::Moved>& parts, int c, double per_unit) {
    if (c < 0 || c >= show::kMaxControls) return;
    const auto found = std::find(idle_.controls.begin(), idle_.controls.end(), c);
    const auto slot = static_cast<int>(found - idle_.controls.begin());
    if (found != idle_.controls.end()) return;  // it has its work already
    idle_.controls.push_back(c);
    parts.push_back({slot, rig_.controls[static_cast<std::size_t>(c)].rest, per_unit});
  }

  // Three quarters of the shorter way, so that life keeps away from the ends.
  double reach(const std::vector<Idle::Moved>& parts) const {
    double most = parts.empty() ? 0 : 1e9;
    for (const auto& part : parts) {
      const auto& control = rig_.controls[static_cast<std::size_t>(idle_.controls[static_cast<std::size_t>(part.slot)])];
      most = std::min(most, 0.75 * std::min(control.max - control.rest, control.rest - control.min) / std::abs(part.per_unit));
    }
    return most;
  }

  const show::Rig& rig_;
  Idle& idle_;
};

// Velocity of a saccade: 1.4 of its mean at most, reached in 2/7 of its time; of a lid: the quintic's 1.875 and 5.774 (motion from rest to rest).
constexpr double kSaccadePeak = 1.4, kSaccadeRamp = 2.0 / 7, kQuinticPeak = 1.875, kQuinticBend = 5.774;
constexpr double kSpare = 0.75;  // of the limits: linkages are steeper in places, and life is not all that moves

void slow_down(const show::Rig& rig, const RigMap& map, Idle& idle) {
  const auto control = [&](const Idle::Moved& part) { return idle.controls[static_cast<std::size_t>(part.slot)]; };
  for (const auto& i : map.influences) {
    const auto& actuator = rig.actuators[static_cast<std::size_t>(i.actuator)];
    const double velocity = kSpare * actuator.velocity_deg_s, acceleration = kSpare * actuator.acceleration_deg_s2;
    for (const auto* parts : {&idle.yaw, &idle.pitch})
      for (const auto& part : *parts) {
        const double gain = std::abs(i.deg_per_unit * part.per_unit);
        if (control(part) != i.control || !(gain > 0)) continue;
        idle.gaze_deg_s = std::min(idle.gaze_deg_s, velocity / gain / kSaccadePeak);
        idle.gaze_deg_s2 = std::min(idle.gaze_deg_s2, acceleration / gain * kSaccadeRamp / kSaccadePeak);
      }
    for (const auto& part : idle.lids) {
      const double way = std::abs(i.deg_per_unit * part.per_unit);
      if (control(part) == i.control && way > 0) idle.close_s = std::max({idle.close_s, kQuinticPeak * way / velocity, std::sqrt(kQuinticBend * way / acceleration)});
    }
  }
}

}  // namespace

Idle idle_of(const show::Rig& rig, const show::IdleLife& life, const RigMap* map) {
  Idle idle;
  idle.life = life;
  Finder(rig, idle).run();
  if (map) slow_down(rig, *map, idle);
  return idle;
}

}  // namespace mien::perform
