#include <algorithm>
#include <array>

#include "editor/draw.hpp"
#include "editor/key_runs.hpp"
#include "editor/layer_lane.hpp"
#include "editor/probe.hpp"
#include "editor/timeline_parts.hpp"

namespace mien::editor {
namespace {

constexpr float kKeyRadius = 5;

void draw_run(ImDrawList& list, const Look& look, const TimelineLayout& at, const KeyRun& run, show::Easing::Kind kind, float y, Colour colour) {
  const float r = look.px(kKeyRadius), x0 = at.axis.x(run.begin), x1 = at.axis.x(run.end);
  if (run.single()) return key_mark(list, x0, y, r, kind, colour);
  key_run_mark(list, x0, x1, y, r, colour);
}

constexpr std::size_t kMarkedKeys = 64;

void mark_keys(const TimelineLayout& at, const Lane& lane, float y) {
  if (!listening_probe) return;
  for (std::size_t i = 0; i < std::min(lane.channel->keys.size(), kMarkedKeys); ++i) {
    const float x = at.axis.x(lane.channel->keys[i].time);
    mark(("key/" + lane.name + "/" + std::to_string(i)).c_str(), {x - 2, y - 2}, {x + 2, y + 2});
  }
}

std::span<const show::Time> between(const std::vector<show::Time>& times, show::Time first, show::Time last) {
  const auto begin = std::lower_bound(times.begin(), times.end(), first);
  return {begin, std::upper_bound(begin, times.end(), last)};
}

void draw_keys(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const Lane& lane, float y, std::vector<KeyRun>& runs) {
  const std::span<const show::Keyframe> keys(lane.channel->keys);
  const Colour colour = scene.look.theme.group_colour(lane.group);
  const float merge = kMergePx * scene.look.scale;
  gather_runs(keys, at.axis, merge, runs);
  const auto* chosen = scene.document.selection().of(lane.name);
  std::vector<KeyRun> parts;
  const bool all = chosen && chosen->size() == keys.size();  // whatever is chosen is there
  for (const KeyRun& run : runs) {
    const std::span<const show::Time> within = chosen && !all ? between(*chosen, run.begin, run.end) : std::span<const show::Time>();
    const bool whole = all || within.size() == run.last - run.first + 1;
    draw_run(list, scene.look, at, run, keys[run.first].easing.kind, y, whole ? scene.look.theme.accent : colour);
    if (whole || within.empty()) continue;
    gather_runs(within, at.axis, merge, parts);
    for (const KeyRun& part : parts) draw_run(list, scene.look, at, part, show::Easing::Kind::smooth, y, scene.look.theme.accent);
  }
}

// A folded group shows where any of its channels has keys: one strip for each stretch without a visible gap.
void draw_summary(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const Lane& lane, float y, std::vector<KeyRun>& runs) {
  std::vector<show::Range> spans;
  for (const show::Channel* channel : lane.folded) {
    gather_runs(std::span<const show::Keyframe>(channel->keys), at.axis, kMergePx * scene.look.scale, runs);
    for (const KeyRun& run : runs) spans.push_back({run.begin, run.end});
  }
  std::sort(spans.begin(), spans.end(), [](const show::Range& a, const show::Range& b) { return a.begin < b.begin; });
  const show::Time gap = at.axis.span(kMergePx * scene.look.scale);
  const float r = scene.look.px(3);
  const Colour colour = scene.look.theme.group_colour(lane.group);
  for (std::size_t i = 0; i < spans.size();) {
    show::Range whole = spans[i++];
    for (; i < spans.size() && spans[i].begin <= whole.end + gap; ++i) whole.end = std::max(whole.end, spans[i].end);
    fill(list, at.axis.x(whole.begin) - r, y - r, at.axis.x(whole.end) + r, y + r, colour);
  }
}

constexpr float kSwitch = 20;

bool is_silent(const View& view, const std::string& control) { return view.soloed.empty() ? view.muted.contains(control) : !view.soloed.contains(control); }

bool over_name(const TimelineLayout& at, float top) {
  const ImVec2 p = ImGui::GetIO().MousePos;
  return p.x >= at.left && p.x < at.split && p.y >= top && p.y < top + at.lane_height && ImGui::IsWindowHovered(ImGuiHoveredFlags_AllowWhenBlockedByActiveItem);
}

// M, S and L at the right end of a lane's name; filled where they are on.
void draw_switches(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const std::string& control, float y) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  const std::array<std::pair<const char*, bool>, 3> all{{{"M", scene.view.muted.contains(control)}, {"S", scene.view.soloed.contains(control)}, {"L", scene.view.locked.contains(control)}}};
  float x = at.split - look.px(12 + 3 * kSwitch);
  for (const auto& [letter, on] : all) {
    const float x0 = x + look.px(2), x1 = x + look.px(kSwitch), half = look.px(9);
    fill(list, x0, y - half, x1, y + half, on ? t.accent : t.raised);
    words(list, on ? look.fonts.strong : look.fonts.body, (x0 + x1 - width_of(look.fonts.body, letter)) * 0.5f, y, on ? t.accent_text : t.quiet, letter);
    if (listening_probe) mark(("switch/" + control + "/" + letter).c_str(), {x0, y - half}, {x1, y + half});
    x += look.px(kSwitch);
  }
}

void draw_name(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const Lane& lane, float top, float y) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  const float right = at.split - look.px(12);
  if (lane.kind == Lane::Kind::group) {
    const float x = at.left + look.px(16), s = look.px(4);
    if (lane.is_folded) fill_triangle(list, {x - s, y - s}, {x + s, y}, {x - s, y + s}, t.quiet);
    else fill_triangle(list, {x - s, y - s}, {x + s, y - s}, {x, y + s}, t.quiet);
    words(list, look.fonts.strong, at.left + look.px(28), y, t.text, lane.name, right - at.left - look.px(28));
    return;
  }
  if (lane.layer) return draw_layer_name(list, scene, at, lane, top, y);
  const show::Control& control = scene.document.rig().controls[lane.control];
  const bool chosen = scene.view.control == lane.name, silent = is_silent(scene.view, lane.name);
  if (chosen) fill(list, at.left, top, at.split, top + at.lane_height, t.raised);
  fill(list, at.left, top, at.left + look.px(4), top + at.lane_height, t.group_colour(lane.group));
  std::string value;
  if (lane.control < static_cast<std::size_t>(scene.report.controls))
    value = value_text(scene.report.control[lane.control], control.unit, control.max - control.min);
  const bool switches = over_name(at, top) || scene.view.muted.contains(lane.name) || scene.view.soloed.contains(lane.name) || scene.view.locked.contains(lane.name);
  const float width = switches ? look.px(3 * kSwitch) : width_of(look.fonts.body, value);
  if (switches) draw_switches(list, scene, at, lane.name, y);
  else words(list, look.fonts.body, right - width, y, t.quiet, value);
  const float x = at.left + look.px(28);
  words(list, chosen ? look.fonts.strong : look.fonts.body, x, y, silent ? t.quiet : t.text, lane.name, right - width - x - look.px(8));
}

