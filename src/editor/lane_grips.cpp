// The grips of the timeline: the box that scales the chosen keys in time, and lanes that are dragged to another place.
#include <algorithm>
#include <cmath>

#include "editor/draw.hpp"
#include "editor/grips.hpp"
#include "editor/probe.hpp"
#include "editor/timeline_parts.hpp"

namespace mien::editor {
namespace {

constexpr float kAir = 12;

}  // namespace

std::optional<LaneBox> box_of(const Scene& scene, const TimelineLayout& at) {
  const Selection& chosen = scene.document.selection();
  LaneBox box{{0, 0}, {0, 0}, {show::Time::max(), show::Time::min()}};
  for (const auto& [control, times] : chosen.times) box.time = {std::min(box.time.begin, times.front()), std::max(box.time.end, times.back())};
  if (box.time.empty()) return {};
  bool any = false;
  for (std::size_t i = 0; i < at.lanes.size(); ++i) {
    const float top = at.lane_top(i), bottom = top + at.lane_height;
    if (at.lanes[i].kind != Lane::Kind::control || bottom <= at.wave_bottom || top >= at.bottom || !chosen.of(at.lanes[i].name)) continue;
    box.min.y = any ? std::min(box.min.y, top) : top, box.max.y = any ? std::max(box.max.y, bottom) : bottom;
    any = true;
  }
  if (!any) return {};
  box.min.y = std::max(box.min.y, at.wave_bottom), box.max.y = std::min(box.max.y, at.bottom);
  box.min.x = at.axis.x(box.time.begin) - scene.look.px(kAir), box.max.x = at.axis.x(box.time.end) + scene.look.px(kAir);
  return box;
}

void draw_box(ImDrawList& list, const Scene& scene, const LaneBox& box) {
  const Look& look = scene.look;
  const float half = look.px(kGrip * 0.5f), y = std::round((box.min.y + box.max.y) * 0.5f);
  list.AddRect(box.min, box.max, with_alpha(look.theme.accent, 0.5), 0, 0, std::max(1.0f, look.px(1)));
  for (const float x : {box.min.x, box.max.x}) {
    fill(list, x - half, y - half, x + half, y + half, look.theme.accent);
    mark(x == box.min.x ? "timeline/scale_begin" : "timeline/scale_end", {x - half, y - half}, {x + half, y + half});
  }
}

Drag::Kind grip_at(const Scene& scene, const LaneBox& box, ImVec2 p) {
  const float reach = scene.look.px(kGrip), y = (box.min.y + box.max.y) * 0.5f;
  if (std::abs(p.y - y) > reach) return Drag::Kind::none;
  if (std::abs(p.x - box.min.x) <= reach * 0.75f) return Drag::Kind::scale_begin;
  return std::abs(p.x - box.max.x) <= reach * 0.75f ? Drag::Kind::scale_end : Drag::Kind::none;
}

std::optional<LaneDrop> drop_at(const TimelineLayout& at, const std::string& control, float y) {
  const auto mine = std::find_if(at.lanes.begin(), at.lanes.end(), [&](const Lane& l) { return l.kind == Lane::Kind::control && l.name == control; });
  if (mine == at.lanes.end()) return {};
  auto first = mine, last = mine;
  while (first != at.lanes.begin() && std::prev(first)->kind == Lane::Kind::control) --first;
  while (std::next(last) != at.lanes.end() && std::next(last)->kind == Lane::Kind::control) ++last;
  const auto begin = static_cast<std::size_t>(first - at.lanes.begin()), end = static_cast<std::size_t>(last - at.lanes.begin()) + 1;
  if (y < at.lane_top(begin) - at.lane_height || y > at.lane_top(end) + at.lane_height) return {};
  // Between which two: counted with the dragged lane still in its place.
  const float rows = std::round((y - at.lane_top(begin)) / at.lane_height);
  const auto gap = static_cast<std::size_t>(std::clamp(rows, 0.0f, static_cast<float>(end - begin)));
  const auto was = static_cast<std::size_t>(mine - first);
  return LaneDrop{gap > was ? gap - 1 : gap, at.lane_top(begin + gap)};
}

}  // namespace mien::editor
