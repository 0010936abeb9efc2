#include "talk/files.hpp"

#include <algorithm>

#include "speech/align_spoken.hpp"
#include "speech/labels.hpp"
#include "speech/timed_text.hpp"
#include "show/text.hpp"
#include "speech/alignment_edit.hpp"
#include "store/disk.hpp"

namespace mien::talk {
namespace fs = std::filesystem;

namespace {

show::Result<speech::Alignment> listened(const speech::Recording& recording, const std::string& audio_name, const std::vector<speech::Line>& lines, const std::string& language, show::Findings& notes,
                                         const speech::Progress& progress) {
  if (language == "en" || language == "en-us") return speech::align(recording, lines, audio_name, &notes, progress);
  std::error_code none;
  const fs::path program = fs::read_symlink("/proc/self/exe", none).parent_path() / "mien_espeak";
  return speech::align_spoken(recording, lines, program, language, audio_name, progress);
}

}  // namespace

show::Result<speech::Alignment> alignment_of(const speech::Recording& recording, const std::string& audio_name, const std::string& text, const std::string& text_name,
                                             const std::string& language, show::Findings& notes, const speech::Progress& progress, std::optional<show::Range> heard) {
  if (const auto form = speech::label_form(text_name); form && !text_name.ends_with(".txt")) return speech::read_labels(text, *form, text_name);
  const auto lines = speech::read_text(text, text_name);
  if (!lines) return lines.problem();
  if (!heard || (heard->begin <= show::Time{0} && heard->end >= recording.length())) return listened(recording, audio_name, *lines, language, notes, progress);
  show::Findings of_part;
  std::vector<speech::Line> said;
  for (speech::Line line : *lines) {
    if (line.when && (line.when->end <= heard->begin || line.when->begin >= heard->end)) continue;
    if (line.when) line.when = show::Range{std::max(show::Time{0}, line.when->begin - heard->begin), std::min(heard->length(), line.when->end - heard->begin)};
    said.push_back(std::move(line));
  }
  auto part = listened(speech::part_of(recording, *heard), audio_name, said, language, of_part, progress);
  if (part || part.problem().severity == show::Severity::note) {
    notes.insert(notes.end(), of_part.begin(), of_part.end());
    if (!part) return part;
    return speech::moved(*part, heard->begin, recording.length());
  }
  // Perhaps it is the text of the whole recording.
  auto whole = listened(recording, audio_name, *lines, language, notes, progress);
  if (!whole) return part;
  notes.push_back({show::Severity::note, audio_name, "", "the text is that of the whole sound, of which the show plays " + show::seconds_text(heard->begin) + " to " + show::seconds_text(heard->end) + " s",
                   "Nothing to do: the mouth says what is heard."});
  return whole;
}

std::optional<show::Finding> no_phones(const speech::Alignment& alignment, const std::string& file) {
  if (!alignment.phones.empty()) return {};
  return show::Finding{show::Severity::error, file, "phones", alignment.words.empty() ? "it holds neither words nor phones" : "it holds words, but no phones to make a mouth of",
                       "Give labels of phones (ARPABET), or the words as a text: then they are listened for."};
}

show::Result<speech::VisemeTable> visemes_for(const show::Rig& rig, const fs::path& rig_file, const std::string& file) {
  fs::path path = file;
  std::error_code none;
  if (file.empty()) {
    std::string name = rig_file.filename().string();
    if (name.ends_with(".rig.json")) name.resize(name.size() - 9);
    path = rig_file.parent_path() / (name + ".visemes.txt");
    if (!fs::exists(path, none)) {
      if (auto general = speech::general_visemes(rig)) return std::move(*general);
      return show::Finding{show::Severity::error, rig_file.string(), "roles", "no axis of the rig moves a jaw or lips", "Give the axes of the mouth their roles, or name a table with --visemes."};
    }
  }
  const auto text = store::read_file(path, 1u << 20);
  if (!text) return text.problem();
  auto table = speech::parse_visemes(*text, path.string());
  if (!table) return table;
  for (const auto& finding : speech::check_visemes(*table, rig, path.string()))
    if (finding.severity == show::Severity::error) return finding;
  return table;
}

fs::path alignment_path(const fs::path& show_file, const std::string& sound_file) {
  return show_file.parent_path() / (fs::path(sound_file).stem().string() + ".TextGrid");
}

show::Result<speech::Alignment> read_alignment(const fs::path& path) {
  const auto text = store::read_file(path, kLargestText);
  if (!text) return text.problem();
  return speech::read_labels(*text, speech::LabelForm::text_grid, path.string());
}

std::optional<show::Finding> write_alignment(const fs::path& path, const speech::Alignment& alignment) {
  const std::string labels = speech::write_labels(alignment, speech::LabelForm::text_grid);
  std::error_code none;
  if (fs::exists(path, none)) {
    const auto before = store::read_file(path, 4 * kLargestText);
    if (before && *before == labels) return {};
    fs::rename(path, path.string() + "~", none);
  }
  return store::replace_file(path, labels);
}

}  // namespace mien::talk
