#include "speech/place.hpp"

#include <algorithm>
#include <memory>

#include "motion/curve.hpp"
#include "show/layer_edit.hpp"

namespace mien::speech {
namespace {

using show::Time;
using Keys = std::vector<show::Keyframe>;

void put_in_order(Keys& keys) {
  std::stable_sort(keys.begin(), keys.end(), [](const auto& a, const auto& b) { return a.time < b.time; });
  keys.erase(std::unique(keys.begin(), keys.end(), [](const auto& a, const auto& b) { return a.time == b.time; }), keys.end());
}

// The easing of the segment that a time lies in, which goes on from there where the curve is cut; a part of a Bezier is none, and becomes straight.
show::Easing easing_at(const Keys& keys, Time t) {
  show::Easing easing = show::kHold;
  for (const auto& key : keys)
    if (key.time <= t) easing = key.easing;
  return easing.kind == show::Easing::Kind::bezier ? show::kLinear : easing;
}

// The weight at a level within the range, and as it was elsewhere.
Keys weighed(const Keys& before, show::Range range, double level) {
  const show::Channel was{"", before};
  const auto whole = [&](Time t) { return !before.empty() && motion::evaluate(was, t, 0) == level; };
  if (whole(range.begin) && whole(range.end) && std::all_of(before.begin(), before.end(), [&](const auto& key) { return !range.contains(key.time) || key.value == level; })) return before;
  const Time fade = std::min(kFade, range.length() / 4);
  Keys keys;
  for (const auto& key : before)
    if (key.time < range.begin || key.time > range.end) keys.push_back(key);
  // A line that begins with the show has nothing to come from.
  if (range.begin > Time{0}) keys.push_back({range.begin, motion::evaluate(was, range.begin, 0), show::kSmooth});
  keys.push_back({range.begin > Time{0} ? range.begin + fade : Time{0}, level, show::kHold});
  keys.push_back({range.end - fade, level, show::kSmooth});
  keys.push_back({range.end, motion::evaluate(was, range.end, 0), easing_at(before, range.end)});
  put_in_order(keys);
  return keys;
}

}  // namespace

show::Show with_mouth(const show::Show& show, std::span<const Track> tracks, Time start, show::Range range, const std::string& name, show::Layer::Blend blend) {
  range.begin = std::clamp(range.begin, Time{0}, show.length), range.end = std::clamp(range.end, range.begin, show.length);
  show::Layer layer;
  const auto known = show::find_layer(show, name);
  if (known) layer = *known;
  else layer.name = name, layer.blend = blend;
  for (const auto& track : tracks) {
    auto channel = std::find_if(layer.channels.begin(), layer.channels.end(), [&](const auto& c) { return c->control == track.control; });
    if (channel == layer.channels.end()) channel = layer.channels.insert(layer.channels.end(), std::make_shared<const show::Channel>(show::Channel{track.control, {}}));
    show::Channel made{track.control, {}};
    for (const auto& key : (*channel)->keys)
      if (!range.contains(key.time)) made.keys.push_back(key);
    for (auto key : track.keys) {
      key.time += start;
      if (key.time >= Time{0} && key.time <= show.length && range.contains(key.time)) made.keys.push_back(key);
    }
    put_in_order(made.keys);
    *channel = std::make_shared<const show::Channel>(std::move(made));
  }
  if (!tracks.empty() && range.length() > Time{0} && (!known || !layer.weight_curve.empty())) layer.weight_curve = weighed(layer.weight_curve, range, known && known->weight > 0 ? known->weight : 1);
  return show::with_layer(show, std::move(layer));
}

show::Show with_weight(const show::Show& show, show::Range range, double level, const std::string& name) {
  range.begin = std::clamp(range.begin, Time{0}, show.length), range.end = std::clamp(range.end, range.begin, show.length);
  const auto known = show::find_layer(show, name);
  if (!known || range.empty()) return show;
  const bool constant = known->weight_curve.empty();
  const Keys before = constant ? Keys{{Time{0}, known->weight, show::kHold}} : known->weight_curve;
  Keys after = weighed(before, range, level);
  if (after == before) return show;
  show::Layer layer = *known;
  layer.weight_curve = std::move(after);
  return show::with_layer(show, std::move(layer));
}

}  // namespace mien::speech
