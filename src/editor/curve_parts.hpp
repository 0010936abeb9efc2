// What the curve view's files share: the channel it shows, where it stands, and the two axes.
#pragma once
#include <imgui.h>

#include "editor/finding_marks.hpp"
#include "editor/panels.hpp"
#include "editor/view.hpp"

namespace mien::editor {

/// Whose setpoint answers the channel, and how degrees become the control's unit: what the limiter lets through of the control is
/// control + (setpoint - target) / weight. That is exact where a degree of the servo is worth the same everywhere, and about right behind
/// a linkage, a measured table, a closing or an eye that looks at a point.
struct SetpointTrace {
  int actuator = -1;  ///< -1: the control moves none
  double weight = 1;
  bool about = false;
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
  int control_index = -1;                          ///< of the rig

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

/// The findings of the channel, as they are marked at the plot's lower edge.
FindingMarks findings_of(const Scene& scene, const CurveLayout& at);

Commands curve_hands(const Scene& scene, const CurveLayout& at, CurveState& state, bool hovered);

}  // namespace mien::editor
