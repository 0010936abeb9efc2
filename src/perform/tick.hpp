// One tick of a performance: the story that the whole program tells, read it first. The same function serves the window's preview,
// a live performance, `mien render`, baking and the tests.
#pragma once
#include <array>

#include "motion/curve.hpp"
#include "motion/guard.hpp"
#include "motion/limiter.hpp"
#include "perform/plan.hpp"

namespace mien::perform {

/// What lasts from one tick to the next: where each curve is read and where the limiter stands. A value; copy it to look ahead.
struct Head {
  motion::Cursors cursors;
  motion::LimiterState limiter;
  motion::GuardWorkspace workspace;  ///< scratch, here so that a tick allocates nothing
};

/// What one tick worked out, in the order in which it did.
struct Tick {
  show::Time time{0};
  std::array<double, kMostInputs> control{};                 ///< and after the last control the yaw of the two eyes, where the rig has a gaze
  std::array<double, show::kMaxActuators> target_deg{};      ///< what the show asks for; may lie beyond the travel
  std::array<double, show::kMaxActuators> allowed_deg{};     ///< the nearest that travel and constraints allow; the target where there are none
  std::array<double, show::kMaxActuators> setpoint_deg{};
};

/// curves at t -> controls -> eyes -> axes -> responses -> targets -> constraints -> limiter -> guard -> setpoints. velocity_share as in
/// motion::step. Setpoints break no limit; they break no constraint by more than 1e-9 deg once they are met, and lead there otherwise.
void tick(const Plan& plan, Head& head, show::Time t, double velocity_share, Tick& out) noexcept;

/// The first half of it: controls and targets at t, and what constraints allow of them; nothing moved.
void aim(const Plan& plan, Head& head, show::Time t, Tick& out) noexcept;

/// The middle of that: from the controls in `out` to its targets.
void aim(const RigMap& map, Tick& out) noexcept;

/// Points the cursors at the plan's channels; where the limiter stands is left alone.
void load(Head& head, const Plan& plan) noexcept;
/// Loads, and stands the head still at what the show asks for at t: where a performance begins once the head has crept there.
void stand_at(Head& head, const Plan& plan, show::Time t) noexcept;

}  // namespace mien::perform
