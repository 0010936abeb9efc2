// A mouth from the sound alone, for lines without a text: any voice, any language, puppets' squeaks.
//
// The jaw follows the level between 600 and 1500 Hz, where open vowels are loud: gated at the pauses, compressed (decibels over the line's own range, so that
// loud and soft passages both open it), and smoothed to what the jaw can do. Lips go wide where more of the sound lies at 1.6..3.2 kHz than at
// 0.6..1.5 kHz (front vowels, whose second formant is high) and round where less does. A gap of 40 to 160 ms between two loud stretches is a stop's closure;
// the lips meet there.
#pragma once
#include <span>
#include <vector>

#include "speech/alignment.hpp"
#include "speech/mouth.hpp"
#include "speech/recording.hpp"
#include "speech/visemes.hpp"

namespace mien::speech {

/// Frame by frame (kFrame_s), each 0..1.
struct Heeded {
  std::vector<double> jaw;     ///< how open
  std::vector<double> spread;  ///< 0 round .. 0.5 neither .. 1 wide; 0.5 in pauses
  std::vector<show::Range> closures;
};
Heeded heed(const Recording& recording);

struct MouthOfSound {
  std::vector<Track> tracks;
  Alignment alignment;  ///< no words; one phone "AH" for each voiced stretch, "P" for each closure, so that mien check knows where speech is
};
/// Poses come from the table: jaw and lips go from its viseme 0 toward A: as open as the jaw is, toward I where wide and U where round, and to p b m in closures.
MouthOfSound mouth_of_sound(const Recording& recording, const VisemeTable& table, std::span<const Ability> abilities, const Manner& manner = {});

}  // namespace mien::speech
