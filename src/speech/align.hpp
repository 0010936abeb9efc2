// Words to phones: when each word of a text, and each of its sounds, is heard in a recording.
//
// Forced alignment with PocketSphinx's English model (speech/sphinx.hpp): every pronunciation of every word, in their order, with a
// pause allowed between words; the path that fits the sound best tells the times. Sounds longer than about a minute are cut at
// pauses: each piece is fitted to as many of the next words as it holds. Text with times of its own (speech/timed_text.hpp) is fitted
// within those. Phone starts lie within 10 ms of the truth at the median, 30 ms at the 90th percentile (tests/speech/align_test.cpp).
#pragma once
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "show/finding.hpp"
#include "speech/alignment.hpp"
#include "speech/recording.hpp"

namespace mien::speech {

/// A passage of text, and when it is said where that is known.
struct Line {
  std::string text;
  std::optional<show::Range> when;
  friend bool operator==(const Line&, const Line&) = default;
};

/// Told how much of the sound is done, 0..1; false gives up.
using Progress = std::function<bool(double done)>;

/// Below this score per frame of words the text is not what is said. Right ones score -8 to -19, wrong ones -31 and less, on the voices
/// and people of tests/speech/align_test.cpp.
inline constexpr double kWrongText = -28;

/// Words that are not in the dictionary are in the result with their origin, and each is a note in `notes`. Findings, with the file as named
/// by `file`: nothing installed, no sound, silence, a steady noise, no words, words of another script, more words than the sound can
/// hold, a text that isn't what is said; a note where `progress` gave up.
show::Result<Alignment> align(const Recording& recording, std::span<const Line> lines, const std::string& file = {}, show::Findings* notes = nullptr,
                              const Progress& progress = {});

/// The same for a text without times.
inline show::Result<Alignment> align(const Recording& recording, const std::string& text, const std::string& file = {}, show::Findings* notes = nullptr,
                                     const Progress& progress = {}) {
  const Line line{text, {}};
  return align(recording, std::span(&line, 1), file, notes, progress);
}

}  // namespace mien::speech
