// What a cue's words come to on a show and a rig.
#pragma once
#include <optional>

#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::show {

/// From the first marker to the second; nothing where the show has not both. It may be empty or upside down.
std::optional<Range> stretch_of(const CueStretch& stretch, const Show& show) noexcept;

/// The value of the auxiliary's control that the state means: by name, "on" and "off" as the ends of its range, or a number in that. Nothing where
/// there is no such auxiliary, no control that drives it, or no such state.
struct ControlValue { int control; double value; };
std::optional<ControlValue> state_value(const CueState& state, const Rig& rig);

}  // namespace mien::show
