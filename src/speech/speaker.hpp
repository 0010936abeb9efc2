// A synthetic voice for texts in any language that espeak-ng speaks: run as a program (speech/espeak), it tells when each phone begins.
#pragma once
#include <filesystem>
#include <string>
#include <string_view>

#include "show/finding.hpp"
#include "speech/alignment.hpp"
#include "speech/recording.hpp"

namespace mien::speech {

struct Speech {
  Recording recording;
  Alignment alignment;  ///< words as written, phones in ARPABET by what looks most like them; origins Origin::given
};

/// The ARPABET phone that looks most like a sound in the International Phonetic Alphabet: length marks and accents are passed over; empty
/// for pauses, glottal stops and signs that are none.
std::string phone_of_ipa(std::string_view name);

/// Runs `program` (mien_espeak) and waits for it. `language` as espeak-ng names voices: "de", "fr", "en-gb". Findings: the program isn't
/// there, no such language, nothing was spoken.
show::Result<Speech> speak(const std::filesystem::path& program, const std::string& language, int words_per_minute, const std::string& text);

}  // namespace mien::speech
