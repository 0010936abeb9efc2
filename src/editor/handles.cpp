#include "editor/handles.hpp"

#include <algorithm>
#include <cmath>

#include "editor/edits.hpp"
#include "motion/curve.hpp"

namespace mien::editor {
namespace {

using show::Easing;
using Keyframes = std::vector<show::Keyframe>;

double span_ns(const Keyframes& keys, std::size_t i) noexcept { return static_cast<double>((keys[i + 1].time - keys[i].time).count()); }
double rise(const Keyframes& keys, std::size_t i) noexcept { return keys[i + 1].value - keys[i].value; }
bool level(double a, double b) noexcept { return std::abs(a - b) <= 1e-12 * std::max({1.0, std::abs(a), std::abs(b)}); }
show::Time time_of(double ns) noexcept { return show::Time{static_cast<std::int64_t>(std::llround(ns))}; }

// Units per second of the line from the key through its handle; 0 where they are one.
double slope(const HandleSide& side) noexcept { return side.dt.count() == 0 ? 0 : side.dv / show::to_seconds(side.dt); }

HandleSide handle_side(const Keyframes& keys, std::size_t segment, bool out) noexcept {
  HandleSide s;
  const Easing& e = keys[segment].easing;
  if (e.kind != Easing::Kind::hold) s.tilts = !level(keys[segment].value, keys[segment + 1].value);
  if (e.kind != Easing::Kind::bezier) return s;
  const double span = span_ns(keys, segment), r = rise(keys, segment);
  s.dt = time_of(out ? span * static_cast<double>(e.x1) : span * (static_cast<double>(e.x2) - 1));
  s.dv = out ? r * static_cast<double>(e.y1) : r * (static_cast<double>(e.y2) - 1);
  s.lie = std::abs(s.dv) <= 1e-6 * std::abs(r) ? Lie::flat : Lie::free;
  return s;
}

// Puts one end's handle, `along` (>= 0) ns and `up` away from its key towards the other.
void put_handle(Keyframes& keys, std::size_t segment, bool out, double along_ns, double up) noexcept {
  Easing& e = keys[segment].easing;
  double x = along_ns / span_ns(keys, segment), y = level(keys[segment].value, keys[segment + 1].value) ? 0 : up / rise(keys, segment);
  if (!std::isfinite(x) || !std::isfinite(y)) return;
  x = std::max(x, 0.0);
  if (x > 1) y /= x, x = 1;
  // Seen from the other end, 1 - y keeps to the same bounds, since they lie evenly about the middle of the rise.
  static_assert(1 - kMostHandle == kLeastHandle);
  if (y > kMostHandle) x *= kMostHandle / y, y = kMostHandle;
  if (y < kLeastHandle) x *= kLeastHandle / y, y = kLeastHandle;
  if (out) e.x1 = static_cast<float>(x), e.y1 = static_cast<float>(y);
  else e.x2 = static_cast<float>(1 - x), e.y2 = static_cast<float>(1 - y);
}

// The segment on one side of key i; nothing where there is none, or it holds. What is not a Bezier becomes one.
std::optional<std::size_t> segment_of(show::Channel& channel, std::size_t i, bool out) {
  if (out ? i + 1 >= channel.keys.size() : i == 0) return {};
  const std::size_t segment = out ? i : i - 1;
  channel.keys[segment].easing = as_bezier(channel, segment);
  if (channel.keys[segment].easing.kind != Easing::Kind::bezier) return {};
  return segment;
}

void lay_flat(show::Channel& channel, std::size_t i, bool out) {
  const auto segment = segment_of(channel, i, out);
  if (segment) put_handle(channel.keys, *segment, out, std::abs(static_cast<double>(handle_side(channel.keys, *segment, out).dt.count())), 0);
}

void lay_free(show::Channel& channel, std::size_t i, bool out) {
  const auto segment = segment_of(channel, i, out);
  if (!segment) return;
  // A handle that stood on its key gets a third of the way, or it would point nowhere.
  const double span = span_ns(channel.keys, *segment), has = std::abs(static_cast<double>(handle_side(channel.keys, *segment, out).dt.count()));
  const double along = has < 1 ? span / 3 : has;
  put_handle(channel.keys, *segment, out, along, rise(channel.keys, *segment) * along / span);
}

void tilt(show::Channel& channel, std::size_t segment, bool out, double slope_per_s) {
  const double along = std::abs(static_cast<double>(handle_side(channel.keys, segment, out).dt.count()));
  // Up, on the side that leads to the key, counts from the key backwards: what rises towards the key lies below it.
  put_handle(channel.keys, segment, out, along, slope_per_s * along * 1e-9);
}

void align(show::Channel& channel, std::size_t i) {
  const auto in = segment_of(channel, i, false), out = segment_of(channel, i, true);
  if (!in || !out) return;
  const HandleSide a = handle_side(channel.keys, *in, false), b = handle_side(channel.keys, *out, true);
  const double mean = a.tilts && b.tilts ? (slope(a) + slope(b)) / 2 : 0;
  tilt(channel, *in, false, mean);
  tilt(channel, *out, true, mean);
}

struct Layer {
  const show::Show& show;
  const Selection& selection;

