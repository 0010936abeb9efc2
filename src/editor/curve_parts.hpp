// What the curve view's files share: the channels it shows, where they stand, and the two axes.
#pragma once
#include <imgui.h>

#include "editor/finding_marks.hpp"
#include "editor/handles.hpp"
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

/// How fast a control may change, by the actuator that allows it least among all that it moves. Exact where a degree of that one is worth the same
/// everywhere; `about` where it isn't (a linkage, a measured table, a closing, an eye that looks at a point): then by its mean over the way from rest to the
/// farther end. The control alone: what others add to the same actuator is not known here.
struct SpeedLimit {
  struct Band {
    int actuator = -1;  ///< -1: the control moves none
    double most = 0;    ///< in the control's unit
    bool about = false;
  } velocity, acceleration;  ///< per second, and per second squared
};
SpeedLimit limit_of(const perform::RigMap& map, const show::Rig& rig, int control);

/// What the authored curve asks for on the tick at t: differences of its values on the ticks around it, as the limiter meets them.
struct Speed { double per_s = 0, per_s2 = 0; };
Speed speed_at(const show::Channel& channel, const show::Control& control, show::Time t, show::Time tick) noexcept;

/// One channel's place in the plot, with an axis of values of its own: every control's whole range is as high as the plot.
struct CurveLayout {
  float left = 0, top = 0, right = 0, bottom = 0;  ///< of the plot
  float panel_top = 0, panel_bottom = 0;
  TimeAxis axis;
  double low = 0, high = 1;                        ///< values at bottom and top
  const show::Control* control = nullptr;
  const show::Channel* channel = nullptr;          ///< nullptr: no keys yet
  const ValueReach* reach = nullptr;               ///< of that channel; nullptr: no keys yet
  Colour colour = 0;
  int control_index = -1;                          ///< of the rig

  float y(double value) const noexcept {
    const double share = (value - low) / (high - low);
    return bottom - static_cast<float>((share < -4 ? -4 : share > 5 ? 5 : share) * (bottom - top));
  }
  double value(float py) const noexcept { return low + static_cast<double>((bottom - py) / (bottom - top)) * (high - low); }
  /// A way on screen as a share of the control's range.
  double share_of_range(float dy) const noexcept { return static_cast<double>(dy / (bottom - top)) * (high - low) / std::max(control->max - control->min, 1e-9); }
};

/// All that is shown: the chosen channel in front, behind it those that are kept and those with chosen keys.
struct CurvePlot {
  CurveLayout front;
  std::vector<CurveLayout> behind;
  std::vector<int> controls;  ///< of the rig, all of them
  std::size_t left_out = 0;   ///< how many more there would be
  float strips_top = 0;       ///< 0: folded, or no room

  /// nullptr where it isn't shown.
  const CurveLayout* find(std::string_view control) const noexcept;
};
inline constexpr std::size_t kMostBehind = 11;
inline constexpr float kRulerLine = 24;   ///< design pixels below the plot
inline constexpr float kStrip = 52;       ///< height of one strip

/// The two handles of the Bezier segment that leaves key i; precondition: i + 1 < keys.size().
struct Handles { ImVec2 out, in; };
Handles handles_of(const CurveLayout& at, std::size_t i) noexcept;
/// Whether the segment that leaves key i is a Bezier with a chosen key at either end, so that its handles show.
bool shows_handles(const Scene& scene, const show::Channel& channel, std::size_t i) noexcept;

/// The findings of the channels shown, as they are marked at the plot's lower edge.
FindingMarks findings_of(const Scene& scene, const CurvePlot& plot);

/// `behind`: how many channels stand behind, this one among them; 0: this is the one in front.
void draw_authored(ImDrawList& list, const Scene& scene, const CurveLayout& at, std::size_t behind, std::vector<ImVec2>& points);
void draw_setpoints(ImDrawList& list, const Scene& scene, const CurveLayout& at, const SetpointTrace& trace, std::vector<ImVec2>& points);
void draw_curve_keys(ImDrawList& list, const Scene& scene, const CurveLayout& at, std::size_t behind);
void draw_strips(ImDrawList& list, const Scene& scene, const CurvePlot& plot, const SetpointTrace& trace);

/// The box about the chosen keys that are shown, where there are two or more; nothing else.
struct KeyBox {
  ImVec2 min, max;      ///< on screen
  show::Range time;
  double low = 0, high = 1;  ///< shares of the controls' ranges
};
std::optional<KeyBox> box_of(const Scene& scene, const CurvePlot& plot);
/// Where its grip for a drag of that kind stands; nothing where the keys have no extent that way.
std::optional<ImVec2> grip_of(const KeyBox& box, Drag::Kind kind);

Commands curve_hands(const Scene& scene, const CurvePlot& plot, CurveState& state, bool hovered);

}  // namespace mien::editor
