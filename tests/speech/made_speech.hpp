// Sentences spoken by synthetic voices that tell when each phone begins: what alignment and mouths are held against.
#pragma once
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "speech/alignment.hpp"
#include "speech/recording.hpp"

namespace mien::speech_tests {

struct Spoken {
  std::string text;
  speech::Recording recording;
  speech::Alignment truth;  ///< phones only
};

/// flite's voices kal16, slt, rms and awb (0..3). stretch 1 is the voice's own speed, 1.3 slower. Nothing where flite isn't installed.
std::optional<Spoken> say(int voice, double stretch, const std::string& text);

/// Invented sentences with every phone of English.
extern const std::array<const char*, 12> kSentences;

/// Starts of phones against the truth: the two sequences are matched by edit distance, phones of one name only are compared.
struct Errors {
  std::vector<double> start_ms;       ///< absolute, of all matched phones
  int closures = 0, closures_hit = 0; ///< p b m of the truth; hit: overlapped by a p, b or m that was found for half of its length, 20 ms at least
  double median() const;
  double p90() const;
  double hit() const { return closures ? static_cast<double>(closures_hit) / closures : 1; }
  void add(const Errors& other);
};
Errors errors_of(const speech::Alignment& found, const speech::Alignment& truth);

}  // namespace mien::speech_tests
