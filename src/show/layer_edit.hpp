// Edits of poses, clips and layers: pure functions from a show to a new one that shares all it did not touch, as in show/edit.hpp. A name that
// is not there, and a number that is not finite, change nothing.
#pragma once
#include <span>
#include <string>
#include <vector>

#include "show/edit.hpp"
#include "show/rig.hpp"

namespace mien::show {

/// Adds it, or replaces the one of its name where it stands: a clip that is replaced shows wherever it is placed.
Show with_pose(const Show& show, Pose pose);
Show with_clip(const Show& show, Clip clip);
Show with_layer(const Show& show, Layer layer);  ///< a new one on top
Show without_pose(const Show& show, const std::string& name);
Show without_clip(const Show& show, const std::string& name);  ///< with its placements
Show without_layer(const Show& show, const std::string& name);

/// Under a new name, placements of a clip too; nothing changes where the new name is empty or taken.
Show with_pose_renamed(const Show& show, const std::string& name, const std::string& now);
Show with_clip_renamed(const Show& show, const std::string& name, const std::string& now);
Show with_layer_renamed(const Show& show, const std::string& name, const std::string& now);

/// Layer `name` as the index-th from below, 0 the lowest; an index beyond the top is the top.
Show with_layer_at(const Show& show, const std::string& name, std::size_t index);
Show with_layer_muted(const Show& show, const std::string& name, bool muted);
Show with_layer_weight(const Show& show, const std::string& name, double weight);  ///< its weight curve goes
Show with_weight_key(const Show& show, const std::string& layer, const Keyframe& key);
Show without_weight_key(const Show& show, const std::string& layer, Time time);

/// Placements are named by their index in the layer; a new one is put at the end.
Show with_placement(const Show& show, const std::string& layer, const Placement& placement);
Show with_placement_changed(const Show& show, const std::string& layer, std::size_t index, const Placement& placement);
Show without_placement(const Show& show, const std::string& layer, std::size_t index);

/// The keys named, as a clip that begins at the earliest of them and ends at the last (at least 1 ns long). Without keys an empty one.
Clip clip_of(const Show& show, std::span<const KeyRef> keys, std::string name);
/// Every key in [range.begin, range.end], as names for clip_of and its like. `controls` empty: of all channels.
std::vector<KeyRef> keys_within(const Show& show, Range range, std::span<const std::string> controls = {});

/// A clip's or a layer's own channels as those of a show, so that every edit of keys serves them, too; and put back.
Show opened_clip(const Show& show, const std::string& clip);
Show opened_layer(const Show& show, const std::string& layer);
Show with_clip_channels(const Show& show, const std::string& clip, std::vector<ChannelPtr> channels);
Show with_layer_channels(const Show& show, const std::string& layer, std::vector<ChannelPtr> channels);

/// A pose of what the rig's controls stand at, by the rig's order; those at rest are left out, unless `all`. group empty: the whole face.
Pose captured(const Rig& rig, std::span<const double> control, std::string name, const std::string& group = {}, bool all = false);

struct PoseKeying {
  Time at{0};
  double weight = 1;   ///< rest + weight (pose - rest)
  std::string group{};   ///< controls of this group only; empty: all that the pose has
  std::string layer{};   ///< onto a layer's own channels; empty: onto the show's
  Easing easing = kEaseInOut;
};
/// Keys the pose at a time. keyed, where given, receives the keys' names.
Show with_pose_keyed(const Show& show, const Rig& rig, const Pose& pose, const PoseKeying& keying, std::vector<KeyRef>* keyed = nullptr);

}  // namespace mien::show
