#include "show/cue_value.hpp"

#include <algorithm>

#include "show/text.hpp"

namespace mien::show {

std::optional<Range> stretch_of(const CueStretch& stretch, const Show& show) noexcept {
  const auto time_of = [&](const std::string& name, Time otherwise) -> std::optional<Time> {
    if (name.empty()) return otherwise;
    for (const Marker& marker : show.markers)
      if (marker.name == name) return marker.time;
    return std::nullopt;
  };
  const auto from = time_of(stretch.from, Time{0}), until = time_of(stretch.until, show.length);
  if (!from || !until) return std::nullopt;
  return Range{*from, *until};
}

std::optional<ControlValue> state_value(const CueState& state, const Rig& rig) {
  for (const Auxiliary& auxiliary : rig.auxiliaries) {
    if (auxiliary.name != state.auxiliary) continue;
    const auto control = std::find_if(rig.controls.begin(), rig.controls.end(), [&](const Control& c) { return c.name == auxiliary.control; });
    if (control == rig.controls.end()) return std::nullopt;
    const int index = static_cast<int>(control - rig.controls.begin());
    const auto named = std::find(control->states.begin(), control->states.end(), state.state);
    if (named != control->states.end()) return ControlValue{index, static_cast<double>(named - control->states.begin())};
    if (!control->states.empty()) return std::nullopt;
    if (state.state == "on") return ControlValue{index, control->max};
    if (state.state == "off") return ControlValue{index, control->min};
    const auto value = parse_number(state.state);
    if (!value || *value < control->min || *value > control->max) return std::nullopt;
    return ControlValue{index, *value};
  }
  return std::nullopt;
}

}  // namespace mien::show
