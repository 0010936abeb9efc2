// The controls that a face of given parts wants, and what they do to its actuators. Inside src/show, for suggest.cpp.
#pragma once
#include <map>

#include "show/suggest.hpp"

namespace mien::show {

/// Which actuator (by index of the rig) moves which part.
using Parts = std::map<Role, std::size_t>;

/// Adds controls, gaze, a straight mapping for each actuator, and the constraints of lids and lips. Every term keeps to the travel that its
/// actuator has; each axis is at the actuator's rest when all controls are. What stands without a part gets a control of its own, in degrees.
void put_controls(Rig& rig, const Parts& parts);

}  // namespace mien::show
