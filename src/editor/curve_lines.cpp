// The lines and marks of one channel in the curve view.
#include <algorithm>
#include <cmath>

#include "editor/curve_parts.hpp"
#include "editor/draw.hpp"
#include "editor/key_runs.hpp"
#include "motion/curve.hpp"

namespace mien::editor {
namespace {

constexpr std::size_t kMostMarks = 400;

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

}  // namespace

// One point every two pixels where keys are sparse; where a column holds many keys, the reach of their values.
void draw_authored(ImDrawList& list, const Scene& scene, const CurveLayout& at, std::size_t behind, std::vector<ImVec2>& points) {
  const bool front = behind == 0;
  const show::Channel empty;
  const show::Channel& channel = at.channel ? *at.channel : empty;
  const auto earlier = [](const show::Keyframe& k, show::Time t) { return k.time < t; };
  const Colour colour = at.colour;  // what stands behind is thin, not faint: a faint line would fall below the contrast that shapes need (theme.hpp)
  // However many stand behind, together they cost what two do.
  const float coarse = std::max(1.0f, static_cast<float>(behind) * 0.5f), step = std::max(1.0f, scene.look.px(front ? 2 : 3 * coarse)), thickness = scene.look.px(front ? 3.5f : 1.75f);
  points.clear();
  auto key = std::lower_bound(channel.keys.begin(), channel.keys.end(), at.axis.time(at.left), earlier);
  for (float x = at.left; x <= at.right; x += step) {
    const auto end = std::lower_bound(key, channel.keys.end(), at.axis.time(x + step), earlier);
    if (end - key > (front ? 3 : 1)) {
      const auto [low, high] = std::minmax_element(key, end, [](const auto& a, const auto& b) { return a.value < b.value; });
      fill(list, x, at.y(high->value) - 1, x + step, at.y(low->value) + 1, colour);
      if (points.size() > 1) list.AddPolyline(points.data(), static_cast<int>(points.size()), colour, 0, thickness);
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
  if (points.size() > 1) list.AddPolyline(points.data(), static_cast<int>(points.size()), colour, 0, thickness);
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

void draw_curve_keys(ImDrawList& list, const Scene& scene, const CurveLayout& at, std::size_t behind) {
  const bool front = behind == 0;
  const std::size_t most = front ? kMostMarks : kMostMarks / (2 * behind);
  if (!at.channel) return;
  const auto& keys = at.channel->keys;
  std::vector<KeyRun> runs;
  gather_runs(std::span<const show::Keyframe>(keys), at.axis, kMergePx * scene.look.scale, runs);
  std::size_t marks = 0;
  for (const KeyRun& run : runs) marks += run.last - run.first + 1;
  const float r = scene.look.px(front ? 5 : 3.5f);
  const Theme& t = scene.look.theme;
  for (const KeyRun& run : runs) {
    if (marks > most && (!front || !run.single())) continue;  // behind, where there are too many, the line alone says it
    for (std::size_t i = run.first; i <= run.last; ++i) {
      const float x = at.axis.x(keys[i].time), y = at.y(keys[i].value);
      if (front && i + 1 < keys.size() && shows_handles(scene, *at.channel, i)) {
        const Handles h = handles_of(at, i);
        const ImVec2 next{at.axis.x(keys[i + 1].time), at.y(keys[i + 1].value)};
        list.AddLine({x, y}, h.out, t.quiet, std::max(1.0f, scene.look.px(1)));
        list.AddLine(next, h.in, t.quiet, std::max(1.0f, scene.look.px(1)));
        key_mark(list, h.out.x, h.out.y, scene.look.px(4), show::Easing::Kind::linear, t.text);
        key_mark(list, h.in.x, h.in.y, scene.look.px(4), show::Easing::Kind::linear, t.text);
      }
      const bool chosen = scene.document.selection().contains(at.channel->control, keys[i].time);
      if (front || chosen) key_mark(list, x, y, r + scene.look.px(1.5f), keys[i].easing.kind, t.lane);
      key_mark(list, x, y, r, keys[i].easing.kind, chosen ? t.accent : at.colour);
    }
  }
}

SetpointTrace trace_of(const perform::RigMap& map, int control) {
  SetpointTrace trace;
  for (const auto& i : map.influences)
    if (i.control == control && (trace.actuator < 0 || std::abs(i.deg_per_unit) > std::abs(trace.weight))) trace = {i.actuator, i.deg_per_unit, true};
  trace.about = trace.actuator >= 0 && !straight_to(map, trace.actuator);
  return trace;
}

SpeedLimit limit_of(const perform::RigMap& map, const show::Rig& rig, int control) {
  SpeedLimit limit;
  for (const auto& i : map.influences) {
    if (i.control != control || i.deg_per_unit == 0 || i.actuator >= static_cast<int>(rig.actuators.size())) continue;
    const show::Actuator& a = rig.actuators[static_cast<std::size_t>(i.actuator)];
    const double per_s = a.velocity_deg_s / std::abs(i.deg_per_unit), per_s2 = a.acceleration_deg_s2 / std::abs(i.deg_per_unit);
    if (limit.velocity.actuator < 0 || per_s < limit.velocity.most) limit.velocity = {i.actuator, per_s, !straight_to(map, i.actuator)};
    if (limit.acceleration.actuator < 0 || per_s2 < limit.acceleration.most) limit.acceleration = {i.actuator, per_s2, !straight_to(map, i.actuator)};
  }
  return limit;
}

Speed speed_at(const show::Channel& channel, const show::Control& control, show::Time t, show::Time tick) noexcept {
  const auto value = [&](show::Time at) { return std::clamp(motion::evaluate(channel, at, control.rest), control.min, control.max); };
  const double before = value(t - tick), now = value(t), after = value(t + tick), h = show::to_seconds(tick);
  return {(now - before) / h, (after - 2 * now + before) / (h * h)};
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

}  // namespace mien::editor
