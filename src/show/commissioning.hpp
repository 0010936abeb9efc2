// What is found at the workbench, as edits of a rig: pure functions, each of which gives another rig.
#pragma once
#include <vector>

#include "show/finding.hpp"
#include "show/rig.hpp"

namespace mien::show {

enum class Mark : std::uint8_t { minimum, rest, maximum };

/// Makes an angle the actuator's minimum, rest or maximum. Every angle keeps its pulse: an end moves along the line that is there. A rest
/// that an end passes is taken along. The actuator is no longer commissioned. Refused: an end beyond the other one, a rest outside the
/// travel, an angle that is no number, and what validate() has an error for. Precondition: the actuator is in the rig, and the rig valid.
Result<Rig> marked(const Rig& rig, int actuator, Mark mark, double angle_deg);

/// Counts the actuator's angles the other way round: every angle becomes its negative, and every pulse stays where it is, so that ends and
/// rest are the same places on the head. Rows of a measured response are places, too, and go along; other responses are left alone,
/// for that is what reversing is for.
Result<Rig> turned_round(const Rig& rig, int actuator);

/// Gives the mapping that drives this actuator alone a measured response, its rows put into order. Refused where a linkage or no mapping
/// drives it, and where validate() has an error for the rows (fewer than two, two with one x, angles beyond the travel).
Result<Rig> with_table(const Rig& rig, int actuator, std::vector<Measured::Row> rows);

Rig with_commissioned(const Rig& rig, int actuator, bool commissioned);

/// The rows of that response; none where it has another one.
std::vector<Measured::Row> table_of(const Rig& rig, int actuator);

}  // namespace mien::show
