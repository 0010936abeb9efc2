// How a line is said: its pitch, and which words carry its accents.
//
// Pitch by YIN (de Cheveigne & Kawahara 2002, "YIN, a fundamental frequency estimator for speech and music", JASA 111): the squared difference of
// the sound with itself a lag later, over 25 ms, divided by its mean over all shorter lags; the first dip under 0.15 (else the deepest, under 0.35) is the
// period, refined by a parabola. Looked for between 60 and 400 Hz, in vowels alone.
//
// An accent is a word whose stressed vowel stands out in what people hear stress by, pitch, loudness and length (Fry 1958, "Experiments in the
// perception of stress"): their sum, each in its own step (3 semitones, 6 dB, twice as long), measured from the line's median vowel, is above the mean of
// its phrase and of both neighbours. Every phrase has at least one, its strongest word. Those weights are ours. Which vowel is stressed is flite's lexicon's word, the word's longest vowel where it has none.
#pragma once
#include <span>
#include <vector>

#include "speech/alignment.hpp"
#include "speech/recording.hpp"

namespace mien::speech {

/// Words between two pauses of at least kPhrasePause_s, [first, end); its range from its first phone to its last.
struct Phrase { std::size_t first = 0, end = 0; show::Range range; };
inline constexpr double kPhrasePause_s = 0.2;
/// Words without a time belong to the phrase before them. A line with phones but no words (a mouth from the sound alone) has phrases without words.
std::vector<Phrase> phrases_of(const Alignment& alignment);

/// Hz around the middle of `samples` (at least 60 ms for the lowest voice); 0 where nothing repeats.
double pitch_hz(std::span<const float> samples, int rate_hz) noexcept;

struct Accent {
  std::size_t word = 0;
  show::Range vowel;    ///< the stressed one
  double strength = 0;  ///< 0..1
};
/// In rising time. The recording is the one that was aligned.
std::vector<Accent> accents_of(const Alignment& alignment, const Recording& recording);

}  // namespace mien::speech
