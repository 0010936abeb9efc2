#include "talk/files.hpp"

#include "speech/align_spoken.hpp"
#include "speech/labels.hpp"
#include "speech/timed_text.hpp"
#include "store/disk.hpp"

namespace mien::talk {
namespace fs = std::filesystem;

show::Result<speech::Alignment> alignment_of(const speech::Recording& recording, const std::string& audio_name, const std::string& text, const std::string& text_name,
                                             const std::string& language, show::Findings& notes, const speech::Progress& progress) {
  if (const auto form = speech::label_form(text_name); form && !text_name.ends_with(".txt")) return speech::read_labels(text, *form, text_name);
  const auto lines = speech::read_text(text, text_name);
  if (!lines) return lines.problem();
  if (language == "en" || language == "en-us") return speech::align(recording, *lines, audio_name, &notes, progress);
  std::error_code none;
  const fs::path program = fs::read_symlink("/proc/self/exe", none).parent_path() / "mien_espeak";
  return speech::align_spoken(recording, *lines, program, language, audio_name, progress);
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
