// The action units of the Facial Action Coding System that poses are tagged with: numbers and names of what a face does.
// Source: Ekman, Friesen & Hager, Facial Action Coding System (2002 manual), as tabled in PMC7264164, table 1; heads and eyes (51 to 64) from
// the manual's list. Turning a head left or right (51, 52) is given from memory.
#pragma once
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace mien::show {

struct ActionUnit {
  int number;
  std::string_view name;
};

/// All that are known here, by rising number.
std::span<const ActionUnit> action_units() noexcept;
/// Empty where the number is none of them.
std::string_view action_unit_name(int number) noexcept;
/// "6 cheek raiser, 12 lip corner puller".
std::string action_units_text(const std::vector<int>& numbers);

}  // namespace mien::show
