// What a rig makes of control values, compiled once for each rig: controls, and the eyes that are derived of them, move axes; responses
// turn axes into servo angles; constraints say which angles go together. The tick reads it (perform/tick.cpp); backwards it tells where
// angles put the skin.
#pragma once
#include <optional>
#include <vector>

#include "motion/plate.hpp"
#include "motion/project.hpp"
#include "motion/table.hpp"
#include "show/rig.hpp"
#include "show/roles.hpp"

namespace mien::perform {

/// What terms may name, by index: the rig's controls in its order, then the left and the right eye.
inline constexpr int kMostInputs = show::kMaxControls + 2;

struct RigMap {
  int controls = 0;
  std::vector<double> rest_deg;  ///< by actuator; where one stays that nothing moves

  struct Eyes { int yaw, distance; double half_ipd_mm; };
  std::optional<Eyes> eyes;

  /// x = offset + sum of weight * input, then x += (closed_at - x) * closing input, if any. Terms are packed one after the other.
  struct Term { int input; double weight; };
  struct Axis { double offset; int first_term, end_term, closing; double closed_at; };
  std::vector<Term> terms;
  std::vector<Axis> axes;

  /// Responses, by kind. A measured one and a linkage are tables alike, x to angle; a linkage's has 257 rows with exact slopes, so that it
  /// keeps to the closed form within kTableError_deg at two degrees and more from a singularity.
  struct Straight { int axis, actuator; };
  struct Bent { int axis, actuator; motion::Table angle_deg; };
  struct Coupled { int axis, first, second; show::Differential gains; };  ///< about rest; axis + 1 is the roll
  struct Plate { int axis, first, second; show::TwoRodPlate plate; motion::PitchRoll rest; };  ///< `rest`: the pose with both servos at rest; axis + 1 is the roll
  std::vector<Straight> straight;
  std::vector<Bent> bent;
  std::vector<Coupled> coupled;
  std::vector<Plate> plates;

  std::vector<motion::Row> rows;
  std::vector<int> constraint_of;  ///< by row: which of the rig's constraints it is

  /// What a control alone does to an actuator, the others at rest: degrees per unit on its way from rest to the end that moves it more. Of all
  /// pairs in which it does something, by control, then by actuator.
  struct Influence { int control, actuator; double deg_per_unit; };
  std::vector<Influence> influences;

  /// Which axis draws which part of the face, and where x is at rest and at the ends of travel.
  struct Face { show::Role role; int axis; double rest, min, max; };
  std::vector<Face> face;
};
inline constexpr double kTableError_deg = 1e-4;

/// Leaves out what can't be followed: unknown names, responses that check_rig() has an error for, constraints of nothing. Never fails.
RigMap map_of(const show::Rig& rig);

/// A map that keeps every servo at rest.
RigMap resting(const show::Rig& rig);

/// The table that a measured response or a linkage becomes over the actuator's travel; none where it has no use. `rows` evenly in the angle.
std::optional<motion::Table> table_of(const show::Response& response, const show::Actuator& actuator, int rows = 257);

/// x of every axis with the servos at these angles. `x` has map.axes.size() entries.
void skin_of(const RigMap& map, const double* angle_deg, double* x) noexcept;

/// What a mapping's axis can ask for: over all that the rig's controls can be, each by itself.
struct AxisRange { double min = 0, max = 0; };
AxisRange range_of(const show::Rig& rig, const show::Axis& axis);

/// The two servos of a mapping whose response is a two-rod plate; none where they are not both there.
std::optional<motion::PlateServos> plate_servos(const show::Rig& rig, const show::Mapping& mapping);

/// What the face looks like with the actuators at these angles.
show::FacePose face_of(const RigMap& map, const double* angle_deg) noexcept;

/// Index of the actuator or control of that name; -1 where there is none.
int actuator_index(const show::Rig& rig, const std::string& name) noexcept;
int control_index(const show::Rig& rig, const std::string& name) noexcept;

}  // namespace mien::perform
