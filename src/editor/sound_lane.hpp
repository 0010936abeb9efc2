// Sounds in the timeline besides their waves: handles to move and trim them, pictures by frequency, loudness.
#pragma once
#include <optional>

#include "editor/timeline_parts.hpp"

namespace mien::editor {

struct SoundHit { std::size_t sound = 0; Drag::Kind what = Drag::Kind::sound; };
/// The handle under the pointer, a strip along a sound's upper edge, or one of its ends (Drag::Kind: sound, sound_begin, sound_end); nothing elsewhere: there the playhead is dragged.
std::optional<SoundHit> sound_at(const Scene& scene, const TimelineLayout& at, float x, float y);

/// The sound as the document has it now: while it is dragged, what was loaded stands elsewhere.
DrawnSound as_placed(const Scene& scene, const DrawnSound& sound);

void draw_handles(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const DrawnSound& sound);
void draw_spectrum(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const DrawnSound& sound, const speech::Spectrogram& spectrogram);
/// At the right of the sounds' name: momentary loudness at the playhead, of all of them.
void draw_loudness(ImDrawList& list, const Scene& scene, const TimelineLayout& at);

/// What a drag makes of a sound whose file is that long: moved so that it begins at `to`, or with its beginning left out up to there, or its ending from there. Some of it stays.
show::Sound pulled(const show::Sound& was, Drag::Kind kind, show::Time to, show::Time length);
/// The time in the show that such a drag holds: where the sound begins, or ends.
show::Time held_of(const show::Sound& was, Drag::Kind kind, show::Time length);
/// What is said beside the pointer meanwhile.
std::string pulled_text(const Scene& scene, const show::Sound& now, Drag::Kind kind, show::Time length);
/// Of the file of a sound of the show; 0 where it isn't read (yet).
show::Time length_of(const Scene& scene, std::size_t sound);
/// The show with that sound, and its mouth moved along where it speaks.
Edit sound_edit(const Scene& scene, std::size_t sound, const show::Sound& now, const char* doing);

/// Says what the pointer can do on a sound, word or phone; false where it stands on none.
bool hint_heard(const Scene& scene, const TimelineLayout& at, float x, float y);

}  // namespace mien::editor
