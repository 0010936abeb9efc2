// Text as it is said: words in lower case, numbers and common abbreviations spelled out, punctuation left out.
#pragma once
#include <string>
#include <string_view>
#include <vector>

namespace mien::speech {

/// One word as spoken, and where in the text it stands.
struct SpokenWord {
  std::string text;        ///< lower-case letters and apostrophes; letters of other alphabets stay as they are written
  std::size_t at = 0;      ///< byte in the text at which what was written begins
  bool capitals = false;   ///< written in capitals only, two or more: spelled out letter by letter where no dictionary has it
  bool foreign = false;    ///< has letters that are not Latin
  friend bool operator==(const SpokenWord&, const SpokenWord&) = default;
};

/// English. Numbers to 999 trillion, decimals, ordinals (3rd), years (1984: nineteen eighty four), times (10:30), currencies ($5),
/// percentages, Mr., Dr., St. and their like. Latin letters with accents lose them. Words joined by hyphens are words of their own.
std::vector<SpokenWord> spoken_words(std::string_view text);

/// "forty one", "two thousand"; a negative number begins with "minus".
std::string spell_number(long long number);
std::string spell_ordinal(long long number);

}  // namespace mien::speech
