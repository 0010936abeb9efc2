// Left and right changed over. A rig doesn't say which controls are pairs, so it is derived: by name first ("smile_left" and "smile_right"),
// else by what a control does to the parts of the face that the axes' roles name. A control that turns something to a side by itself (gaze_yaw,
// jaw to the left) is mirrored about its rest.
#pragma once
#include <vector>

#include "show/layer_edit.hpp"

namespace mien::show {

struct Mirror {
  int other = 0;       ///< index of the control that takes its value; itself where it has no twin
  bool turned = false; ///< its distance from rest changes sign
};
/// By control index of the rig.
std::vector<Mirror> mirrors_of(const Rig& rig);

/// What is not in the rig stays as it is. A value is carried over as its distance from rest.
Pose mirrored(const Pose& pose, const Rig& rig);
Clip mirrored(const Clip& clip, const Rig& rig);
/// The show's own keys named, changed over in place: each goes to its twin's channel at the same time.
Show with_keys_mirrored(const Show& show, const Rig& rig, std::span<const KeyRef> keys, std::vector<KeyRef>* now = nullptr);

}  // namespace mien::show
