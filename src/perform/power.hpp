// What a show draws: a performance of it on the same tick, with a simulated servo (motion/servo.hpp) behind every setpoint, summed up over
// the rails that feed them. An estimate from data-sheet figures; what counts in the end is the ammeter.
#pragma once
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "motion/supply.hpp"
#include "perform/plan.hpp"

namespace mien::perform {

/// A current and the tick on which it flows.
struct Moment {
  double current_a = 0;
  show::Time time{0};
  friend bool operator==(const Moment&, const Moment&) = default;
};

/// A stretch in which a rail gives more than 80 % of its rating; such that are nearer than kMomentsApart to each other count as one.
struct Excess {
  show::Range range;
  Moment worst;
  friend bool operator==(const Excess&, const Excess&) = default;
};
inline constexpr show::Time kMomentsApart = std::chrono::milliseconds(100);

struct RailPower {
  int board = 0, rail = 0;  ///< indices in Rig::boards and its rails
  std::vector<int> actuators;
  motion::Feed feed;
  motion::Load load;
  Moment peak, rms;     ///< the load's, with their times; an RMS is that of the second that ends there
  double drop_v = 0;    ///< over the wire, at the peak
  double charge_as = 0; ///< ampere seconds over the show
  std::vector<Excess> over;
};

struct Power {
  std::vector<RailPower> rails;          ///< of boards and rails as the rig has them
  std::vector<Moment> board_peak;        ///< by board: over all its rails, and its actuators that have none
  std::vector<Moment> actuator_peak;     ///< by actuator
  std::vector<double> actuator_stall_a;  ///< by actuator
  int assumed = 0;                       ///< actuators that name no kind of servo: the figures of a usual micro servo stand for them
  bool whole = true;                     ///< false: stopped before the end
};

/// What flows on one tick, each the mean over it; by actuator, by board, and by rail in the order of Power::rails.
struct Currents {
  show::Time time{0};
  std::vector<double> actuator_a, board_a, rail_a;
};

/// Performs the show once. progress is told the share done, 0 to 1, now and then and says whether to go on; `each` is handed every tick. About
/// 2 us for each tick of a head of 21 servos (tests/bench).
Power power(const Plan& plan, const std::function<bool(double)>& progress = {}, const std::function<void(const Currents&)>& each = {});

/// What a rail is made of, in the terms of motion/supply.hpp.
motion::Feed feed_of(const show::Rail& rail) noexcept;

/// "board 'mouth', rail 'lips'".
std::string place_of(const show::Rig& rig, const RailPower& rail);

/// Where a rail carries more than it should; `file` is the rig's. That a rail has no rating is left to validate(); its connector, fuse and wire are judged.
show::Findings findings_of(const show::Rig& rig, const Power& power, const std::string& file = {});

}  // namespace mien::perform
