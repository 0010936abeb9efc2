#include <algorithm>
#include <cmath>

#include "editor/curve_parts.hpp"
#include "editor/draw.hpp"
#include "editor/key_runs.hpp"
#include "editor/lanes.hpp"
#include "editor/probe.hpp"
#include "editor/timeline_parts.hpp"
#include "motion/curve.hpp"

namespace mien::editor {
namespace {

constexpr float kHead = 32, kRulerLine = 24, kValues = 72;
constexpr std::size_t kMostMarks = 400;

CurveLayout layout(const Scene& scene) {
  const Look& look = scene.look;
  const ImVec2 pos = ImGui::GetWindowPos(), size = ImGui::GetWindowSize();
  CurveLayout at;
  at.panel_top = pos.y;
  at.left = pos.x + look.px(kValues), at.right = pos.x + size.x - look.px(12);
  at.top = pos.y + look.px(kHead) + look.px(8), at.bottom = pos.y + size.y - look.px(kRulerLine) - look.px(4);
  at.axis = {scene.view.visible, at.left, std::max(1.0f, at.right - at.left)};
  at.control = find_control(scene.document.rig(), scene.view.control);
  if (!at.control) return at;
  at.control_index = perform::control_index(scene.document.rig(), scene.view.control);
  at.channel = show::find_channel(scene.document.show(), scene.view.control);
  at.colour = look.theme.group_colour(group_index(scene.document.rig(), scene.view.control));
  const double range = std::max(at.control->max - at.control->min, 1e-9), air = range * 0.06;
  at.low = at.control->min - air, at.high = at.control->max + air;
  return at;
}

void draw_grid(ImDrawList& list, const Scene& scene, const CurveLayout& at) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  fill(list, at.left, at.top, at.right, at.bottom, t.lane);
  const float hair = std::max(1.0f, look.px(1));
  for (const RulerMark& m : ruler_marks(scene.view, at.axis, look.px(84))) {
    const float x = std::round(at.axis.x(m.time));
    if (m.words.empty() || x < at.left || x > at.right) continue;
    fill(list, x, at.top, x + hair, at.bottom, with_alpha(t.line, 0.6));
    if (x + width_of(look.fonts.body, m.words) < at.right) words(list, look.fonts.body, x, at.bottom + look.px(14), t.quiet, m.words);
  }
  const show::Control& c = *at.control;
  const auto value_line = [&](double value, bool strong) {
    const float y = std::round(at.y(value));
    fill(list, at.left, y, at.right, y + hair, strong ? t.quiet : t.line);
    const std::string text = value_text(value, c.unit, c.max - c.min);
    words(list, look.fonts.body, at.left - look.px(8) - width_of(look.fonts.body, text), y, t.quiet, text);
  };
  value_line(c.min, false);
  value_line(c.max, false);
  const double clear = (c.max - c.min) * 0.09;
  if (c.rest > c.min + clear && c.rest < c.max - clear) value_line(c.rest, true);
}

// One point every two pixels where keys are sparse; where a column holds many keys, the reach of their values.
void draw_authored(ImDrawList& list, const Scene& scene, const CurveLayout& at, std::vector<ImVec2>& points) {
  const show::Channel empty;
  const show::Channel& channel = at.channel ? *at.channel : empty;
  const auto earlier = [](const show::Keyframe& k, show::Time t) { return k.time < t; };
  const float step = std::max(1.0f, scene.look.px(2)), thickness = scene.look.px(3.5f);
  points.clear();
  auto key = std::lower_bound(channel.keys.begin(), channel.keys.end(), at.axis.time(at.left), earlier);
  for (float x = at.left; x <= at.right; x += step) {
    const auto end = std::lower_bound(key, channel.keys.end(), at.axis.time(x + step), earlier);
    if (end - key > 3) {
      const auto [low, high] = std::minmax_element(key, end, [](const auto& a, const auto& b) { return a.value < b.value; });
      fill(list, x, at.y(high->value) - 1, x + step, at.y(low->value) + 1, at.colour);
      if (points.size() > 1) list.AddPolyline(points.data(), static_cast<int>(points.size()), at.colour, 0, thickness);
      points.clear();
    } else {
      points.push_back({x, at.y(motion::evaluate(channel, at.axis.time(x), at.control->rest))});
      // A key inside the column is passed through exactly, so that steps and peaks keep their place.
      for (auto k = key; k != end; ++k) {
        const float kx = at.axis.x(k->time);
        if (k != channel.keys.begin() && std::prev(k)->easing.kind == show::Easing::Kind::hold) points.push_back({kx, at.y(std::prev(k)->value)});
        points.push_back({kx, at.y(k->value)});
      }
    }
    key = end;
  }
  if (points.size() > 1) list.AddPolyline(points.data(), static_cast<int>(points.size()), at.colour, 0, thickness);
}

void draw_setpoints(ImDrawList& list, const Scene& scene, const CurveLayout& at, const SetpointTrace& trace, std::vector<ImVec2>& points) {
  if (!scene.setpoints || trace.actuator < 0 || trace.actuator >= static_cast<int>(scene.setpoints->behind_deg.size())) return;
  const auto& behind = scene.setpoints->behind_deg[static_cast<std::size_t>(trace.actuator)];
  const show::Channel empty;
  const show::Channel* asked_of = show::find_channel(*scene.setpoints->show, at.control->name);
  const show::Channel& channel = asked_of ? *asked_of : empty;
  const show::Time tick = scene.setpoints->tick;
  points.clear();
  const auto count = static_cast<std::int64_t>(behind.size());
  const std::int64_t stride = std::max<std::int64_t>(1, at.axis.span(scene.look.px(1)) / tick);
  const std::int64_t from = std::max<std::int64_t>(0, at.axis.range.begin / tick - 1);
  for (std::int64_t i = from - from % stride; i < count; i += stride) {
    const float x = at.axis.x(tick * i);
    if (x > at.right + scene.look.px(8)) break;
    const double asked = std::clamp(motion::evaluate(channel, tick * i, at.control->rest), at.control->min, at.control->max);
    points.push_back({x, at.y(asked + static_cast<double>(behind[static_cast<std::size_t>(i)]) / trace.weight)});
  }
  // Thin over thick: where the head follows exactly, both are still seen.
  if (points.size() > 1) list.AddPolyline(points.data(), static_cast<int>(points.size()), scene.look.theme.setpoint, 0, std::max(1.0f, scene.look.px(1.25f)));
}

void draw_keys(ImDrawList& list, const Scene& scene, const CurveLayout& at) {
  if (!at.channel) return;
  const auto& keys = at.channel->keys;
  std::vector<KeyRun> runs;
  gather_runs(std::span<const show::Keyframe>(keys), at.axis, kMergePx * scene.look.scale, runs);
  std::size_t marks = 0;
  for (const KeyRun& run : runs) marks += run.last - run.first + 1;
  const float r = scene.look.px(5);
  const Theme& t = scene.look.theme;
  for (const KeyRun& run : runs) {
    if (!run.single() && marks > kMostMarks) continue;
    for (std::size_t i = run.first; i <= run.last; ++i) {
      const float x = at.axis.x(keys[i].time), y = at.y(keys[i].value);
      if (i + 1 < keys.size() && shows_handles(scene, *at.channel, i)) {
        const Handles h = handles_of(at, i);
        const ImVec2 next{at.axis.x(keys[i + 1].time), at.y(keys[i + 1].value)};
        list.AddLine({x, y}, h.out, t.quiet, std::max(1.0f, scene.look.px(1)));
        list.AddLine(next, h.in, t.quiet, std::max(1.0f, scene.look.px(1)));
        key_mark(list, h.out.x, h.out.y, scene.look.px(4), show::Easing::Kind::linear, t.text);
        key_mark(list, h.in.x, h.in.y, scene.look.px(4), show::Easing::Kind::linear, t.text);
      }
      const bool chosen = scene.document.selection().contains(at.channel->control, keys[i].time);
      key_mark(list, x, y, r + scene.look.px(1.5f), keys[i].easing.kind, t.lane);
      key_mark(list, x, y, r, keys[i].easing.kind, chosen ? t.accent : at.colour);
    }
  }
}

// Whether a degree of the actuator is worth the same everywhere: controls alone are terms of its axis, and nothing bends it.
bool straight_to(const perform::RigMap& map, int actuator) noexcept {
  const auto plain = [&](int axis) {
    const auto& a = map.axes[static_cast<std::size_t>(axis)];
    return a.closing < 0 && std::none_of(map.terms.begin() + a.first_term, map.terms.begin() + a.end_term, [&](const auto& t) { return t.input >= map.controls; });
  };
  for (const auto& s : map.straight)
    if (s.actuator == actuator) return plain(s.axis);
  for (const auto& c : map.coupled)
    if (c.first == actuator || c.second == actuator) return plain(c.axis) && plain(c.axis + 1);
  return false;
}

// Where the head can't follow: the stretch shaded, the key marked.
void draw_stretches(ImDrawList& list, const Scene& scene, const CurveLayout& at) {
  if (!scene.feasibility || at.control_index < 0) return;
  const Colour shade = with_alpha(scene.look.theme.warning, 0.16);
  for (const ImVec2 s : finding_stretches(*scene.feasibility, std::span(&at.control_index, 1), at.axis)) fill(list, s.x, at.top, s.y, at.bottom, shade);
}

void draw_head(ImDrawList& list, const Scene& scene, const CurveLayout& at, const SetpointTrace& trace) {
  const Look& look = scene.look;
  const float y = at.panel_top + look.px(kHead * 0.5f + 4);
  float x = ImGui::GetWindowPos().x + look.px(12);
  fill(list, x, y - look.px(7), x + look.px(4), y + look.px(7), at.colour);
  x += look.px(12);
  x += words(list, look.fonts.strong, x, y, look.theme.text, at.control->name) + look.px(24);
  // The legend, in the lines' own strengths.
  fill(list, x, y - look.px(2), x + look.px(20), y + look.px(2), at.colour);
  x += look.px(28);
  x += words(list, look.fonts.body, x, y, look.theme.quiet, "authored") + look.px(20);
  if (trace.actuator < 0) {
    if (scene.setpoints) words(list, look.fonts.body, x, y, look.theme.quiet, "moves no actuator", at.right - x);
    return;
  }
  fill(list, x, y, x + look.px(20), y + std::max(1.0f, look.px(1)), look.theme.setpoint);
  x += look.px(28);
  const show::Actuator& a = scene.document.rig().actuators[static_cast<std::size_t>(trace.actuator)];
  words(list, look.fonts.body, x, y, look.theme.quiet, (trace.about ? "about what " : "what ") + a.name + " can follow", at.right - x);
}

void empty_state(const Scene& scene) {
  ImGui::SetCursorPos({scene.look.px(12), scene.look.px(8)});
  paragraph(scene.look.fonts.body, scene.look.theme.quiet,
            "The curve of one channel, and what the servos will make of it. Click a channel's name below to see it here.");
}

}  // namespace

