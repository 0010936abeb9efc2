// What the timeline's files share: where its rows stand, and the steps gather, draw, hit-test.
#pragma once
#include <imgui.h>

#include "editor/finding_marks.hpp"
#include "editor/lanes.hpp"
#include "editor/panels.hpp"
#include "editor/view.hpp"

namespace mien::editor {

/// Where everything stands this frame, in screen pixels.
struct TimelineLayout {
  float left = 0, top = 0, right = 0, bottom = 0;
  float split = 0;                     ///< between names and time
  float loop_bottom = 0, ruler_bottom = 0, marker_bottom = 0, sound_bottom = 0, wave_bottom = 0;  ///< lower edges of those rows: sounds, then words and phones; lanes follow
  float lane_height = 0;
  float scroll = 0;
  TimeAxis axis;
  std::vector<Lane> lanes;

  float lane_top(std::size_t i) const noexcept { return wave_bottom + static_cast<float>(i) * lane_height - scroll; }
  /// Index of the lane at y; lanes.size() where there is none.
  std::size_t lane_at(float y) const noexcept;
  float content_height() const noexcept { return static_cast<float>(lanes.size()) * lane_height; }
};

void draw_ruler(ImDrawList& list, const Scene& scene, const TimelineLayout& at);
void draw_waves(ImDrawList& list, const Scene& scene, const TimelineLayout& at);
void draw_lanes(ImDrawList& list, const Scene& scene, const TimelineLayout& at);
/// The findings of a lane, as they are marked on it.
FindingMarks findings_of(const Scene& scene, const TimelineLayout& at, const Lane& lane);
void draw_playhead(ImDrawList& list, const Scene& scene, const TimelineLayout& at);

/// The time between two lines of the ruler so that they stand at least `px` apart: 1, 2 or 5 times a power of ten.
show::Time ruler_step(const TimeAxis& axis, float px) noexcept;

/// The marks of a ruler with its words at least `px` apart, seconds or timecode as the view has it; marks between them have no words.
struct RulerMark { show::Time time; std::string words; };
std::vector<RulerMark> ruler_marks(const View& view, const TimeAxis& axis, float px);

/// The switch of a control's lane at x in its name: mute, solo or lock; nothing where there is none.
std::optional<SwitchLane::What> switch_at(const Scene& scene, const TimelineLayout& at, std::size_t lane, float x);

/// What hands do in the timeline; `hovered`: whether the pointer is over it and nothing else.
Commands timeline_hands(const Scene& scene, const TimelineLayout& at, TimelineState& state, bool hovered);

/// The marker whose flag or name is at x in their row; nullptr where there is none.
const show::Marker* marker_at(const Scene& scene, const TimelineLayout& at, float x) noexcept;

/// The key under the pointer in a lane; nothing where none is near enough.
std::optional<show::KeyRef> key_near(const Lane& lane, const TimeAxis& axis, float x, float reach_px);
/// The box about the chosen keys whose lanes are in sight, where two or more stand at different times; nothing else.
struct LaneBox {
  ImVec2 min, max;   ///< on screen
  show::Range time;  ///< of all chosen keys
};
std::optional<LaneBox> box_of(const Scene& scene, const TimelineLayout& at);
void draw_box(ImDrawList& list, const Scene& scene, const LaneBox& box);
/// The end of the box whose grip is at that place: Drag::Kind::scale_begin or scale_end, or none.
Drag::Kind grip_at(const Scene& scene, const LaneBox& box, ImVec2 p);

/// Where a lane that is dragged to y would go: its place within its group, and the line between lanes to show; nothing outside of the group.
struct LaneDrop { std::size_t index = 0; float y = 0; };
std::optional<LaneDrop> drop_at(const TimelineLayout& at, const std::string& control, float y);

/// Every key inside a rectangle of lanes and time, added to `before`.
Selection keys_within(const TimelineLayout& at, float x0, float y0, float x1, float y1, const Selection& before);

}  // namespace mien::editor
