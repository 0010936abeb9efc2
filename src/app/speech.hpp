// What mien align, mien speak and mien check share: sounds and texts from files to alignments, and tables of visemes.
#pragma once
#include <filesystem>
#include <string>

#include "perform/plan.hpp"
#include "show/finding.hpp"
#include "speech/alignment.hpp"
#include "speech/recording.hpp"

namespace mien::app {

/// The sound as the aligner wants it; long ones print how far they are. What is odd about the file goes to `notes`.
show::Result<speech::Recording> recording_from(const std::string& file, show::Findings& notes);

/// Words and phones of the recording from a text file (plain, WebVTT, SubRip), or from a label file (.TextGrid, .lab, .tsv) as it stands.
/// `heard` as talk::alignment_of has it. `language` as espeak-ng names it; "en", "en-us" have a model of their own, all others a synthetic voice to go by.
show::Result<speech::Alignment> alignment_from(const speech::Recording& recording, const std::string& audio_file, const std::string& text_file, const std::string& language,
                                               show::Findings& notes, std::optional<show::Range> heard = {});

/// Closures that the setpoints miss, and mouths that move in silence, of all sounds of the show that have an alignment beside it, as far as they are heard; a finding where
/// one of those can't be read, where keys of another hand lie on a mouth that speaks, and where a sound's trims leave nothing of it.
show::Findings speech_findings(const perform::Plan& plan, const std::filesystem::path& show_file);

}  // namespace mien::app
