// The files of a talking head: texts, labels beside the show, tables of visemes beside the rig.
#pragma once
#include <filesystem>
#include <optional>
#include <string>

#include "show/finding.hpp"
#include "show/rig.hpp"
#include "speech/align.hpp"
#include "speech/alignment.hpp"
#include "speech/recording.hpp"
#include "speech/visemes.hpp"

namespace mien::talk {

/// Words and phones of a recording from a text (plain, WebVTT, SubRip), or from labels as they stand where `text_name` says that it is such a file (.TextGrid,
/// .lab, .tsv). `language` as espeak-ng names it; "en", "en-us" have a model of their own, all others a synthetic voice to go by.
/// Findings name the sound by `audio_name`. `heard`: what of it the show plays, which is all that is listened to; where the text isn't what is said there, the whole sound is, and a note says
/// so. Times count from the beginning of the file all the same.
show::Result<speech::Alignment> alignment_of(const speech::Recording& recording, const std::string& audio_name, const std::string& text, const std::string& text_name,
                                             const std::string& language, show::Findings& notes, const speech::Progress& progress = {}, std::optional<show::Range> heard = {});

/// Why no mouth can be made of labels: they have words alone, or nothing.
std::optional<show::Finding> no_phones(const speech::Alignment& alignment, const std::string& file);

/// The table at `file` where one is named, else the one beside the rig (NAME.visemes.txt for NAME.rig.json), else one made from the rig's
/// roles. The finding says when a file is wrong or the rig has no mouth.
show::Result<speech::VisemeTable> visemes_for(const show::Rig& rig, const std::filesystem::path& rig_file, const std::string& file = {});

/// Where the alignment of a sound of a show lies: in the show's folder, named as the sound, ending in .TextGrid.
std::filesystem::path alignment_path(const std::filesystem::path& show_file, const std::string& sound_file);
show::Result<speech::Alignment> read_alignment(const std::filesystem::path& path);
/// A file that is there and says something else is kept beside the new one, with a ~ at the end of its name, for a person may have worked on it.
std::optional<show::Finding> write_alignment(const std::filesystem::path& path, const speech::Alignment& alignment);

inline constexpr std::uintmax_t kLargestText = 64u << 20;

}  // namespace mien::talk
