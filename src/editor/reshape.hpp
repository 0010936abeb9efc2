// Edits that give chosen keys another shape in time or value; one kind of those in editor/edits.hpp.
#pragma once
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "show/edit.hpp"
#include "show/rig.hpp"

namespace mien::editor {

struct Edited;
struct Selection;

/// Times about a pivot, values about each control's rest or, where given, about a share of its range (0: min, 1: max). Keys keep to the show and to their control's range; where two of a channel would come to
/// stand at one time, the later of them stays.
struct ScaleKeys {
  std::vector<show::KeyRef> keys;
  double time_factor = 1, value_factor = 1;  ///< not finite, or time not above 0: as 1
  show::Time pivot{0};
  std::optional<double> value_pivot{};
};
/// What was last comes first; easings are turned round, too, so that the curve is the same one read backwards. A hold stays a hold: its step then
/// stands at the segment's other end.
struct ReverseKeys { std::vector<show::KeyRef> keys; };
/// Left and right changed over, as show/mirror.hpp says.
struct MirrorKeys { std::vector<show::KeyRef> keys; };
/// The same again, so much behind its last key; the copies are chosen then. What doesn't fit into the show is left out.
struct RepeatKeys { std::vector<show::KeyRef> keys; show::Time gap{0}; };
/// The control's lane to that place within its group (show/lane_order.hpp); empty channels are made only where `make_channels`.
struct MoveLane { std::string control; std::size_t index = 0; bool make_channels = true; };

using Reshaping = std::variant<ScaleKeys, ReverseKeys, MirrorKeys, RepeatKeys, MoveLane>;

Edited reshape(const Reshaping& edit, const show::Show& show, const show::Rig& rig, const Selection& selection);

}  // namespace mien::editor
