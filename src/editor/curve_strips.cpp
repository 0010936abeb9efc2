// Velocity and acceleration of the chosen channel below its curve, with what the servos allow as bands.
#include <algorithm>
#include <cmath>

#include "editor/curve_parts.hpp"
#include "editor/draw.hpp"
#include "editor/probe.hpp"
#include "motion/curve.hpp"

namespace mien::editor {
namespace {

constexpr std::int64_t kMostLooks = 4;  ///< ticks of one column that are looked at
constexpr double kStripAir = 1.35;      ///< of the limit, at the strip's edge

// Values are numbers in the control's unit per second, or per second squared.
struct Strip {
  float left, right, top, bottom;
  double most;  // at the edge
  float y(double value) const noexcept { return (top + bottom) * 0.5f - static_cast<float>(std::clamp(value / most, -1.0, 1.0)) * (bottom - top) * 0.5f; }
};

std::string unit_of(const show::Control& control, int order) {
  const std::string unit = control.unit.empty() ? "1" : control.unit;
  return unit + (order == 1 ? "/s" : "/s\u00b2");
}

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, std::abs(value) >= 100 ? "%.0f" : std::abs(value) >= 10 ? "%.1f" : "%.2f", value == 0 ? 0.0 : value);
  return text;
}

// What velocity and acceleration are on a tick: of the authored curve, or of the setpoints.
using SpeedAt = std::function<Speed(std::int64_t tick)>;

struct Reach { double low = 0, high = 0; bool any = false; };

// The least and greatest in each column of two pixels.
std::vector<Reach> columns(const CurveLayout& at, float step, show::Time tick, std::int64_t last, int order, const SpeedAt& speed) {
  std::vector<Reach> reach;
  for (float x = at.left; x <= at.right; x += step) {
    Reach r;
    const std::int64_t from = at.axis.time(x) / tick, until = std::max(from + 1, static_cast<std::int64_t>(at.axis.time(x + step) / tick));
    const std::int64_t stride = std::max<std::int64_t>(1, (until - from) / kMostLooks);
    for (std::int64_t i = from; i < until; i += stride) {
      if (i < 0 || i > last) continue;
      const Speed s = speed(i);
      const double v = order == 1 ? s.per_s : s.per_s2;
      r = r.any ? Reach{std::min(r.low, v), std::max(r.high, v), true} : Reach{v, v, true};
    }
    reach.push_back(r);
  }
  return reach;
}

void draw_reach(ImDrawList& list, const Strip& strip, const std::vector<Reach>& reach, float step, Colour colour, float thickness) {
  std::vector<ImVec2> points;
  const auto flush = [&] {
    if (points.size() > 1) list.AddPolyline(points.data(), static_cast<int>(points.size()), colour, 0, thickness);
    points.clear();
  };
  for (std::size_t i = 0; i < reach.size(); ++i) {
    const float x = strip.left + step * static_cast<float>(i);
    if (!reach[i].any) {
      flush();
      continue;
    }
    points.push_back({x, strip.y(reach[i].low)});
    if (reach[i].high != reach[i].low) points.push_back({x, strip.y(reach[i].high)});
  }
  flush();
}

SpeedAt of_setpoints(const Scene& scene, const CurveLayout& at, const SetpointTrace& trace) {
  const Setpoints& s = *scene.setpoints;
  const show::Channel* channel = show::find_channel(*s.show, at.control->name);
  return [&s, &at, trace, channel, h = show::to_seconds(s.tick)](std::int64_t i) {
    const auto& behind = s.behind_deg[static_cast<std::size_t>(trace.actuator)];
    const auto value = [&](std::int64_t n) {
      n = std::clamp<std::int64_t>(n, 0, static_cast<std::int64_t>(behind.size()) - 1);
      const double asked = channel ? std::clamp(motion::evaluate(*channel, s.tick * n, at.control->rest), at.control->min, at.control->max) : at.control->rest;
      return asked + static_cast<double>(behind[static_cast<std::size_t>(n)]) / trace.weight;
    };
    const double before = value(i - 1), now = value(i), after = value(i + 1);
    return Speed{(now - before) / h, (after - 2 * now + before) / (h * h)};
  };
}

