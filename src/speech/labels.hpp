// Alignments as files that other tools read and write: Praat TextGrid (tiers "words" and "phones", ARPABET), HTK labels (100 ns units,
// phones with the word on its first), and tab-separated labels (seconds, seconds, text: phones, or words; a file with a label that is no phone
// holds words).
#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "show/finding.hpp"
#include "speech/alignment.hpp"

namespace mien::speech {

enum class LabelForm : std::uint8_t { text_grid, htk, tabs };
/// By the end of the file's name: .TextGrid, .lab, .txt or .tsv, whatever the capitals; nothing for others.
std::optional<LabelForm> label_form(std::string_view file_name);
/// The three, for a person.
inline constexpr std::string_view kLabelForms = "TextGrid, lab (HTK) or txt (tab-separated)";

/// Times to the nanosecond in TextGrid and tabs, to 100 ns in HTK. Words that are missing are left out of all, confidences and origins, too.
/// Tabs hold the phones, or with `words` those. How the mouth was made is in TextGrids alone, as a third tier, "made with", where it is known.
std::string write_labels(const Alignment& alignment, LabelForm form, bool words = false);

/// Long and short TextGrids in UTF-8; tiers of any case, others are passed over. What is no ARPABET phone ("sil", "sp", "SIL", "", "#") is silence; an
/// unknown label is a finding, as are times that run backward, overlaps and what is no such file, each with its line or interval. Phones get
/// the word within which their middle lies. Confidences are 1, origins Origin::given.
show::Result<Alignment> read_labels(std::string_view text, LabelForm form, const std::string& file = {});

}  // namespace mien::speech
