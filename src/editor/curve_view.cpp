#include <algorithm>
#include <cmath>

#include "editor/curve_parts.hpp"
#include "editor/draw.hpp"
#include "editor/grips.hpp"
#include "editor/head_style.hpp"
#include "editor/lanes.hpp"
#include "editor/probe.hpp"
#include "editor/timeline_parts.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

constexpr float kHead = 32, kValues = 72, kLeastPlot = 64;
constexpr std::size_t kMostBoxed = 2000;  ///< chosen keys that a box is drawn about: each has to be looked at

CurveLayout curve_layout(const Scene& scene, const std::string& control) {
  const Look& look = scene.look;
  const ImVec2 pos = ImGui::GetWindowPos(), size = ImGui::GetWindowSize();
  CurveLayout at;
  at.panel_top = pos.y, at.panel_bottom = pos.y + size.y;
  at.left = pos.x + look.px(kValues), at.right = pos.x + size.x - look.px(12);
  at.top = pos.y + look.px(kHead) + look.px(8), at.bottom = pos.y + size.y - look.px(kRulerLine) - look.px(4);
  at.axis = {scene.view.visible, at.left, std::max(1.0f, at.right - at.left)};
  at.control = find_control(scene.document.rig(), control);
  if (!at.control) return at;
  at.control_index = perform::control_index(scene.document.rig(), control);
  at.channel = show::find_channel(scene.document.show(), control);
  at.colour = look.theme.group_colour(group_index(scene.document.rig(), control));
  const double range = std::max(at.control->max - at.control->min, 1e-9), air = range * 0.06;
  at.low = at.control->min - air, at.high = at.control->max + air;
  return at;
}

CurvePlot plot_of(const Scene& scene) {
  CurvePlot plot;
  plot.front = curve_layout(scene, scene.view.control);
  if (!plot.front.control) return plot;
  std::vector<std::string> names = scene.view.kept;
  for (const auto& [control, times] : scene.document.selection().times) names.push_back(control);
  for (const std::string& name : names) {
    if (name == scene.view.control || plot.find(name) || !find_control(scene.document.rig(), name)) continue;
    if (plot.behind.size() < kMostBehind) plot.behind.push_back(curve_layout(scene, name));
    else ++plot.left_out;
  }
  const float strips = scene.look.px(2 * kStrip + 8);
  const bool open = scene.view.strips && plot.front.bottom - strips - plot.front.top >= scene.look.px(kLeastPlot);
  if (open) {
    plot.front.bottom -= strips;
    plot.strips_top = plot.front.bottom + scene.look.px(kRulerLine + 4);
    for (CurveLayout& at : plot.behind) at.bottom = plot.front.bottom;
  }
  plot.controls.push_back(plot.front.control_index);
  for (const CurveLayout& at : plot.behind) plot.controls.push_back(at.control_index);
  return plot;
}

// What draws a channel whose keys are more than there are columns.
void know_reaches(const show::Show& show, CurvePlot& plot, ValueReaches& reaches) {
  const auto know = [&](CurveLayout& at) {
    for (const show::ChannelPtr& channel : show.channels)
      if (at.channel && channel.get() == at.channel) at.reach = &reaches.of(channel);
  };
  know(plot.front);
  for (CurveLayout& behind : plot.behind) know(behind);
  reaches.end_frame();
}

void draw_grid(ImDrawList& list, const Scene& scene, const CurveLayout& at) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
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

// The plot's ground, shaded where the head can't follow. Side by side, since each pixel that is painted twice costs twice.
void draw_ground(ImDrawList& list, const Scene& scene, const CurvePlot& plot) {
  const CurveLayout& at = plot.front;
  const Colour plain = scene.look.theme.lane, shade = mix(plain, scene.look.theme.warning, 0.16);
  float x = at.left;
  const auto upto = [&](float end, Colour colour) {
    if (end > x) fill(list, x, at.top, end, at.bottom, colour), x = end;
  };
  if (scene.feasibility)
    for (const ImVec2 s : finding_stretches(*scene.feasibility, plot.controls, at.axis)) upto(s.x, plain), upto(s.y, shade);
  upto(at.right, plain);
}

void draw_key_box(ImDrawList& list, const Scene& scene, const KeyBox& box) {
  const Look& look = scene.look;
  const float half = look.px(kGrip * 0.5f);
  list.AddRect(box.min, box.max, with_alpha(look.theme.accent, 0.5), 0, 0, std::max(1.0f, look.px(1)));
  const auto grip = [&](const char* name, Drag::Kind kind) {
    const auto p = grip_of(box, kind);
    if (!p) return;
    fill(list, p->x - half, p->y - half, p->x + half, p->y + half, look.theme.accent);
    mark(name, {p->x - half, p->y - half}, {p->x + half, p->y + half});
  };
  grip("curve/scale_begin", Drag::Kind::scale_begin);
  grip("curve/scale_end", Drag::Kind::scale_end);
  grip("curve/scale_high", Drag::Kind::scale_high);
  grip("curve/scale_low", Drag::Kind::scale_low);
}