  // change(channel, index) for each key named that is there.
  template <class Change>
  Edited each(const char* verb, const std::vector<show::KeyRef>& keys, Change change) const {
    show::Show after = show;
    std::size_t count = 0;
    const Selection mine = Selection::from(keys);
    for (auto& shared : after.channels) {
      const auto* times = shared ? mine.of(shared->control) : nullptr;
      if (!times) continue;
      show::Channel channel = *shared;
      for (const show::Time t : *times) {
        const auto at = std::lower_bound(channel.keys.begin(), channel.keys.end(), t, [](const show::Keyframe& k, show::Time when) { return k.time < when; });
        if (at == channel.keys.end() || at->time != t) continue;
        change(channel, static_cast<std::size_t>(at - channel.keys.begin()));
        ++count;
      }
      shared = std::make_shared<const show::Channel>(std::move(channel));
    }
    return {std::string(verb) + (count == 1 ? " key" : " " + std::to_string(count) + " keys"), std::move(after), selection};
  }

  Edited operator()(const LayHandles& e) const {
    const char* verb = e.lie == Lie::flat ? "Lay flat the handles of" : e.lie == Lie::aligned ? "Align the handles of" : "Free the handles of";
    return each(verb, e.keys, [&](show::Channel& channel, std::size_t i) {
      if (e.lie == Lie::aligned) return align(channel, i);
      for (const bool out : {false, true})
        if (out ? e.out : e.in) e.lie == Lie::flat ? lay_flat(channel, i, out) : lay_free(channel, i, out);
    });
  }
  Edited operator()(const PutHandle& e) const {
    return each("Set a handle of", e.keys, [&](show::Channel& channel, std::size_t i) {
      const auto segment = segment_of(channel, i, e.out);
      if (!segment) return;
      const HandleSide has = handle_side(channel.keys, *segment, e.out);
      const double along = std::abs(static_cast<double>(e.dt.value_or(has.dt).count())), up = e.dv.value_or(has.dv);
      put_handle(channel.keys, *segment, e.out, along, e.out ? up : -up);
    });
  }
  Edited operator()(const TurnHandle& e) const {
    return each("Turn a handle of", {e.key}, [&](show::Channel& channel, std::size_t i) {
      const auto segment = segment_of(channel, i, e.out);
      if (!segment) return;
      // A hand that has gone to the key's other side holds the handle on the key.
      put_handle(channel.keys, *segment, e.out, std::max(0.0, static_cast<double>(e.out ? e.dt.count() : -e.dt.count())), e.out ? e.dv : -e.dv);
      if (!e.both) return;
      const HandleSide now = handle_side(channel.keys, *segment, e.out);
      const auto other = segment_of(channel, i, !e.out);
      if (other && now.dt.count() != 0) tilt(channel, *other, !e.out, slope(now));
    });
  }
};

}  // namespace

KeySides sides_of(const show::Channel& channel, std::size_t i) noexcept {
  KeySides sides;
  if (i > 0) sides.in = handle_side(channel.keys, i - 1, false);
  if (i + 1 < channel.keys.size()) sides.out = handle_side(channel.keys, i, true);
  if (sides.in.lie != Lie::free || sides.out.lie != Lie::free) return sides;
  const double a = slope(sides.in), b = slope(sides.out);
  if (sides.in.dt.count() != 0 && sides.out.dt.count() != 0 && std::abs(a - b) <= 1e-4 * std::max(std::abs(a), std::abs(b))) sides.in.lie = sides.out.lie = Lie::aligned;
  return sides;
}

show::Easing as_bezier(const show::Channel& channel, std::size_t i) noexcept {
  constexpr float third = 1.0f / 3, rest = 2.0f / 3;
  const Easing& e = channel.keys[i].easing;
  if (e.kind == Easing::Kind::linear) return {Easing::Kind::bezier, third, third, rest, rest};
  if (e.kind != Easing::Kind::smooth) return e;
  const double r = rise(channel.keys, i), span_s = span_ns(channel.keys, i) * 1e-9;
  if (level(channel.keys[i].value, channel.keys[i + 1].value)) return {Easing::Kind::bezier, third, 0, rest, 1};
  // A cubic Hermite segment's inner control points stand a third of the time from its ends, on its tangents.
  const double from = motion::smooth_tangent(channel, i) * span_s / r, to = motion::smooth_tangent(channel, i + 1) * span_s / r;
  return {Easing::Kind::bezier, third, static_cast<float>(from / 3), rest, static_cast<float>(1 - to / 3)};
}

Edited lay_handles(const HandleEdit& edit, const show::Show& show, const Selection& selection) { return std::visit(Layer{show, selection}, edit); }

}  // namespace mien::editor
