// What a servo can do with what is asked of it: follows targets under limits of travel, velocity and acceleration, in minimum
// time, tick by tick. There is an answer from every state for every target, NaN included.
//
// The law, for one actuator, with s the way moved in a tick and d = acceleration * tick^2 the most that s may change by:
//   S(s) = s + (s - d) + (s - 2d) + ... over its positive terms is the way from the start of a tick moved with s to a stand.
//   S rises with s, piecewise straight, so for a distance D there is one s = S^-1(D) from which braking at the limit lands exactly
//   on it, in whole ticks: with k the least whole number for which D <= d k (k + 1) / 2, s = D / k + d (k - 1) / 2.
//   The next s is S^-1 of the distance to the target, taken in the frame that moves with the target (its own step on this tick), no
//   more than the velocity limit, no more than S^-1 of the distance to the end of travel, and within d of the last s.
//   A target that moves by more than the velocity limit in a tick jumps. A jump happens at the time of the tick, so the way to it begins
//   after the tick; until then the target counts as going on as it went. This makes arrival times those of continuous time, counted
//   from the jump, and costs a target within the limits nothing.
//   After moving S^-1(D), S^-1 of what is left is less by exactly d (or nothing is left): the law never asks for more braking
//   than d, and a state that could stop before the end of travel stays one.
// Same idea in discrete time: Zanasi, Lo Bianco & Tonielli 2000, "Nonlinear filters for the generation of smooth trajectories".
#pragma once
#include <array>
#include <span>

#include "show/rig.hpp"

namespace mien::motion {

/// Limits in the tick's own units, by actuator, padded so that whole vectors can be worked on.
struct Limits {
  static constexpr int kMost = show::kMaxActuators;
  int count = 0;
  double tick_s = 0.01;
  std::array<double, kMost> min_deg{}, max_deg{};
  std::array<double, kMost> step_deg{};    ///< velocity limit * tick
  std::array<double, kMost> change_deg{};  ///< acceleration limit * tick^2
  std::array<double, kMost> eight_per_change{}, per_change{};
};

/// Precondition: limits finite, positive, min < max (validate() saw to it). Actuators beyond kMost are left out.
Limits limits_of(std::span<const show::Actuator> actuators, double tick_s) noexcept;

/// Where every actuator is and how far it moved on the last tick. A value: copy it to look ahead.
struct LimiterState {
  alignas(64) std::array<double, Limits::kMost> position_deg{};
  alignas(64) std::array<double, Limits::kMost> step_deg{};
  alignas(64) std::array<double, Limits::kMost> target_deg{};  ///< the last target that was a number, within travel
  alignas(64) std::array<double, Limits::kMost> pace_deg{};    ///< the target's own step on the last tick; 0 after a jump, NaN after a seed
  double velocity_deg_s(const Limits& limits, int i) const noexcept { return step_deg[static_cast<std::size_t>(i)] / limits.tick_s; }
};

/// S and its inverse of the derivation above; distance and d in degrees, d > 0.
double braking_way(double step, double change) noexcept;
double braking_step(double distance, double change) noexcept;

/// Puts actuator i at a position with a velocity. Both are drawn in to what the limits allow and what can still stop within
/// travel, so every state is one from which step() keeps all limits. NaN stands for rest_deg and for no velocity.
void seed(LimiterState& state, const Limits& limits, int i, double position_deg, double velocity_deg_s, double rest_deg) noexcept;

/// One tick. target_deg has limits.count entries. velocity_share, drawn in to [0, 1], scales the velocity limits (creep); a state faster than that
/// brakes within the acceleration limit. NaN holds the last target, infinities mean the ends of travel.
void step(LimiterState& state, const Limits& limits, std::span<const double> target_deg, double velocity_share = 1) noexcept;

}  // namespace mien::motion