// A word that can be clicked; returns where the next one begins.
float chip(const Scene& scene, float x, float y, const std::string& text, bool on, const char* name, bool& pressed) {
  const Look& look = scene.look;
  const float width = width_of(on ? look.fonts.strong : look.fonts.body, text) + look.px(16), high = look.px(24);
  ImGui::SetCursorScreenPos({x, y - high * 0.5f});
  pressed = ImGui::InvisibleButton(name, {width, high});
  mark((std::string("curve/") + name).c_str());
  const bool over = ImGui::IsItemHovered();
  ImDrawList& list = *ImGui::GetWindowDrawList();
  if (on || over) fill(list, x, y - high * 0.5f, x + width, y + high * 0.5f, look.theme.raised);
  words(list, on ? look.fonts.strong : look.fonts.body, x + look.px(8), y, on || over ? look.theme.text : look.theme.quiet, text);
  return x + width + look.px(4);
}

// The channels behind, each with its colour and name, as far as there is room.
void draw_legend(ImDrawList& list, const Scene& scene, const CurvePlot& plot, float x, float right, float y, Commands& out) {
  const Look& look = scene.look;
  std::size_t left_out = plot.left_out;
  for (std::size_t i = 0; i < plot.behind.size(); ++i) {
    const CurveLayout& at = plot.behind[i];
    const float width = width_of(look.fonts.body, at.control->name) + look.px(28);
    if (x + width > right - look.px(40)) {
      left_out += plot.behind.size() - i;
      break;
    }
    bool pressed = false;
    fill(list, x, y - look.px(5), x + look.px(3), y + look.px(5), at.colour);
    x = chip(scene, x + look.px(3), y, at.control->name, false, ("behind/" + at.control->name).c_str(), pressed) + look.px(4);
    if (pressed && ImGui::GetIO().KeyShift) out.push_back(KeepInCurve{at.control->name, false});
    else if (pressed) out.push_back(Choose{at.control->name});
  }
  if (left_out > 0) words(list, look.fonts.body, x, y, look.theme.quiet, "+ " + std::to_string(left_out), right - x);
}

void draw_head(ImDrawList& list, const Scene& scene, const CurvePlot& plot, const SetpointTrace& trace, Commands& out) {
  const Look& look = scene.look;
  const CurveLayout& at = plot.front;
  const float y = at.panel_top + look.px(kHead * 0.5f + 4), start = ImGui::GetWindowPos().x + look.px(12);
  const auto width = [&](const char* text) { return width_of(look.fonts.strong, text) + look.px(20); };
  bool pressed = false;
  float right = at.right - width("Speeds");
  chip(scene, right, y, "Speeds", scene.view.strips, "speeds", pressed);
  if (pressed) out.push_back(Act{"strips"});
  if (ImGui::IsItemHovered()) beside_pointer(look, scene.view.strips && plot.strips_top <= 0 ? "Velocity and acceleration: no room, drag the panel\u2019s lower edge down" : "Velocity and acceleration below the curve");
  right -= width("Handles");
  chip(scene, right, y, "Handles", scene.view.handles, "handles", pressed);
  if (pressed) out.push_back(Act{"handles"});
  if (ImGui::IsItemHovered()) beside_pointer(look, "The numbers of handles below those of keys");
  right -= look.px(8);
  float x = start;
  fill(list, x, y - look.px(7), x + look.px(4), y + look.px(7), at.colour);
  x += look.px(12);
  x += words(list, look.fonts.strong, x, y, look.theme.text, at.control->name, right - x) + look.px(20);
  if (!plot.behind.empty()) return draw_legend(list, scene, plot, x, right, y, out);
  // The legend, in the lines' own strengths, as far as there is room.
  if (right - x < look.px(28) + width_of(look.fonts.body, "authored")) return;
  fill(list, x, y - look.px(2), x + look.px(20), y + look.px(2), at.colour);
  x += look.px(28);
  x += words(list, look.fonts.body, x, y, look.theme.quiet, "authored") + look.px(20);
  if (trace.actuator < 0) {
    if (scene.setpoints) words(list, look.fonts.body, x, y, look.theme.quiet, "moves no actuator", right - x);
    return;
  }
  if (right - x < look.px(28 + 64)) return;
  fill(list, x, y, x + look.px(20), y + std::max(1.0f, look.px(1)), look.theme.setpoint);
  x += look.px(28);
  const show::Actuator& a = scene.document.rig().actuators[static_cast<std::size_t>(trace.actuator)];
  words(list, look.fonts.body, x, y, look.theme.quiet, (trace.about ? "about what " : "what ") + a.name + " can follow", right - x);
}

void empty_state(const Scene& scene) {
  ImGui::SetCursorPos({scene.look.px(12), scene.look.px(8)});
  paragraph(scene.look.fonts.body, scene.look.theme.quiet,
            "The curve of one channel, and what the servos will make of it. Click a channel's name below to see it here.");
}

}  // namespace

const CurveLayout* CurvePlot::find(std::string_view control) const noexcept {
  if (front.control && front.control->name == control) return &front;
  for (const CurveLayout& at : behind)
    if (at.control->name == control) return &at;
  return nullptr;
}

