#include "app/speech.hpp"

#include <cstdio>
#include <unistd.h>

#include "app/interrupt.hpp"
#include "perform/speaking.hpp"
#include "sound/wave.hpp"
#include "speech/align.hpp"
#include "speech/align_spoken.hpp"
#include "speech/labels.hpp"
#include "speech/timed_text.hpp"
#include "store/disk.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

namespace fs = std::filesystem;
constexpr std::uintmax_t kLargestText = 64u << 20;

// A line on the terminal, where there is one, that says how far a long work is.
class Meter {
 public:
  explicit Meter(std::string what) : what_(std::move(what)) {}
  ~Meter() { if (shown_) std::fprintf(stderr, "\r\033[K"); }
  bool operator()(double done) {
    if (::isatty(2) && (!shown_ || done - last_ > 0.01)) std::fprintf(stderr, "\r%s: %d %%", what_.c_str(), static_cast<int>(done * 100)), shown_ = true, last_ = done;
    return !interrupted();
  }

 private:
  std::string what_;
  bool shown_ = false;
  double last_ = 0;
};

}  // namespace

show::Result<speech::Recording> recording_from(const std::string& file, show::Findings& notes) {
  Meter meter("reading " + file);
  auto wave = sound::load(file, &notes, [&](double done) { return meter(done); });
  if (!wave) return wave.problem();
  return speech::recording_of((*wave)->samples, (*wave)->channels, (*wave)->rate_hz);
}

show::Result<speech::Alignment> alignment_from(const speech::Recording& recording, const std::string& audio_file, const std::string& text_file, const std::string& language,
                                               show::Findings& notes) {
  const auto text = store::read_file(text_file, kLargestText);
  if (!text) return text.problem();
  if (const auto form = speech::label_form(text_file); form && !text_file.ends_with(".txt")) return speech::read_labels(*text, *form, text_file);
  const auto lines = speech::read_text(*text, text_file);
  if (!lines) return lines.problem();
  Meter meter("listening to " + audio_file);
  if (language == "en" || language == "en-us") return speech::align(recording, *lines, audio_file, &notes, [&](double done) { return meter(done); });
  std::error_code none;
  const fs::path program = fs::read_symlink("/proc/self/exe", none).parent_path() / "mien_espeak";
  return speech::align_spoken(recording, *lines, program, language, audio_file, [&](double done) { return meter(done); });
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

show::Findings speech_findings(const perform::Plan& plan, const fs::path& show_file) {
  std::vector<perform::SpokenLine> lines;
  show::Findings findings;
  std::error_code none;
  for (const auto& sound : plan.show->sounds) {
    const auto path = alignment_path(show_file, sound.file);
    if (!fs::exists(path, none)) continue;
    const auto text = store::read_file(path, kLargestText);
    const auto labels = text ? speech::read_labels(*text, speech::LabelForm::text_grid, path.string()) : show::Result<speech::Alignment>(text.problem());
    if (labels) lines.push_back({*labels, sound.start - sound.trim});
    else findings.push_back(labels.problem());
  }
  if (lines.empty()) return findings;
  const auto table = visemes_for(*plan.rig, store::rig_path(show_file, *plan.show), "");
  if (!table) return findings.push_back(table.problem()), findings;
  for (const auto& fault : perform::spoken(plan, lines, *table).faults) findings.push_back(perform::finding_of(fault, show_file.string()));
  return findings;
}

}  // namespace mien::app
