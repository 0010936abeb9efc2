// Layers among the lanes of the timeline: gather, draw, hit-test, and what a drag makes of a placement.
#pragma once
#include <optional>
#include <string>

#include "editor/timeline_parts.hpp"

namespace mien::editor {

void draw_layer(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const Lane& lane, float top);
void draw_layer_name(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const Lane& lane, float top, float y);

/// A placement under the pointer, and what a drag from there does: Drag::Kind::block and those after it.
struct BlockHit {
  std::size_t placement = 0;
  Drag::Kind part = Drag::Kind::block;
};
std::optional<BlockHit> block_at(const Scene& scene, const TimelineLayout& at, std::size_t lane, float x, float y);

/// The placement after a drag that brings what is held (the block's beginning, an end, the inner end of a fade) to show time `to`; and the words for
/// it. The beginning trims the clip, its end stretches it, or with `whole` repeats it.
struct BlockPull {
  show::Placement placement;
  std::string words;
};
BlockPull pulled(const show::Placement& was, show::Time clip_length, Drag::Kind kind, show::Time to, bool whole);

/// Says what the pointer can do on a layer's lane, where it stands on one.
void hint_layer(const Scene& scene, const TimelineLayout& at, std::size_t lane);

}  // namespace mien::editor