void draw_strip(ImDrawList& list, const Scene& scene, const CurvePlot& plot, const SetpointTrace& trace, const SpeedLimit& limit, int order, float top) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  const CurveLayout& at = plot.front;
  const float step = std::max(1.0f, look.px(2)), hair = std::max(1.0f, look.px(1));
  const show::Time tick{1'000'000'000 / std::max(1, scene.document.rig().tick_hz)};
  const show::Channel none;
  const show::Channel& channel = at.channel ? *at.channel : none;
  const std::int64_t last = scene.document.show().length / tick;
  const auto asked = columns(at, step, tick, last, order, [&](std::int64_t i) { return speed_at(channel, *at.control, tick * i, tick); });
  const auto [actuator, allowed, about] = order == 1 ? limit.velocity : limit.acceleration;
  double most = allowed * kStripAir;
  if (actuator < 0) {
    for (const Reach& r : asked) most = std::max({most, std::abs(r.low), std::abs(r.high)});
    most = std::max(most, 1e-9);
  }
  const Strip strip{at.left, at.right, top, top + look.px(kStrip), most};
  // On the two grounds that group colours are measured on; the band's edges are lines, since those differ by little.
  fill(list, strip.left, strip.top, strip.right, strip.bottom, t.lane_other);
  const float middle = strip.y(0);
  if (actuator >= 0) {
    fill(list, strip.left, strip.y(allowed), strip.right, strip.y(-allowed), t.lane);
    for (const double edge : {allowed, -allowed}) fill(list, strip.left, strip.y(edge), strip.right, strip.y(edge) + hair, t.quiet);
  }
  fill(list, strip.left, middle, strip.right, middle + hair, t.line);
  list.PushClipRect({strip.left, strip.top}, {strip.right, strip.bottom}, true);
  draw_reach(list, strip, asked, step, at.colour, look.px(2.5f));
  if (scene.setpoints && trace.actuator >= 0 && trace.actuator < static_cast<int>(scene.setpoints->behind_deg.size()) && !scene.setpoints->behind_deg[static_cast<std::size_t>(trace.actuator)].empty()) {
    const auto count = static_cast<std::int64_t>(scene.setpoints->behind_deg[static_cast<std::size_t>(trace.actuator)].size());
    draw_reach(list, strip, columns(at, step, scene.setpoints->tick, count - 1, order, of_setpoints(scene, at, trace)), step, t.setpoint, std::max(1.0f, look.px(1.25f)));
  }
  // More than is allowed: said at the edge that it passes, since the line itself may have left the strip.
  for (std::size_t i = 0; actuator >= 0 && i < asked.size(); ++i) {
    const float x = strip.left + step * static_cast<float>(i), edge = look.px(4);
    if (asked[i].any && asked[i].high > allowed * (1 + 1e-9)) fill(list, x, strip.top, x + step, strip.top + edge, t.warning);
    if (asked[i].any && asked[i].low < -allowed * (1 + 1e-9)) fill(list, x, strip.bottom - edge, x + step, strip.bottom, t.warning);
  }
  const float playhead = std::round(at.axis.x(scene.report.time));
  fill(list, playhead - look.px(1), strip.top, playhead + look.px(1), strip.bottom, with_alpha(t.playhead, 0.7));
  list.PopClipRect();

  const std::string unit = unit_of(*at.control, order);
  const auto edge_words = [&](float y, const std::string& text) { words(list, look.fonts.body, at.left - look.px(8) - width_of(look.fonts.body, text), y, t.quiet, text); };
  if (actuator >= 0) edge_words(strip.y(allowed), number(allowed)), edge_words(strip.y(-allowed), number(-allowed));
  const std::string name = order == 1 ? "Velocity, " : "Acceleration, ";
  // On a ground of its own: the curve goes on behind it.
  const float told = width_of(look.fonts.body, name + unit) + look.px(12), half = look.fonts.body->FontSize * 0.62f;
  fill(list, at.left + look.px(4), strip.top + look.px(14) - half, std::min(at.left + told, at.right), strip.top + look.px(14) + half, with_alpha(t.lane_other, 0.85));
  words(list, look.fonts.body, at.left + look.px(8), strip.top + look.px(14), t.text, name + unit, at.right - at.left - look.px(16));
  mark(order == 1 ? "curve/velocity" : "curve/acceleration", {strip.left, strip.top}, {strip.right, strip.bottom});

  // The numbers below the pointer.
  const ImVec2 p = ImGui::GetIO().MousePos;
  if (p.x < strip.left || p.x > strip.right || p.y < strip.top || p.y > strip.bottom || !ImGui::IsWindowHovered()) return;
  const Speed s = speed_at(channel, *at.control, snapped(at.axis.time(p.x), tick), tick);
  std::string text = time_text(scene.view, snapped(at.axis.time(p.x), tick)) + "   asks " + number(order == 1 ? s.per_s : s.per_s2) + " " + unit;
  if (actuator < 0) text += "; it moves no servo, so that nothing limits it";
  else text += ", the band ends at " + number(allowed) + (about ? ": about what " : ": what ") + scene.document.rig().actuators[static_cast<std::size_t>(actuator)].name + " can do by itself";
  beside_pointer(look, text);
}

}  // namespace

void draw_strips(ImDrawList& list, const Scene& scene, const CurvePlot& plot, const SetpointTrace& trace) {
  if (plot.strips_top <= 0) return;
  const SpeedLimit limit = scene.setpoints ? limit_of(*scene.setpoints->map, scene.document.rig(), plot.front.control_index) : SpeedLimit{};
  draw_strip(list, scene, plot, trace, limit, 1, plot.strips_top);
  draw_strip(list, scene, plot, trace, limit, 2, plot.strips_top + scene.look.px(kStrip + 4));
}

}  // namespace mien::editor
