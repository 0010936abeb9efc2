#include "live/take.hpp"

#include <algorithm>
#include <cmath>

#include "motion/curve.hpp"
#include "show/layer_edit.hpp"

namespace mien::live {
namespace {

constexpr show::Time kStep{10'000'000};       // in which an older curve is sampled where a stretch cuts through one of its segments
constexpr double kKeptError_share = 0.001;    // and how exactly what remains of it is kept

const show::Control* control_of(const show::Rig& rig, const std::string& name) noexcept {
  const auto found = std::find_if(rig.controls.begin(), rig.controls.end(), [&](const auto& c) { return c.name == name; });
  return found == rig.controls.end() ? nullptr : &*found;
}

std::vector<show::Range> joined(const std::vector<show::Range>& stretches, show::Time nearer) {
  std::vector<show::Range> all;
  for (const auto& s : stretches) {
    if (!all.empty() && s.begin - all.back().end < nearer) all.back().end = s.end;
    else all.push_back(s);
  }
  return all;
}

void append(std::vector<show::Keyframe>& keys, const std::vector<show::Keyframe>& more) {
  for (const auto& key : more)
    if (keys.empty() || key.time > keys.back().time) keys.push_back(key);
}

// What the older curve did from `from` to `to`, both included, as keys of its own.
std::vector<show::Keyframe> kept(const show::Channel& old, show::Time from, show::Time to, const show::Control& control) {
  if (to < from) return {};
  std::vector<motion::Sample> samples;
  for (show::Time t = from; t < to; t += kStep) samples.push_back({t, motion::evaluate(old, t, control.rest)});
  samples.push_back({to, motion::evaluate(old, to, control.rest)});
  if (control.states.empty()) return motion::simplified(samples, kKeptError_share * (control.max - control.min));
  return {{to, samples.back().value, show::kHold}};
}

// The old curve with a stretch of it replaced.
show::Channel replaced(const show::Channel& old, show::Range stretch, const std::vector<show::Keyframe>& keys, const show::Control& control) {
  show::Channel channel{old.control, {}};
  const auto from = std::find_if(old.keys.begin(), old.keys.end(), [&](const auto& k) { return k.time >= stretch.begin; });
  const auto to = std::find_if(old.keys.begin(), old.keys.end(), [&](const auto& k) { return k.time > stretch.end; });
  channel.keys.assign(old.keys.begin(), from);
  const show::Time before = stretch.begin - kStep, after = stretch.end + kStep;
  if (from != old.keys.begin() && (from - 1)->time < before) {
    channel.keys.pop_back();
    append(channel.keys, kept(old, (from - 1)->time, before, control));
  } else if (from == old.keys.begin() && before >= show::Time{0}) {
    channel.keys.push_back({before, motion::evaluate(old, before, control.rest), show::kLinear});
  }
  if (!channel.keys.empty()) channel.keys.back().easing = control.states.empty() ? show::kLinear : show::kHold;
  append(channel.keys, keys);
  if (channel.keys.back().time < stretch.end) {  // one that stood still at last has no key at its end
    channel.keys.back().easing = show::kHold;
    channel.keys.push_back({stretch.end, channel.keys.back().value, show::kHold});
  }
  channel.keys.back().easing = control.states.empty() ? show::kLinear : show::kHold;
  if (to == old.keys.end()) append(channel.keys, {{after, motion::evaluate(old, after, control.rest), show::kHold}});
  else if (to != old.keys.begin() && after < to->time) append(channel.keys, kept(old, after, to->time - show::Time{1}, control));
  append(channel.keys, {to, old.keys.end()});
  return channel;
}

std::string unused_name(const show::Show& show, const std::string& wish) {
  std::string name = wish;
  for (int n = 2; find_layer(show, name); ++n) name = wish + " (" + std::to_string(n) + ")";
  return name;
}

}  // namespace

void note(TakeTick& tick, const HandProgram& program, const HandState& state, std::span<const double> control) noexcept {
  tick.count = static_cast<int>(std::min<std::size_t>(program.reach.size(), kMostRecorded));
  tick.touched = 0, tick.mark = program.reach_mark;
  for (int n = 0; n < tick.count; ++n) {
    const auto c = static_cast<std::size_t>(program.reach[static_cast<std::size_t>(n)]);
    tick.value[static_cast<std::size_t>(n)] = static_cast<float>(control[c]);
    if (state.touched[c]) tick.touched |= std::uint64_t{1} << n;
  }
}

show::Range span_of(const Take& take) noexcept {
  if (take.tracks.empty() || take.tracks.front().samples.empty()) return {};
  return {take.tracks.front().samples.front().time, take.tracks.front().samples.back().time};
}

std::vector<std::string> moved_by(const HandMap& map, const show::Show& show) {
  std::vector<std::string> names;
  const auto add = [&](const std::string& name) {
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  };
  for (const Knob& knob : map.knobs) add(knob.control);
  for (const Trigger& t : map.triggers) {
    if (t.what == Trigger::What::pose)
      if (const auto pose = find_pose(show, t.name))
        for (const auto& v : pose->values) add(v.control);
    if (t.what == Trigger::What::clip)
      if (const auto clip = find_clip(show, t.name))
        for (const auto& channel : clip->channels) add(channel->control);
  }
  return names;
}

Takes::Takes(const HandProgram& program, std::vector<std::string> spared) : spared_(std::move(spared)), mark_(program.reach_mark) {
  for (const int c : program.reach) controls_.push_back(program.rig->controls[static_cast<std::size_t>(c)].name);
  if (controls_.size() > kMostRecorded) controls_.resize(kMostRecorded);
}

bool Takes::add(const TakeTick& tick) {
  if (tick.mark != 0 && tick.mark != mark_) return false;
  if (tick.time < show::Time{0}) return true;
  if (wound_.empty() || (!wound_.back().empty() && tick.time <= wound_.back().back().time)) wound_.emplace_back();
  wound_.back().push_back(tick);
  return true;
}

std::vector<Take> Takes::takes() const {
  std::vector<Take> takes;
  for (const auto& ticks : wound_) {
    Take take;
    for (std::size_t n = 0; n < controls_.size(); ++n) {
      if (std::find(spared_.begin(), spared_.end(), controls_[n]) != spared_.end()) continue;
      Track track{controls_[n], {}, {}};
      const std::uint64_t bit = std::uint64_t{1} << n;
      bool on = false;
      for (const TakeTick& tick : ticks) {
        if (n >= static_cast<std::size_t>(tick.count)) continue;
        track.samples.push_back({tick.time, static_cast<double>(tick.value[n])});
        const bool now = tick.touched & bit;
        if (now && !on) track.touched.push_back({tick.time, tick.time});
        if (now) track.touched.back().end = tick.time;
        on = now;
      }
      if (!track.touched.empty()) take.tracks.push_back(std::move(track));
    }
    if (take.tracks.empty()) continue;
    take.name = "take " + std::to_string(takes.size() + 1);
    takes.push_back(std::move(take));
  }
  return takes;
}

std::vector<show::Keyframe> keys_of(const Track& track, const show::Control& control, show::Range within, const Keying& keying) {
  std::vector<motion::Sample> samples;
  for (const auto& s : track.samples)
    if (s.time >= within.begin && s.time <= within.end) samples.push_back({s.time, std::clamp(s.value, control.min, control.max)});
  if (control.states.empty()) return motion::simplified(samples, keying.error_share * (control.max - control.min));
  std::vector<show::Keyframe> keys;
  for (const auto& s : samples)
    if (const double value = std::round(s.value); keys.empty() || keys.back().value != value) keys.push_back({s.time, value, show::kHold});
  return keys;
}

show::Show into_channels(const show::Show& show, const show::Rig& rig, const Take& take, const Keying& keying) {
  show::Show made = show;
  for (const Track& track : take.tracks) {
    const show::Control* control = control_of(rig, track.control);
    if (!control) continue;
    const auto place = std::find_if(made.channels.begin(), made.channels.end(), [&](const auto& c) { return c->control == track.control; });
    show::Channel channel = place == made.channels.end() ? show::Channel{track.control, {}} : **place;
    for (const auto& stretch : joined(track.touched, keying.join)) {
      const auto keys = keys_of(track, *control, stretch, keying);
      if (!keys.empty()) channel = replaced(channel, stretch, keys, *control);
    }
    auto fresh = std::make_shared<const show::Channel>(std::move(channel));
    if (place == made.channels.end()) made.channels.push_back(std::move(fresh));
    else *place = std::move(fresh);
  }
  return made;
}

show::Show into_layer(const show::Show& show, const show::Rig& rig, const Take& take, const Keying& keying, show::Time fade) {
  show::Layer layer;
  layer.name = unused_name(show, take.name.empty() ? "take" : take.name);
  const show::Range span = span_of(take);
  for (const Track& track : take.tracks)
    if (const show::Control* control = control_of(rig, track.control))
      layer.channels.push_back(std::make_shared<const show::Channel>(show::Channel{track.control, keys_of(track, *control, span, keying)}));
  if (layer.channels.empty()) return show;
  if (span.begin > fade) layer.weight_curve.push_back({span.begin - fade, 0, show::kEaseInOut});
  layer.weight_curve.push_back({span.begin, 1, show::kHold});
  if (span.end > span.begin) layer.weight_curve.push_back({span.end, 1, show::kEaseInOut});
  layer.weight_curve.push_back({span.end + fade, 0, show::kHold});
  if (span.end == span.begin) layer.weight_curve[layer.weight_curve.size() - 2].easing = show::kEaseInOut;
  return show::with_layer(show, std::move(layer));
}

}  // namespace mien::live
