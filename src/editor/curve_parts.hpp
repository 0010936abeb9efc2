// What the curve view's files share: the channel it shows, where it stands, and the two axes.
#pragma once
#include <imgui.h>

#include "editor/panels.hpp"
#include "editor/view.hpp"

namespace mien::editor {

/// Whose setpoint answers the channel, and how degrees become the control's unit: what the limiter lets through of the control is
/// control + (setpoint - target) / weight. Where the control alone moves the actuator, that is (setpoint - offset) / weight. It holds
/// for straight axes; behind a linkage a degree of the servo is not worth the same everywhere, and none is drawn.
struct SetpointTrace {
  int actuator = -1;  ///< -1: the control moves none, or only through linkages
  double weight = 1;
};
/// Of the actuators that the control moves, the one that it moves most.
SetpointTrace trace_of(const perform::RigMap& map, int control);

struct CurveLayout {
  float left = 0, top = 0, right = 0, bottom = 0;  ///< of the plot
  float panel_top = 0;
  TimeAxis axis;
  double low = 0, high = 1;                        ///< values at bottom and top
  const show::Control* control = nullptr;
  const show::Channel* channel = nullptr;          ///< nullptr: no keys yet
  Colour colour = 0;

  float y(double value) const noexcept {
    const double share = (value - low) / (high - low);
    return bottom - static_cast<float>((share < -4 ? -4 : share > 5 ? 5 : share) * (bottom - top));
  }
  double value(float py) const noexcept { return low + static_cast<double>((bottom - py) / (bottom - top)) * (high - low); }
};

/// The two handles of the Bezier segment that leaves key i; precondition: i + 1 < keys.size().
struct Handles { ImVec2 out, in; };
Handles handles_of(const CurveLayout& at, std::size_t i) noexcept;
/// Whether the segment that leaves key i is a Bezier with a chosen key at either end, so that its handles show.
bool shows_handles(const Scene& scene, const show::Channel& channel, std::size_t i) noexcept;

Commands curve_hands(const Scene& scene, const CurveLayout& at, CurveState& state, bool hovered);

}  // namespace mien::editor
