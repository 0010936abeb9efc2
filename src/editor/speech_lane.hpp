// Words and phones below the sounds: drawn, hit and dragged.
#pragma once
#include <optional>

#include "editor/panels.hpp"
#include "editor/timeline_parts.hpp"

namespace mien::editor {

/// A word or phone under the pointer.
struct SpeechHit {
  std::size_t sound = 0;
  speech::Boundary boundary;  ///< the edge that is near, or the word or phone itself
  bool edge = false;          ///< whether an edge is near enough to drag
};

void draw_speech(ImDrawList& list, const Scene& scene, const TimelineLayout& at);
/// Nothing where neither a word nor a phone is.
std::optional<SpeechHit> speech_at(const Scene& scene, const TimelineLayout& at, float x, float y);
/// In words: what it is, when, how certain, and what a drag does.
std::string about(const Scene& scene, const SpeechHit& hit);
/// Where a word gets another text.
void word_popup(const Scene& scene, TimelineState& state, Commands& out);

}  // namespace mien::editor
