// A show and its rig, compiled into what the tick needs: built once for each snapshot, off the performing thread, then only read.
#pragma once
#include <array>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "live/hands.hpp"
#include "motion/curve.hpp"
#include "motion/limiter.hpp"
#include "motion/servo.hpp"
#include "perform/cues.hpp"
#include "perform/governor.hpp"
#include "perform/mix.hpp"
#include "perform/rig_map.hpp"
#include "show/show.hpp"

namespace mien::perform {

struct Plan {
  std::shared_ptr<const show::Rig> rig;
  show::ShowPtr show;
  show::Time tick{10'000'000};
  show::Time lead{0};  ///< how far ahead of show time the tick is performed (perform/sync.hpp)

  /// By control index of the rig; nullptr where the show has no channel for it. Alive as long as `show` is.
  std::vector<const show::Channel*> channel_of;
  std::vector<double> control_rest, control_min, control_max;
  std::shared_ptr<const motion::Shapes> shapes;  ///< of the Bezier easings in use
  std::shared_ptr<const Mix> mix;                ///< of the show's layers; null where it has none, and then they cost nothing

  std::vector<char> stepped;                     ///< by control: it has states, which don't mix
  CueProgramPtr cues;                            ///< of the show; null where it has none

  live::HandProgramPtr hands;  ///< what lies on all of that; null where no hands are on the head, and then they cost nothing

  std::shared_ptr<const RigMap> map;  ///< from controls to angles

  motion::Limits limits;  ///< by actuator
  std::vector<double> rest_deg;
  std::vector<motion::Servo> servos;  ///< what follows the setpoints, by actuator; start one with ServoState{rest_deg}
  std::vector<GovernedRail> governed;

  /// Pulses in the wire's units: base + angle * per_deg.
  std::vector<double> pulse_base, pulse_per_deg;

  std::vector<int> auxiliary_control;  ///< by auxiliary; -1: none drives it

  int actuators() const noexcept { return static_cast<int>(rest_deg.size()); }
  int controls() const noexcept { return static_cast<int>(control_rest.size()); }
};
using PlanPtr = std::shared_ptr<const Plan>;

/// Precondition: validate() found no error in either. Unknown names are left out all the same, never followed; a rig that check_rig() has an
/// error for stays at rest. `before`, the plan of an earlier snapshot of the same show, lends what has not changed. `hands` were compiled for this rig and show.
PlanPtr compile(std::shared_ptr<const show::Rig> rig, show::ShowPtr show, const Plan* before = nullptr, live::HandProgramPtr hands = nullptr);

/// What the face looks like with the actuators at these angles (plan.actuators() of them).
inline show::FacePose face_of(const Plan& plan, const double* angle_deg) noexcept { return face_of(*plan.map, angle_deg); }

/// Pulse in the wire's units (link::kPulseUnitsPerUs) and back.
/// What an auxiliary is told while controls stand at these values.
std::uint8_t auxiliary_of(const Plan& plan, int auxiliary, std::span<const double> control) noexcept;

std::uint16_t pulse_of(const Plan& plan, int actuator, double angle_deg) noexcept;
double angle_of(const Plan& plan, int actuator, std::uint16_t pulse) noexcept;

}  // namespace mien::perform