SetpointTrace trace_of(const perform::RigMap& map, int control) {
  SetpointTrace trace;
  for (const auto& i : map.influences)
    if (i.control == control && (trace.actuator < 0 || std::abs(i.deg_per_unit) > std::abs(trace.weight))) trace = {i.actuator, i.deg_per_unit, true};
  trace.about = trace.actuator >= 0 && !straight_to(map, trace.actuator);
  return trace;
}

FindingMarks findings_of(const Scene& scene, const CurveLayout& at) {
  if (!scene.feasibility || at.control_index < 0) return {};
  return gather_findings(*scene.feasibility, std::span(&at.control_index, 1), at.axis, scene.look.px(kFindingMergePx));
}

Handles handles_of(const CurveLayout& at, std::size_t i) noexcept {
  const show::Keyframe &a = at.channel->keys[i], &b = at.channel->keys[i + 1];
  const double span = static_cast<double>((b.time - a.time).count()), rise = b.value - a.value;
  const auto point = [&](float sx, float sy) {
    return ImVec2{at.axis.x(a.time + show::Time{static_cast<std::int64_t>(sx * span)}), at.y(a.value + static_cast<double>(sy) * rise)};
  };
  return {point(a.easing.x1, a.easing.y1), point(a.easing.x2, a.easing.y2)};
}

