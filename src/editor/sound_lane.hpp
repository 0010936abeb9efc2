// Sounds in the timeline besides their waves: handles to move and trim them, pictures by frequency, loudness.
#pragma once
#include <optional>

#include "editor/timeline_parts.hpp"

namespace mien::editor {

struct SoundHit { std::size_t sound = 0; bool begin = false; };
/// The handle under the pointer, a strip along a sound's upper edge, and its left end; nothing elsewhere: there the playhead is dragged.
std::optional<SoundHit> sound_at(const Scene& scene, const TimelineLayout& at, float x, float y);

/// The sound as the document has it now: while it is dragged, what was loaded stands elsewhere.
DrawnSound as_placed(const Scene& scene, const DrawnSound& sound);

void draw_handles(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const DrawnSound& sound);
void draw_spectrum(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const DrawnSound& sound, const speech::Spectrogram& spectrogram);
/// At the right of the sounds' name: momentary loudness at the playhead, of all of them.
void draw_loudness(ImDrawList& list, const Scene& scene, const TimelineLayout& at);

/// What a drag makes of a sound: moved so that it begins at `to`, or with its beginning left out up to there.
show::Sound pulled(const show::Sound& was, Drag::Kind kind, show::Time to);
/// The show with that sound, and its mouth moved along where it speaks.
Edit sound_edit(const Scene& scene, std::size_t sound, const show::Sound& now, const char* doing);

/// Says what the pointer can do on a sound, word or phone; false where it stands on none.
bool hint_heard(const Scene& scene, const TimelineLayout& at, float x, float y);

}  // namespace mien::editor
