#include "show/layer_edit.hpp"

#include <algorithm>
#include <cmath>

#include "show/cue_edit.hpp"

namespace mien::show {
namespace {

template <class Part>
using List = std::vector<std::shared_ptr<const Part>>;

template <class Part>
std::size_t place_of(const List<Part>& parts, const std::string& name) noexcept {
  std::size_t i = 0;
  while (i < parts.size() && parts[i]->name != name) ++i;
  return i;
}

template <class Part>
Show put(const Show& show, List<Part> Show::*list, Part part) {
  if (part.name.empty()) return show;
  Show result = show;
  const std::size_t i = place_of(show.*list, part.name);
  auto made = std::make_shared<const Part>(std::move(part));
  if (i < (show.*list).size()) (result.*list)[i] = std::move(made);
  else (result.*list).push_back(std::move(made));
  return result;
}

template <class Part>
Show take(const Show& show, List<Part> Show::*list, const std::string& name) {
  Show result = show;
  std::erase_if(result.*list, [&](const auto& part) { return part->name == name; });
  return result;
}

// edit(part) changes a copy of the part of that name.
template <class Part, class Edit>
Show edited(const Show& show, List<Part> Show::*list, const std::string& name, Edit edit) {
  const std::size_t i = place_of(show.*list, name);
  if (i == (show.*list).size()) return show;
  auto part = std::make_shared<Part>(*(show.*list)[i]);
  edit(*part);
  Show result = show;
  (result.*list)[i] = std::move(part);
  return result;
}

template <class Part>
Show renamed(const Show& show, List<Part> Show::*list, const std::string& name, const std::string& now) {
  if (now.empty() || place_of(show.*list, now) < (show.*list).size()) return show;
  return edited(show, list, name, [&](Part& part) { part.name = now; });
}

// Calls edit(placements) with a copy of those of every layer that places the clip.
template <class Edit>
void in_placements(Show& show, const std::string& clip, Edit edit) {
  for (LayerPtr& layer : show.layers) {
    const auto is_it = [&](const Placement& p) { return p.clip == clip; };
    if (std::none_of(layer->placements.begin(), layer->placements.end(), is_it)) continue;
    auto copy = std::make_shared<Layer>(*layer);
    edit(copy->placements, is_it);
    layer = std::move(copy);
  }
}

bool sound(const Placement& p) noexcept { return std::isfinite(p.rate) && p.rate > 0 && std::isfinite(p.weight) && p.repeats >= 1; }

Show as_show(const Show& show, Time length, const std::vector<ChannelPtr>& channels) {
  Show opened = show;
  opened.length = length;
  opened.channels = channels;
  return opened;
}

}  // namespace

Show with_pose(const Show& show, Pose pose) { return put(show, &Show::poses, std::move(pose)); }
Show with_clip(const Show& show, Clip clip) { return put(show, &Show::clips, std::move(clip)); }
Show with_layer(const Show& show, Layer layer) { return put(show, &Show::layers, std::move(layer)); }
Show without_pose(const Show& show, const std::string& name) { return take(show, &Show::poses, name); }
Show without_layer(const Show& show, const std::string& name) { return take(show, &Show::layers, name); }

Show without_clip(const Show& show, const std::string& name) {
  Show result = take(show, &Show::clips, name);
  in_placements(result, name, [](auto& placements, auto is_it) { std::erase_if(placements, is_it); });
  return result;
}

Show with_pose_renamed(const Show& show, const std::string& name, const std::string& now) {
  Show result = renamed(show, &Show::poses, name, now);
  if (place_of(result.poses, name) < result.poses.size() || place_of(result.poses, now) == result.poses.size()) return show;
  pose_renamed_in_cues(result, name, now);
  return result;
}
Show with_layer_renamed(const Show& show, const std::string& name, const std::string& now) { return renamed(show, &Show::layers, name, now); }

Show with_clip_renamed(const Show& show, const std::string& name, const std::string& now) {
  Show result = renamed(show, &Show::clips, name, now);
  if (place_of(result.clips, name) < result.clips.size() || place_of(result.clips, now) == result.clips.size()) return show;
  in_placements(result, name, [&](auto& placements, auto is_it) {
    for (Placement& p : placements)
      if (is_it(p)) p.clip = now;
  });
  clip_renamed_in_cues(result, name, now);
  return result;
}

Show with_layer_at(const Show& show, const std::string& name, std::size_t index) {
  const std::size_t i = place_of(show.layers, name);
  if (i == show.layers.size()) return show;
  Show result = show;
  LayerPtr layer = result.layers[i];
  result.layers.erase(result.layers.begin() + static_cast<std::ptrdiff_t>(i));
  result.layers.insert(result.layers.begin() + static_cast<std::ptrdiff_t>(std::min(index, result.layers.size())), std::move(layer));
  return result;
}

Show with_layer_muted(const Show& show, const std::string& name, bool muted) {
  return edited(show, &Show::layers, name, [&](Layer& layer) { layer.muted = muted; });
}

Show with_layer_weight(const Show& show, const std::string& name, double weight) {
  if (!std::isfinite(weight)) return show;
  return edited(show, &Show::layers, name, [&](Layer& layer) { layer.weight = weight, layer.weight_curve.clear(); });
}

Show with_weight_key(const Show& show, const std::string& layer, const Keyframe& key) {
  if (!std::isfinite(key.value)) return show;
  return edited(show, &Show::layers, layer, [&](Layer& l) {
    auto& keys = l.weight_curve;
    const auto at = std::lower_bound(keys.begin(), keys.end(), key.time, [](const Keyframe& k, Time t) { return k.time < t; });
    if (at != keys.end() && at->time == key.time) *at = key;
    else keys.insert(at, key);
  });
}

Show without_weight_key(const Show& show, const std::string& layer, Time time) {
  return edited(show, &Show::layers, layer, [&](Layer& l) { std::erase_if(l.weight_curve, [&](const Keyframe& k) { return k.time == time; }); });
}

Show with_placement(const Show& show, const std::string& layer, const Placement& placement) {
  if (!sound(placement)) return show;
  return edited(show, &Show::layers, layer, [&](Layer& l) { l.placements.push_back(placement); });
}

Show with_placement_changed(const Show& show, const std::string& layer, std::size_t index, const Placement& placement) {
  if (!sound(placement)) return show;
  return edited(show, &Show::layers, layer, [&](Layer& l) {
    if (index < l.placements.size()) l.placements[index] = placement;
  });
}

Show without_placement(const Show& show, const std::string& layer, std::size_t index) {
  return edited(show, &Show::layers, layer, [&](Layer& l) {
    if (index < l.placements.size()) l.placements.erase(l.placements.begin() + static_cast<std::ptrdiff_t>(index));
  });
}

Clip clip_of(const Show& show, std::span<const KeyRef> keys, std::string name) {
  Clip clip{std::move(name), Time{1}, {}};
  for (auto& strand : copy_keys(show, keys).strands) {
    clip.length = std::max(clip.length, strand.keys.back().time);
    clip.channels.push_back(std::make_shared<const Channel>(Channel{std::move(strand.control), std::move(strand.keys)}));
  }
  return clip;
}

std::vector<KeyRef> keys_within(const Show& show, Range range, std::span<const std::string> controls) {
  std::vector<KeyRef> keys;
  for (const ChannelPtr& channel : show.channels) {
    if (!controls.empty() && std::find(controls.begin(), controls.end(), channel->control) == controls.end()) continue;
    for (const Keyframe& key : channel->keys)
      if (key.time >= range.begin && key.time <= range.end) keys.push_back({channel->control, key.time});
  }
  return keys;
}

Show opened_clip(const Show& show, const std::string& clip) {
  const ClipPtr found = find_clip(show, clip);
  return found ? as_show(show, found->length, found->channels) : as_show(show, Time{0}, {});
}

Show opened_layer(const Show& show, const std::string& layer) {
  const LayerPtr found = find_layer(show, layer);
  return as_show(show, show.length, found ? found->channels : std::vector<ChannelPtr>{});
}

Show with_clip_channels(const Show& show, const std::string& clip, std::vector<ChannelPtr> channels) {
  return edited(show, &Show::clips, clip, [&](Clip& c) { c.channels = std::move(channels); });
}

Show with_layer_channels(const Show& show, const std::string& layer, std::vector<ChannelPtr> channels) {
  return edited(show, &Show::layers, layer, [&](Layer& l) { l.channels = std::move(channels); });
}

Pose captured(const Rig& rig, std::span<const double> control, std::string name, const std::string& group, bool all) {
  Pose pose{std::move(name), {}, group, {}};
  for (std::size_t c = 0; c < std::min(control.size(), rig.controls.size()); ++c) {
    const Control& of = rig.controls[c];
    if ((!group.empty() && of.group != group) || !std::isfinite(control[c]) || (!all && control[c] == of.rest)) continue;
    pose.values.push_back({of.name, control[c]});
  }
  return pose;
}

Show with_pose_keyed(const Show& show, const Rig& rig, const Pose& pose, const PoseKeying& keying, std::vector<KeyRef>* keyed) {
  if (keyed) keyed->clear();
  if (!std::isfinite(keying.weight) || (!keying.layer.empty() && !find_layer(show, keying.layer))) return show;
  Show to = keying.layer.empty() ? show : opened_layer(show, keying.layer);
  for (const Pose::Value& value : pose.values) {
    const auto control = std::find_if(rig.controls.begin(), rig.controls.end(), [&](const Control& c) { return c.name == value.control; });
    if (control == rig.controls.end() || (!keying.group.empty() && control->group != keying.group)) continue;
    to = with_key(to, value.control, {keying.at, control->rest + keying.weight * (value.value - control->rest), keying.easing});
    if (keyed) keyed->push_back({value.control, keying.at});
  }
  return keying.layer.empty() ? to : with_layer_channels(show, keying.layer, std::move(to.channels));
}

}  // namespace mien::show
