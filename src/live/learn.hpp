// What a hand just moved, as a line of a map.
#pragma once
#include <optional>

#include "live/hand_map.hpp"
#include "live/touch.hpp"

namespace mien::live {

/// A knob that leads the control through its whole range, from the newest touch and the one before it: two halves of a 14-bit controller within 20 ms of each
/// other make one. Sticks and the bend wheel spring back. Nothing for what has no amount (a note, a button), and for a stick that hardly moved.
std::optional<Knob> learned(const Touch& last, const Touch& before, const std::string& device, const show::Control& control);

/// The source of a key, button or switch that was pressed just now; nothing for what was let go, or has an amount that does not come from a switch (which sends 127).
std::optional<Source> pressed(const Touch& last, const std::string& device);

}  // namespace mien::live
