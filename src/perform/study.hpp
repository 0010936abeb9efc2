// Where what is authored and what the head can do part: a performance of the show on the same tick, watched for every stretch in
// which an actuator's setpoint leaves its target by more than the rig's tolerance.
//
// The tolerance is a tube: the two agree where the setpoint is within tolerance_deg of some angle that the target takes within
// tolerance_ms of that tick, and the target of one that the setpoint takes. Both ways round, since a peak that is too short to be
// reached has all the angles that the setpoint takes, but the setpoint not the peak's.
#pragma once
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "perform/plan.hpp"
#include "show/finding.hpp"

namespace mien::perform {

enum class Cause : std::uint8_t {
  late,         ///< velocity or acceleration limit: arrives after the key's time, or turns back before it arrives
  clipped,      ///< asked for an angle outside the travel
  braked,       ///< held back by a constraint
  governed,     ///< slowed to keep a rail under its rating
  out_of_sync,  ///< a closure of lips or lids seen too far from its sound (perform/sync.hpp)
};
const char* name(Cause cause) noexcept;

/// One stretch in which an actuator leaves what is asked of it.
struct Shortfall {
  Cause cause = Cause::late;
  int control = -1;       ///< of the channel whose key asked for it; -1 where none did
  int actuator = 0;
  show::Range range;      ///< show time, from the first tick on which they part to the one on which they meet again
  show::Time key{0};      ///< time of the key that asked: the one to arrive at, or, clipped, the nearest
  show::Time given{0};    ///< the time from the key before it to this one
  double move_deg = 0;    ///< what the target does in that time, with its sign
  double off_deg = 0;     ///< the most by which they part; clipped: by which the target leaves the travel
  double late_ms = 0;     ///< from the key's time to the setpoint standing where the key wants it, or to giving up; sync: how much later
                          ///< than its sound the closure is seen
  double short_deg = 0;   ///< above 0: it never arrives, and this is the nearest that it comes
  bool past = false;      ///< it can't stop or turn so abruptly and runs past the key
  int layer = -1;         ///< of the show, where a layer asked for it and no key of the show's own channels
  friend bool operator==(const Shortfall&, const Shortfall&) = default;
};

struct Study {
  std::vector<Shortfall> shortfalls;  ///< by control, then by the time at which they begin, then by actuator
  bool whole = true;                  ///< false: stopped before the end
  /// Those of one channel, in rising time, for its lane.
  std::span<const Shortfall> of(int control) const noexcept;
};

/// Performs the show once and looks. `part`: that stretch of it only, with the head standing at its beginning. go_on is asked now and
/// then; where it says no the study ends early. About 0.4 us for each tick of a head of 21 servos (tests/bench): cheap enough to do all of it again
/// after every edit.
Study study(const Plan& plan, std::optional<show::Range> part = {}, const std::function<bool()>& go_on = {});

/// How much, in a few words: "35 ms late", "12 deg short".
std::string size_text(const Shortfall& shortfall);

/// In the maker's words, with channel and time as place.
show::Finding finding_of(const Plan& plan, const Shortfall& shortfall, const std::string& file = {});

}  // namespace mien::perform
