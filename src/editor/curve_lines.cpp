// The lines and marks of one channel in the curve view.
#include <algorithm>
#include <array>
#include <cmath>

#include "editor/curve_parts.hpp"
#include "editor/draw.hpp"
#include "editor/key_runs.hpp"
#include "motion/curve.hpp"

namespace mien::editor {
namespace {

constexpr std::size_t kMostMarks = 400, kFewBehind = 600;

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

// Columns side by side, each from its top to its bottom, in few large pieces: what all of a handful share is one rectangle, and only what sticks out of it is as narrow as they are. A
// processor that draws takes as long for a column as for a rectangle four times as wide.
class Columns {
 public:
  Columns(ImDrawList& list, float wide, Colour colour) : list_(list), wide_(wide), colour_(colour) {}
  ~Columns() { flush(); }
  Columns(const Columns&) = delete;
  Columns& operator=(const Columns&) = delete;
  void add(float x, float top, float bottom) {
    if (count_ == kTogether) flush();
    if (count_ == 0) left_ = x;
    all_[count_++] = {top, bottom};
  }
  void flush() {
    ImVec2 shared = all_[0];
    for (std::size_t i = 1; i < count_; ++i) shared = {std::max(shared.x, all_[i].x), std::min(shared.y, all_[i].y)};
    const bool joined = count_ > 1 && shared.y - shared.x > 4 * wide_;
    if (joined) fill(list_, left_, shared.x, left_ + wide_ * static_cast<float>(count_), shared.y, colour_);
    for (std::size_t i = 0; i < count_; ++i) {
      const float x = left_ + wide_ * static_cast<float>(i);
      if (!joined) fill(list_, x, all_[i].x, x + wide_, all_[i].y, colour_);
      if (joined && all_[i].x < shared.x) fill(list_, x, all_[i].x, x + wide_, shared.x, colour_);
      if (joined && all_[i].y > shared.y) fill(list_, x, shared.y, x + wide_, all_[i].y, colour_);
    }
    count_ = 0;
  }

 private:
  static constexpr std::size_t kTogether = 12;
  ImDrawList& list_;
  float wide_, left_ = 0;
  Colour colour_;
  std::array<ImVec2, kTogether> all_{};  // top and bottom
  std::size_t count_ = 0;
};

}  // namespace

// One point every two pixels where keys are sparse; where a column as wide as the line is thick holds many keys, the reach of their values. Columns stand on multiples of their
// width, which is four pixels on most screens: a renderer looks at four by four pixels at once, and again for every column that touches them.
void draw_authored(ImDrawList& list, const Scene& scene, const CurveLayout& at, std::size_t behind, std::vector<ImVec2>& points) {
  const bool front = behind == 0;
  const show::Channel empty;
  const show::Channel& channel = at.channel ? *at.channel : empty;
  const std::span<const show::Keyframe> keys(channel.keys);
  const auto end_before = [&](std::size_t from, show::Time t) { return from == keys.size() || keys[from].time >= t ? from : gallop(keys, from, t - show::Time{1}) + 1; };
  const Colour colour = at.colour;  // what stands behind is thin, not faint: a faint line would fall below the contrast that shapes need (theme.hpp)
  // However many stand behind, together they cost what two do; and few keys are shown as the curve that they are.
  const std::size_t in_sight = end_before(0, at.axis.time(at.left));
  const bool few = !front && end_before(in_sight, at.axis.time(at.right)) - in_sight <= kFewBehind / behind;
  const float coarse = std::max(1.0f, few ? std::min(2.0f, static_cast<float>(behind) * 0.5f) : static_cast<float>(behind) * 0.5f), thickness = scene.look.px(front ? 3.5f : 1.75f);
  const float step = std::max(1.0f, scene.look.px(front ? 2 : 4 * std::round(0.75f * coarse))), wide = front ? 2 * step : step;
  points.clear();
  const auto sample = [&](float x, std::size_t first, std::size_t end) {
    points.push_back({x, at.y(motion::evaluate(channel, at.axis.time(x), at.control->rest))});
    // A key inside the step is passed through exactly, so that edges and peaks keep their place.
    for (std::size_t k = first; k != end; ++k) {
      const float kx = at.axis.x(keys[k].time);
      if (k > 0 && keys[k - 1].easing.kind == show::Easing::Kind::hold) points.push_back({kx, at.y(keys[k - 1].value)});
      points.push_back({kx, at.y(keys[k].value)});
    }
  };
  const float left = std::floor(at.left / wide) * wide;
  Columns columns(list, wide, colour);
  std::size_t key = end_before(0, at.axis.time(left));
  for (float x = left; x <= at.right; x += wide) {
    const std::size_t end = end_before(key, at.axis.time(x + wide));
    if (at.reach && !few && end - key > (front ? 6 : 1)) {
      const auto [low, high] = at.reach->of(key, end);
      columns.add(x, at.y(high) - 1, at.y(low) + 1);
      thin_line(list, points, colour, thickness);
      points.clear();
    } else if (front) {
      columns.flush();
      const std::size_t middle = end_before(key, at.axis.time(x + step));
      sample(x, key, middle), sample(x + step, middle, end);
    } else {
      columns.flush();
      sample(x, key, end);
    }
    key = end;
  }
  thin_line(list, points, colour, thickness);
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
  thin_line(list, points, scene.look.theme.setpoint, std::max(1.0f, scene.look.px(1.25f)));
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
