// When every word and phone of a line sounds: what alignment finds, label files carry, and the mouth is made from. Plain values.
#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include "show/time.hpp"

namespace mien::speech {

/// Where a word's pronunciation came from.
enum class Origin : std::uint8_t {
  dictionary,
  rules,    ///< the dictionary lacks it; letter-to-sound rules made it, which err now and then
  missing,  ///< nobody knows how it sounds: it has no time and no phones
  given,    ///< by a label file or by another aligner
};

struct Word {
  show::Range range;  ///< from the start of the sound
  std::string text;   ///< as spoken: lower case, numbers spelled out
  double confidence = 1;  ///< 0..1, the mean of its phones, by their length
  Origin origin = Origin::dictionary;
  friend bool operator==(const Word&, const Word&) = default;
};

struct Phone {
  show::Range range;
  std::string label;  ///< ARPABET as CMUdict has it, without stress ("AA" .. "ZH")
  double confidence = 1;  ///< 0..1, how well the sound fits it
  int word = -1;          ///< index into words; -1 where it belongs to none
  friend bool operator==(const Phone&, const Phone&) = default;
};

/// Both in rising time without overlaps; between them is silence. A missing word is empty and stands where it should have been.
struct Alignment {
  std::vector<Word> words;
  std::vector<Phone> phones;
  show::Time length{0};        ///< of the sound
  double score_per_frame = 0;  ///< how well the sound fits the words, in the aligner's own units; 0 where it has none
  std::string made_with{};     ///< how the mouth was made of it, in the words of talk::to_text(Style); empty: of none yet, or nobody knows
  friend bool operator==(const Alignment&, const Alignment&) = default;
};

}  // namespace mien::speech