FindingMarks findings_of(const Scene& scene, const CurvePlot& plot) {
  if (!scene.feasibility || plot.front.control_index < 0) return {};
  return gather_findings(*scene.feasibility, plot.controls, plot.front.axis, scene.look.px(kFindingMergePx));
}

std::optional<KeyBox> box_of(const Scene& scene, const CurvePlot& plot) {
  const Selection& chosen = scene.document.selection();
  if (const std::size_t size = chosen.size(); size < 2 || size > kMostBoxed) return {};
  KeyBox box{{0, 0}, {0, 0}, {show::Time::max(), show::Time::min()}, 1, 0};
  std::size_t count = 0;
  for (const auto& [control, times] : chosen.times) {
    const CurveLayout* at = plot.find(control);
    if (!at || !at->channel) return {};  // a box about some of them would lie about the rest
    const double range = std::max(at->control->max - at->control->min, 1e-9);
    for (const show::Time t : times) {
      ++count;
      const show::Keyframe* key = find_key(*at->channel, t);
      if (!key) continue;
      const double share = (key->value - at->control->min) / range;
      box.time = {std::min(box.time.begin, t), std::max(box.time.end, t)};
      if (count == 1) box.low = box.high = share;
      box.low = std::min(box.low, share), box.high = std::max(box.high, share);
    }
  }
  if (box.time.end < box.time.begin) return {};
  const CurveLayout& at = plot.front;
  const double range = at.control->max - at.control->min;
  const float air = scene.look.px(12);
  box.min = {at.axis.x(box.time.begin) - air, at.y(at.control->min + box.high * range) - air};
  box.max = {at.axis.x(box.time.end) + air, at.y(at.control->min + box.low * range) + air};
  // Its grips stay within reach, also where keys stand at the ends of the range.
  const float half = scene.look.px(kGrip * 0.5f);
  box.min = {std::max(box.min.x, at.left + half), std::max(box.min.y, at.top + half)};
  box.max = {std::min(box.max.x, at.right - half), std::min(box.max.y, at.bottom - scene.look.px(kFindingStripPx) - half)};
  if (box.max.x <= box.min.x || box.max.y <= box.min.y) return {};
  return box;
}

// Times at the middle of the upright edges; values at the right corners, where no chosen key stands.
std::optional<ImVec2> grip_of(const KeyBox& box, Drag::Kind kind) {
  const float y = std::round((box.min.y + box.max.y) * 0.5f);
  if (kind == Drag::Kind::scale_begin && !box.time.empty()) return ImVec2{box.min.x, y};
  if (kind == Drag::Kind::scale_end && !box.time.empty()) return ImVec2{box.max.x, y};
  if (kind == Drag::Kind::scale_high && box.high > box.low) return ImVec2{box.max.x, box.min.y};
  if (kind == Drag::Kind::scale_low && box.high > box.low) return ImVec2{box.max.x, box.max.y};
  return {};
}

Commands curve_view(const Scene& scene, CurveState& state) {
  CurvePlot plot = plot_of(scene);
  const CurveLayout& at = plot.front;
  if (!at.control || at.right - at.left < 8 || at.bottom - at.top < 8) {
    empty_state(scene);
    return {};
  }
  know_reaches(scene.document.show(), plot, state.reaches);
  Commands out;
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const SetpointTrace trace = scene.setpoints ? trace_of(*scene.setpoints->map, at.control_index) : SetpointTrace{};
  draw_head(list, scene, plot, trace, out);
  draw_ground(list, scene, plot);
  draw_grid(list, scene, at);
  list.PushClipRect({at.left, at.top - scene.look.px(6)}, {at.right, at.bottom + scene.look.px(6)}, true);
  std::vector<ImVec2> points;
  for (const CurveLayout& behind : plot.behind) {
    draw_authored(list, scene, behind, plot.behind.size(), points);
    draw_curve_keys(list, scene, behind, plot.behind.size());
  }
  draw_authored(list, scene, at, 0, points);
  draw_setpoints(list, scene, at, trace, points);
  draw_curve_keys(list, scene, at, 0);
  if (const auto box = box_of(scene, plot)) draw_key_box(list, scene, *box);
  if (scene.feasibility) draw_finding_marks(list, scene, at.axis, at.bottom, findings_of(scene, plot), "curve/finding");
  const float x = std::round(at.axis.x(scene.report.time));
  fill(list, x - scene.look.px(1), at.top, x + scene.look.px(1), at.bottom, with_alpha(scene.look.theme.playhead, 0.7));
  list.PopClipRect();
  draw_strips(list, scene, plot, trace);

  ImGui::SetCursorScreenPos({at.left, at.top});
  ImGui::InvisibleButton("curve", {at.right - at.left, at.bottom - at.top + scene.look.px(kRulerLine)});
  mark("curve/plot", {at.left, at.top}, {at.right, at.bottom});
  for (Command& c : curve_hands(scene, plot, state, ImGui::IsItemHovered())) out.push_back(std::move(c));
  return out;
}

}  // namespace mien::editor