void draw_backs(ImDrawList& list, const Scene& scene, const TimelineLayout& at) {
  const Theme& t = scene.look.theme;
  for (std::size_t i = at.lane_at(at.wave_bottom); i < at.lanes.size() && at.lane_top(i) < at.bottom; ++i) {
    const float top = at.lane_top(i);
    if (at.lanes[i].kind == Lane::Kind::group) fill(list, at.left, top, at.right, top + at.lane_height, t.ground);
    else if (i % 2) fill(list, at.split, top, at.right, top + at.lane_height, t.lane);
  }
  list.PushClipRect({at.split, at.wave_bottom}, {at.right, at.bottom}, true);
  const show::Show& show = scene.document.show();
  for (const show::Marker& m : show.markers) {
    const float x = std::round(at.axis.x(m.time));
    if (x >= at.split && x <= at.right) fill(list, x, at.wave_bottom, x + std::max(1.0f, scene.look.px(1)), at.bottom, t.line);
  }
  const float end = at.axis.x(show.length), start = at.axis.x(show::Time{0});
  const Colour outside = with_alpha(t.ground, 0.6);
  if (end < at.right) fill(list, end, at.wave_bottom, at.right, at.bottom, outside);
  if (start > at.split) fill(list, at.split, at.wave_bottom, start, at.bottom, outside);
  list.PopClipRect();
}

// Stretches as a hairline on the lane's lower edge, and a mark at each key that the head doesn't reach in time.
void draw_findings(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const Lane& lane, float top) {
  if (!scene.feasibility || lane.controls.empty()) return;
  const float bottom = top + at.lane_height, hair = std::max(1.0f, scene.look.px(1));
  for (const ImVec2 s : finding_stretches(*scene.feasibility, lane.controls, at.axis)) fill(list, s.x, bottom - hair, s.y, bottom, scene.look.theme.warning);
  draw_finding_marks(list, scene, at.axis, bottom, findings_of(scene, at, lane), "finding/" + lane.name);
}

}  // namespace