bool shows_handles(const Scene& scene, const show::Channel& channel, std::size_t i) noexcept {
  if (channel.keys[i].easing.kind != show::Easing::Kind::bezier) return false;
  const Selection& s = scene.document.selection();
  return s.contains(channel.control, channel.keys[i].time) || s.contains(channel.control, channel.keys[i + 1].time);
}

Commands curve_view(const Scene& scene, CurveState& state) {
  const CurveLayout at = layout(scene);
  if (!at.control || at.right - at.left < 8 || at.bottom - at.top < 8) {
    empty_state(scene);
    return {};
  }
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const SetpointTrace trace = scene.setpoints ? trace_of(*scene.setpoints->map, at.control_index) : SetpointTrace{};
  draw_head(list, scene, at, trace);
  draw_grid(list, scene, at);
  list.PushClipRect({at.left, at.top - scene.look.px(6)}, {at.right, at.bottom + scene.look.px(6)}, true);
  std::vector<ImVec2> points;
  draw_stretches(list, scene, at);
  draw_authored(list, scene, at, points);
  draw_setpoints(list, scene, at, trace, points);
  draw_keys(list, scene, at);
  if (scene.feasibility) draw_finding_marks(list, scene, at.axis, at.bottom, findings_of(scene, at), "curve/finding");
  const float x = std::round(at.axis.x(scene.report.time));
  fill(list, x - scene.look.px(1), at.top, x + scene.look.px(1), at.bottom, with_alpha(scene.look.theme.playhead, 0.7));
  list.PopClipRect();

  ImGui::SetCursorScreenPos({at.left, at.top});
  ImGui::InvisibleButton("curve", {at.right - at.left, at.bottom - at.top + scene.look.px(kRulerLine)});
  mark("curve/plot", {at.left, at.top}, {at.right, at.bottom});
  return curve_hands(scene, at, state, ImGui::IsItemHovered());
}

}  // namespace mien::editor
