// What mien align, mien speak and mien check share: sounds and texts from files to alignments, and tables of visemes.
#pragma once
#include <filesystem>
#include <optional>
#include <string>

#include "perform/plan.hpp"
#include "show/finding.hpp"
#include "show/rig.hpp"
#include "show/show.hpp"
#include "speech/alignment.hpp"
#include "speech/recording.hpp"
#include "speech/visemes.hpp"

namespace mien::app {

/// The sound as the aligner wants it; long ones print how far they are. What is odd about the file goes to `notes`.
show::Result<speech::Recording> recording_from(const std::string& file, show::Findings& notes);

/// Words and phones of the recording from a text file (plain, WebVTT, SubRip), or from a label file (.TextGrid, .lab, .tsv) as it stands.
/// `language` as espeak-ng names it; "en", "en-us" have a model of their own, all others a synthetic voice to go by.
show::Result<speech::Alignment> alignment_from(const speech::Recording& recording, const std::string& audio_file, const std::string& text_file, const std::string& language,
                                               show::Findings& notes);

/// The table at `file` where one is named, else the one beside the rig (NAME.visemes.txt for NAME.rig.json), else one made from the rig's
/// roles. The finding says when a file is wrong or the rig has no mouth.
show::Result<speech::VisemeTable> visemes_for(const show::Rig& rig, const std::filesystem::path& rig_file, const std::string& file);

/// Where the alignment of a sound of a show lies: in the show's folder, named as the sound, ending in .TextGrid.
std::filesystem::path alignment_path(const std::filesystem::path& show_file, const std::string& sound_file);

/// Closures that the setpoints miss, and mouths that move in silence, of all sounds of the show that have an alignment beside it; a finding where
/// one of those can't be read. Nothing where there is none.
show::Findings speech_findings(const perform::Plan& plan, const std::filesystem::path& show_file);

}  // namespace mien::app
