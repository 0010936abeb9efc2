// Keeps a rail that asks for it (show::Rail::governed) under what it may give, by slowing its own actuators just enough.
//
// Every tick knows, from the servo model (motion/servo.hpp), where the servos of the rail are and what they draw. For a share g of their
// velocity limits it steps the limiter with it, then lets all of them brake to a stand at their limits, and asks the model what the rail
// gives meanwhile. The largest g for which that stays under most_a is taken. So "anything may stop as hard as it can, at any moment, and the
// rail carries it": the future of g = 0 is the tail of what was found to be good on the tick before, hence there is always an answer, and the
// estimate stays under most_a as long as the rail can carry the head standing still. It doesn't where a pose alone asks for more: then, lest
// the head be stuck in it, motion goes on at kWayOut of its speed. And constraints come first: what motion/guard.hpp makes of a step
// isn't looked at before it is made.
// A share falls at once and rises by kRise_per_s, so that it doesn't swing between the two.
#pragma once
#include <array>
#include <span>
#include <vector>

#include "motion/limiter.hpp"
#include "motion/servo.hpp"
#include "show/rig.hpp"

namespace mien::perform {

/// Of the rail's rating: supplies run at no more in continuous duty (common practice), and an estimate wants room.
inline constexpr double kGovernedShare = 0.8;
inline constexpr int kMostGoverned = show::kMaxBoards * show::kMaxRailsPerBoard;
inline constexpr double kRise_per_s = 5;
inline constexpr double kWayOut = 0.1;

struct GovernedRail {
  int board = 0, rail = 0;  ///< indices in Rig::boards and its rails
  std::vector<int> actuators;
  motion::Limits limits;  ///< of these actuators, in this order
  double most_a = 0;
  bool can_exceed = true;  ///< false: all of it stalled draws no more than most_a
};
/// Rails that ask to be governed, have a rating and feed something. `limits` are the whole head's.
std::vector<GovernedRail> governed_rails(const show::Rig& rig, const motion::Limits& limits);

/// What lasts from tick to tick: a value, part of Head.
struct Governor {
  bool standing = false;  ///< false: the servos are taken to stand where the limiter is on the next tick
  std::array<motion::ServoState, show::kMaxActuators> servo;  ///< of governed rails' actuators only
  std::array<double, kMostGoverned> share{};             ///< of the last tick, by governed rail
};

/// `next` is what motion::step(before, limits, targets, velocity_share) made of `before`; where that asks too much of a rail, its actuators'
/// steps are made anew with less. No allocation; the work is bounded. `servos` by actuator, as `targets`.
void govern(std::span<const GovernedRail> rails, std::span<const motion::Servo> servos, Governor& governor, const motion::LimiterState& before,
            motion::LimiterState& next, std::span<const double> target_deg, double velocity_share) noexcept;

/// Lets the governed rails' servos follow the tick's setpoints; returns in current_a what each rail gives, by governed rail.
void follow(std::span<const GovernedRail> rails, std::span<const motion::Servo> servos, Governor& governor, std::span<const double> setpoint_deg,
            std::span<double> current_a) noexcept;

}  // namespace mien::perform
