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

/// The text is refused as wrong where it fits the sound worse, by so much a frame of words, than any phones in any order would (a right text
/// fits better than those, as it knows its pauses and its neighbours: +23 to -2 on people, flite's and espeak-ng's voices; wrong ones -3 to -150),
/// or where its words fit no better than kFarOff (right ones -8 to -41, where the rest of the sound is silence to it).
inline constexpr double kWorseThanAnything = -6, kFarOff = -44;

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
