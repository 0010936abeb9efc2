// The rows of the timeline: the groups of the rig in its order, below each its controls as the show orders them (show/lane_order.hpp).
#pragma once
#include <set>
#include <string>
#include <vector>

#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::editor {

struct Lane {
  enum class Kind { group, control, layer };
  Kind kind = Kind::control;
  std::string name;                          ///< the group's or the control's
  std::size_t group = 0;                     ///< index, for the colour
  std::size_t control = 0;                   ///< index in the rig; controls only
  const show::Channel* channel = nullptr;    ///< controls only; nullptr: no keys yet
  std::vector<const show::Channel*> folded;  ///< a folded group's channels
  std::vector<int> controls;                 ///< the control's index, or those of a folded group
  bool is_folded = false;
  const show::Layer* layer = nullptr;        ///< layers only
};

/// The group under which the timeline folds layers.
inline constexpr const char* kLayers = "Layers";

/// With layers, those come first, the topmost at the top. Controls of a group that the rig does not list come last, under "Other".
std::vector<Lane> gather_lanes(const show::Rig& rig, const show::Show& show, const std::set<std::string, std::less<>>& folded, bool with_layers = false);

/// Where the lane of a control stands among those of its group, and how many they are; count 0: the rig has no such control.
struct LanePlace { std::size_t index = 0, count = 0; };
LanePlace place_of_lane(const show::Rig& rig, const show::Show& show, const std::string& control);

/// The colour index of a control: that of its group.
std::size_t group_index(const show::Rig& rig, const std::string& control);

}  // namespace mien::editor
