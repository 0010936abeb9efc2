// The workbench: one actuator at a time, slowly, while all others keep silent. It is performed by the same tick as everything else, as a show
// of one channel on a rig of one actuator, so that no second way leads to the boards, and boards know no other output than this one.
// Times and what was seen go in, a setpoint comes out; no clock, no link, no window.
#pragma once
#include <cstdint>
#include <optional>
#include <vector>

#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::perform {

inline constexpr double kBenchCreep_deg_s = 10;   ///< nothing on the bench is faster
inline constexpr double kWiggle_deg = 2, kWiggle_deg_s = 5;
inline constexpr double kBandStep_deg = 5;        ///< half of the first guard band, and what each widening adds at one side
inline constexpr double kAtEdge_deg = 1;          ///< a band is only widened from no farther than this from its edge
inline constexpr double kLongestStep_s = 0.05;    ///< a longer wait counts as this, so that nothing is made up for
/// What a servo on the bench may be sent at all, and where its middle is (common practice: 1500 us is the middle of a hobby servo).
inline constexpr double kBenchLeast_us = 500, kBenchMiddle_us = 1500, kBenchMost_us = 2500;

/// A rig of this actuator alone, on the same boards. Travel: the rig's own where it is commissioned, else all that kBenchLeast_us to
/// kBenchMost_us give, resting in the middle, with the angle of every pulse as in the rig. Velocity: the creep; it stops within a tick. A control "angle"
/// turns it, one for one. Precondition: the actuator is in the rig, and the rig valid.
show::Rig bench_rig(const show::Rig& rig, int actuator);
/// The show in which "angle" is that.
show::ShowPtr bench_show(double angle_deg);

enum class Doing : std::uint8_t {
  locked,       ///< the checklist was not gone through
  silent,       ///< no pulses: not armed
  holding,
  jogging,
  identifying,  ///< a small wiggle
  travelling,   ///< end to end
};
enum class Halt : std::uint8_t { none, person, current, link };
enum class Contact : std::uint8_t { silent, armed, lost };

/// What there was to see since the last tick.
struct Seen {
  double passed_s = 0;
  Contact link = Contact::silent;
  double position_deg = 0;             ///< where the head's setpoint is; used when pulses begin
  std::optional<double> current_a{};   ///< of the rail, as the board reports it; nothing: not reported
};

class Bench {
 public:
  /// As bench_rig().
  Bench(const show::Rig& rig, int actuator);

  /// "Horns off, supply limited, fingers and skin clear": before that, whatever is armed is stopped.
  void acknowledge() noexcept;
  /// While holding or jogging, by so much more, no farther than the guard band. False where nothing will move.
  bool jog(double by_deg) noexcept;
  bool identify() noexcept;  ///< a wiggle about where it is, within the band; false while not holding
  /// From where it is to low_deg, to high_deg and to rest_deg. False while not holding, and where these lie outside the band.
  bool travel(double low_deg, double high_deg, double rest_deg) noexcept;
  void halt() noexcept;      ///< stays where it is, from the next tick on
  /// Widens the guard band by a step on the side of the sign, from near its edge. False otherwise, and at the end of what bench_rig() allows.
  bool widen(int side) noexcept;
  void set_most_current(double ampere) noexcept;  ///< beyond which pulses end; NaN and less than nothing are left out

  /// One tick. True: pulses must end now.
  bool tick(const Seen& now) noexcept;

  double setpoint_deg() const noexcept { return setpoint_deg_; }
  Doing doing() const noexcept { return doing_; }
  Halt halted() const noexcept { return halted_; }  ///< why the last move ended early
  bool driven() const noexcept { return doing_ > Doing::silent; }
  bool moving() const noexcept { return doing_ > Doing::holding; }
  double low_deg() const noexcept { return low_deg_; }
  double high_deg() const noexcept { return high_deg_; }
  double most_current_a() const noexcept { return most_current_a_; }
  double progress() const noexcept;                      ///< of the travel test, 0 to 1
  bool travelled() const noexcept { return travelled_; }  ///< the last travel test came to its end

 private:
  void go(Doing doing, std::vector<double> goals, double speed_deg_s) noexcept;
  bool fall(Halt why, bool stop) noexcept;
  void move(double step_deg) noexcept;
  double within(double angle_deg) const noexcept;

  double least_deg_, most_deg_, low_deg_, high_deg_, setpoint_deg_;
  double most_current_a_;
  Doing doing_ = Doing::locked;
  Halt halted_ = Halt::none;
  bool armed_ = false;     ///< when last seen, while locked
  bool stopping_ = false;  ///< stop was asked for and not seen yet
  bool standing_ = false;  ///< for the next tick
  bool travelled_ = false;
  std::vector<double> goals_;
  double speed_deg_s_ = 0, way_deg_ = 0, done_deg_ = 0;
};

}  // namespace mien::perform
