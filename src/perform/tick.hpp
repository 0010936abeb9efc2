// One tick of a performance: the story that the whole program tells, read it first. The same function serves the window's preview,
// a live performance, `mien render`, baking and the tests.
#pragma once
#include <array>
#include <cstdint>

#include "motion/curve.hpp"
#include "motion/guard.hpp"
#include "motion/limiter.hpp"
#include "perform/governor.hpp"
#include "perform/plan.hpp"

namespace mien::perform {

/// What lasts from one tick to the next: where each curve is read and where the limiter stands. A value; copy it to look ahead.
struct Head {
  motion::Cursors cursors;
  MixState mixed;  ///< the same for the show's layers
  CueState cues;     ///< and for its cues; start, release and step in perform/cues.hpp change it between ticks
  live::HandState hands;  ///< what they hold; hear and obey in live/hands.hpp change it between ticks
  motion::LimiterState limiter;
  const motion::Limits* slowed = nullptr;  ///< in place of the plan's, where some actuators creep; whoever sets it owns it
  Governor governor;
  motion::GuardWorkspace workspace;  ///< scratch, here so that a tick allocates nothing
};

/// What made an actuator's step another than the limiter's own.
enum class Held : std::uint8_t { no, for_constraint, for_rail };

/// A governed rail on a tick.
struct RailNow {
  std::int16_t board = 0, rail = 0;  ///< indices in Rig::boards and its rails
  float share = 1;                   ///< of their velocity limits that its actuators have; less than 1: slowed
  float current_a = 0;               ///< estimated
};

/// What one tick worked out, in the order in which it did.
struct Tick {
  show::Time time{0};
  std::array<double, kMostInputs> control{};                 ///< and after the last control the yaw of the two eyes, where the rig has a gaze
  std::array<double, show::kMaxActuators> target_deg{};      ///< what the show asks for; may lie beyond the travel
  std::array<double, show::kMaxActuators> allowed_deg{};     ///< the nearest that travel and constraints allow; the target where there are none
  std::array<double, show::kMaxActuators> setpoint_deg{};
  std::array<Held, show::kMaxActuators> held{};
  std::array<RailNow, kMostGoverned> rail{};                 ///< as Plan::governed
};

/// curves at t -> layers -> cues -> hands -> controls -> eyes -> axes -> responses -> targets -> constraints -> limiter -> governor -> guard -> setpoints. velocity_share as
/// in motion::step. Setpoints break no limit; they break no constraint by more than 1e-9 deg once they are met, and lead there otherwise.
void tick(const Plan& plan, Head& head, show::Time t, double velocity_share, Tick& out) noexcept;

/// The first half of it: controls and targets at t, and what constraints allow of them; nothing moved.
void aim(const Plan& plan, Head& head, show::Time t, Tick& out) noexcept;

/// The middle of that: from the controls in `out` to its targets.
void aim(const RigMap& map, Tick& out) noexcept;

/// Points the cursors at the plan's channels and layers, for which it may allocate; where the limiter stands is left alone. Whoever seeds the limiter anew sets governor.standing to false.
void load(Head& head, const Plan& plan) noexcept;
/// Loads, and stands the head still at what the show asks for at t: where a performance begins once the head has crept there.
void stand_at(Head& head, const Plan& plan, show::Time t) noexcept;

}  // namespace mien::perform
