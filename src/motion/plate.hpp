// What two servos make of a plate on a joint that their rods tilt (show/linkage.hpp), and which servo angles give a wanted pose: exact, with the
// arcs of horns and of the plate and the lean of the rods. All functions answer for every input: where the linkage can't follow, with the
// nearest that it can (reached = false), and for NaN with the answer for zero (reached = false). None allocates but check().
//
// Geometry, k = +1 for the first rod and -1 for the second, x to the right, y ahead, z up from the joint, p the pitch, r the roll:
//   a rod's pin on the plate   P = (-k s cos r, -a cos p - k s sin r sin p, -a sin p + k s sin r cos p)
//   its servo's axis           S = (-k s, -a - u h, -l), u = +1 where the horns' tips are ahead of it, else -1
//   its horn's tip             H = S + h (0, u cos t, sin t), t above level
// and |P - H| = l, from which t follows in closed form; of its two solutions the one that is level where the plate is. Backwards by Newton's
// method on |P - H|^2 - l^2 for both rods, from the pose that upright rods would give. Derivation ours; the tests hold pins to a library's rotations, and
// angles to the rod's length.
#pragma once
#include <array>
#include <string>

#include "motion/linkage.hpp"
#include "show/finding.hpp"

namespace mien::motion {

using show::TwoRodPlate;

struct SolvedPose {
  PitchRoll pose;
  bool reached = true;
};
struct SolvedServos {
  LeftRight deg;
  bool reached = true;  ///< false: a horn and its rod would have to be longer; it points toward the pin
};

/// The pins' heights: first = -(arm sin p - span sin r cos p), second = -(arm sin p + span sin r cos p).
LeftRight heights_mm(const TwoRodPlate& plate, PitchRoll pose) noexcept;
/// The pose within +-90 degrees; heights out of reach give the nearest pitch, then the nearest roll.
SolvedPose pose_at_heights(const TwoRodPlate& plate, LeftRight heights_mm) noexcept;

/// The servos' angles, in (-180, 180].
SolvedServos servos_deg(const TwoRodPlate& plate, PitchRoll pose) noexcept;
/// The pose within +-90 degrees that the servos hold.
SolvedPose pose_deg(const TwoRodPlate& plate, LeftRight servos_deg) noexcept;

/// One of the two servos.
struct PlateServo {
  std::string name;  ///< for the findings
  Travel travel;
  double rest_deg = 0;
};
using PlateServos = std::array<PlateServo, 2>;

/// Poses: every pitch within the one and every roll within the other.
struct PoseRange {
  PitchRoll min, max;
};

/// How far each motion goes from the servos' rest, the other standing still: until a servo's travel ends, or the rods can't follow. Counted
/// from the pose at rest; zeros where that isn't one.
PoseRange reach_deg(const TwoRodPlate& plate, const PlateServos& servos);

/// Lengths that are no lengths.
show::Findings check(const TwoRodPlate& plate);
/// And with them: no pose at rest; what is asked for beyond a servo's travel (warning), or beyond what the rods can reach or where they lose their lever arm
/// within the travels (error); horns and rods that meet at less than 30 degrees (common practice), or rods that have less than half of their leverage on the plate; servo angles
/// on the way between such poses at which the plate jams. `asked` is counted from the pose at rest, and so are poses in the words. Places are left
/// empty for the caller to fill.
show::Findings check(const TwoRodPlate& plate, const PlateServos& servos, const PoseRange& asked);

}  // namespace mien::motion
