#include <algorithm>
#include <cmath>

#include "editor/draw.hpp"
#include "editor/probe.hpp"
#include "editor/timeline_parts.hpp"

namespace mien::editor {
namespace {

constexpr float kNames = 208, kLoopBand = 14, kRuler = 28, kMarkers = 20, kWave = 48, kLane = 24;

TimelineLayout layout(const Scene& scene, TimelineState& state) {
  const Look& look = scene.look;
  const ImVec2 pos = ImGui::GetWindowPos(), size = ImGui::GetWindowSize();
  TimelineLayout at;
  at.left = pos.x, at.top = pos.y, at.right = pos.x + size.x, at.bottom = pos.y + size.y;
  at.split = at.left + look.px(kNames);
  at.loop_bottom = at.top + look.px(kLoopBand);
  at.ruler_bottom = at.loop_bottom + look.px(kRuler);
  at.marker_bottom = at.ruler_bottom + (scene.document.show().markers.empty() ? 0 : look.px(kMarkers));
  at.wave_bottom = at.marker_bottom + (scene.document.show().sounds.empty() ? 0 : look.px(kWave));
  at.lane_height = look.px(kLane);
  at.axis = {scene.view.visible, at.split, std::max(1.0f, at.right - at.split)};
  at.lanes = gather_lanes(scene.document.rig(), scene.document.show(), scene.view.folded);
  const float room = std::max(0.0f, at.bottom - at.wave_bottom);
  state.scroll = std::clamp(state.scroll, 0.0f, std::max(0.0f, at.content_height() - room));
  at.scroll = state.scroll;
  return at;
}

void mark_parts(const TimelineLayout& at) {
  if (!listening_probe) return;
  mark("timeline/ruler", {at.split, at.loop_bottom}, {at.right, at.ruler_bottom});
  mark("timeline/loop", {at.split, at.top}, {at.right, at.loop_bottom});
  for (std::size_t i = 0; i < at.lanes.size(); ++i) {
    const float y = at.lane_top(i);
    if (y < at.wave_bottom || y + at.lane_height > at.bottom) continue;
    const std::string kind = at.lanes[i].kind == Lane::Kind::group ? "group/" : "lane/";
    mark((kind + at.lanes[i].name).c_str(), {at.split, y}, {at.right, y + at.lane_height});
    mark((kind + at.lanes[i].name + "/name").c_str(), {at.left, y}, {at.split, y + at.lane_height});
  }
}

void draw_scrollbar(ImDrawList& list, const Scene& scene, const TimelineLayout& at) {
  const float room = at.bottom - at.wave_bottom, content = at.content_height();
  if (content <= room || room <= 0) return;
  const float width = scene.look.px(4), top = at.wave_bottom + at.scroll / content * room;
  fill(list, at.split - width - scene.look.px(2), top, at.split - scene.look.px(2), top + room * room / content, scene.look.theme.raised_active);
}

}  // namespace

std::size_t TimelineLayout::lane_at(float y) const noexcept {
  if (y < wave_bottom || y >= bottom) return lanes.size();
  const auto index = static_cast<std::size_t>((y - wave_bottom + scroll) / lane_height);
  return std::min(index, lanes.size());
}

Commands timeline(const Scene& scene, TimelineState& state) {
  const TimelineLayout at = layout(scene, state);
  ImDrawList& list = *ImGui::GetWindowDrawList();
  draw_lanes(list, scene, at);
  draw_waves(list, scene, at);
  draw_ruler(list, scene, at);
  draw_playhead(list, scene, at);
  draw_scrollbar(list, scene, at);
  mark_parts(at);

  ImGui::SetCursorScreenPos({at.left, at.top});
  ImGui::InvisibleButton("timeline", {at.right - at.left, at.bottom - at.top});
  return timeline_hands(scene, at, state, ImGui::IsItemHovered());
}

}  // namespace mien::editor
