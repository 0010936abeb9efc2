// What a linkage (show/linkage.hpp) makes of a servo's angle, and which angle gives a wanted motion. Plain geometry in closed form; degrees
// and millimetres at every face. Angles and travels are the servo's: how its horn is mounted, the linkage knows. All functions answer for every input: where the linkage can't follow, with the nearest that it can
// (reached = false), and for NaN with the answer for zero (reached = false). None allocates but check(). A plate that two rods tilt is in
// motion/plate.hpp.
//
// Slider-crank and four-bar after Norton, "Design of Machinery", chapter on position analysis, and Freudenstein 1955, "Approximate
// synthesis of four-bar linkages", Trans. ASME 77 (its equation is what the tests hold the positions against).
#pragma once
#include <vector>

#include "show/finding.hpp"
#include "show/linkage.hpp"

namespace mien::motion {

struct Solved {
  double value = 0;     ///< degrees or millimetres, as the function says
  bool reached = true;  ///< false: the linkage can't do it; value is the nearest that it can
};

/// Angles of a servo that are swept, min < max.
struct Travel {
  double min_deg = -45, max_deg = 45;
};

using show::Differential;
using show::FourBar;
using show::SliderCrank;

/// Where the slide is.
Solved position_mm(const SliderCrank& linkage, double servo_deg) noexcept;
/// dx/dt in mm per degree; 0 where the linkage can't close.
double rate_mm_per_deg(const SliderCrank& linkage, double servo_deg) noexcept;
/// The angle within the travel (in the travel's own turn) that puts the slide at x. Where two do, the one nearer to its middle.
Solved servo_deg(const SliderCrank& linkage, double x_mm, Travel travel) noexcept;

/// The rocker's angle in (-180, 180].
Solved rocker_deg(const FourBar& linkage, double servo_deg) noexcept;
/// d rocker / d crank, a plain ratio: a sin(t2 - t3) / (c sin(t4 - t3)); 0 where the linkage can't close, infinite never.
double rate(const FourBar& linkage, double servo_deg) noexcept;
/// The angle within the travel that puts the rocker at an angle. Where two do, the one nearer to the middle of the travel.
Solved servo_deg(const FourBar& linkage, double rocker_deg, Travel travel) noexcept;
/// The angle between coupler and rocker, 0..90 degrees: how well force passes.
double transmission_deg(const FourBar& linkage, double servo_deg) noexcept;

struct PitchRoll {
  double pitch_deg = 0, roll_deg = 0;
};
struct LeftRight {
  double left = 0, right = 0;
};
LeftRight servos_deg(const Differential& linkage, PitchRoll pose) noexcept;
PitchRoll pose_deg(const Differential& linkage, LeftRight servos_deg) noexcept;

/// What is wrong with a linkage over the travel: lengths that are no lengths, angles at which it can't close, at which it is
/// singular (the servo loses its lever arm, or the skin does), or nearly so (transmission under 30 degrees, common practice).
/// Places are left empty for the caller to fill. Empty: the linkage closes and can be inverted all over the travel.
show::Findings check(const SliderCrank& linkage, Travel travel);
show::Findings check(const FourBar& linkage, Travel travel);
show::Findings check(const Differential& linkage);

}  // namespace mien::motion
