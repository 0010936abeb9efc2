// From a list of servos to a rig: which part of the face each moves (by its name), how far, in which group, on which output; which controls
// such a face wants, how they move it, and what its lids and lips may not do. Suggestions to begin with, all of them to be changed; nothing of
// it was measured on the head, so every actuator stays uncommissioned.
#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "show/finding.hpp"
#include "show/rig.hpp"
#include "show/roles.hpp"
#include "show/servo_sheet.hpp"

namespace mien::show {

/// One servo as the maker lists it. What is not told is suggested.
struct HeadRow {
  std::string name;
  std::string role, group, board;  ///< empty: by the name; by the role; the first board with room
  std::optional<int> output;
  std::optional<double> min_deg, max_deg, rest_deg;
  std::optional<bool> reversed;
  std::string servo;               ///< a line for parse_servo_sheet; empty: the head's
  int line = 0;                    ///< of the table, for findings
};

struct Head {
  std::string name;
  int boards = 1, outputs = kMaxOutputsPerBoard;  ///< where rows name no boards: that many, "board 0" and so on
  ServoSheet servo;
  std::vector<HeadRow> rows;
  double supply_a = 0;  ///< that each board's supply is rated for; 0: nobody has told yet
};

struct Suggested {
  Rig rig;
  Findings notes;  ///< what was guessed or couldn't be; errors where the rig could not hold it
};
/// Never throws and never leaves a rig half made: a row that can't be used is left out with an error.
Suggested suggest_rig(const Head& head, const std::string& file);

/// Nothing where no part of a face is meant. "Left upper eyelid", "lid_upper_left" and "L top lid" are one.
std::optional<Role> role_of(std::string_view name);
/// brows, eyes, lids, jaw, mouth, cheeks, nose or neck.
std::string_view group_of(Role role) noexcept;
/// Travel that such a part usually has at a servo with its horn on it, degrees about rest: usual magnitudes, from memory.
struct Travel { double min_deg, max_deg; };
Travel travel_of(Role role) noexcept;

}  // namespace mien::show