FindingMarks findings_of(const Scene& scene, const TimelineLayout& at, const Lane& lane) {
  if (!scene.feasibility || lane.controls.empty()) return {};
  return gather_findings(*scene.feasibility, lane.controls, at.axis, scene.look.px(kFindingMergePx));
}

void draw_lanes(ImDrawList& list, const Scene& scene, const TimelineLayout& at) {
  std::vector<KeyRun> runs;
  const std::size_t first = at.lane_at(at.wave_bottom);
  list.PushClipRect({at.left, at.wave_bottom}, {at.right, at.bottom}, true);
  draw_backs(list, scene, at);
  const auto middle = [&](float top) { return std::round(top + at.lane_height * 0.5f); };
  // All names, then all that stands over time: a lane at a time would be cut to another rectangle twice a lane, which is twice a drawing of its own.
  for (std::size_t i = first; i < at.lanes.size() && at.lane_top(i) < at.bottom; ++i) draw_name(list, scene, at, at.lanes[i], at.lane_top(i), middle(at.lane_top(i)));
  list.PushClipRect({at.split, at.wave_bottom}, {at.right, at.bottom}, true);
  for (std::size_t i = first; i < at.lanes.size() && at.lane_top(i) < at.bottom; ++i) {
    const Lane& lane = at.lanes[i];
    const float top = at.lane_top(i), y = middle(top);
    if (lane.layer) draw_layer(list, scene, at, lane, top);
    if (lane.channel) draw_keys(list, scene, at, lane, y, runs), mark_keys(at, lane, y);
    if (!lane.folded.empty()) draw_summary(list, scene, at, lane, y, runs);
    draw_findings(list, scene, at, lane, top);
  }
  list.PopClipRect();
  list.PopClipRect();
  fill(list, at.split - scene.look.px(1), at.top, at.split, at.bottom, scene.look.theme.line);
}

std::optional<SwitchLane::What> switch_at(const Scene& scene, const TimelineLayout& at, std::size_t lane, float x) {
  if (lane >= at.lanes.size() || at.lanes[lane].kind != Lane::Kind::control) return {};
  const float from = at.split - scene.look.px(12 + 3 * kSwitch), width = scene.look.px(kSwitch);
  if (x < from || x >= from + 3 * width) return {};
  constexpr std::array kWhat{SwitchLane::What::mute, SwitchLane::What::solo, SwitchLane::What::lock};
  return kWhat[std::min<std::size_t>(2, static_cast<std::size_t>((x - from) / width))];
}

std::optional<show::KeyRef> key_near(const Lane& lane, const TimeAxis& axis, float x, float reach_px) {
  if (!lane.channel || lane.channel->keys.empty()) return {};
  const auto& keys = lane.channel->keys;
  const show::Time t = axis.time(x);
  auto at = std::lower_bound(keys.begin(), keys.end(), t, [](const show::Keyframe& k, show::Time when) { return k.time < when; });
  if (at == keys.end() || (at != keys.begin() && t - std::prev(at)->time < at->time - t)) --at;
  if (std::abs(axis.x(at->time) - x) > reach_px) return {};
  return show::KeyRef{lane.channel->control, at->time};
}

Selection keys_within(const TimelineLayout& at, float x0, float y0, float x1, float y1, const Selection& before) {
  Selection chosen = before;
  const show::Time from = at.axis.time(std::min(x0, x1)), until = at.axis.time(std::max(x0, x1));
  for (std::size_t i = 0; i < at.lanes.size(); ++i) {
    const float middle = at.lane_top(i) + at.lane_height * 0.5f;
    if (!at.lanes[i].channel || middle < std::min(y0, y1) - at.lane_height * 0.4f || middle > std::max(y0, y1) + at.lane_height * 0.4f) continue;
    const auto& keys = at.lanes[i].channel->keys;
    const auto earlier = [](const show::Keyframe& k, show::Time t) { return k.time < t; };
    const auto begin = std::lower_bound(keys.begin(), keys.end(), from, earlier);
    const auto end = std::lower_bound(begin, keys.end(), until + show::Time{1}, earlier);
    if (begin == end) continue;
    const auto* old = before.of(at.lanes[i].name);
    std::vector<show::Time> found, merged;
    for (auto k = begin; k != end; ++k) found.push_back(k->time);
    if (old) std::set_union(old->begin(), old->end(), found.begin(), found.end(), std::back_inserter(merged));
    chosen.times[at.lanes[i].name] = old ? std::move(merged) : std::move(found);
  }
  return chosen;
}

}  // namespace mien::editor
