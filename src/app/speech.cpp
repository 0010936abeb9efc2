#include "app/speech.hpp"

#include <cstdio>
#include <unistd.h>

#include "app/interrupt.hpp"
#include "perform/speaking.hpp"
#include "sound/mix.hpp"
#include "speech/alignment_edit.hpp"
#include "store/disk.hpp"
#include "store/store.hpp"
#include "talk/files.hpp"
#include "talk/rivals.hpp"

namespace mien::app {
namespace {

namespace fs = std::filesystem;

// A line on the terminal, where there is one, that says how far a long work is.
class Meter {
 public:
  explicit Meter(std::string what) : what_(std::move(what)) { interrupt(); }
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
  if (interrupted()) return show::Finding{show::Severity::error, file, "", "reading it was given up, and nothing was written", "Give the command again."};
  return speech::recording_of((*wave)->samples, (*wave)->channels, (*wave)->rate_hz);
}

show::Result<speech::Alignment> alignment_from(const speech::Recording& recording, const std::string& audio_file, const std::string& text_file, const std::string& language,
                                               show::Findings& notes, std::optional<show::Range> heard) {
  const auto text = store::read_file(text_file, talk::kLargestText);
  if (!text) return text.problem();
  Meter meter("listening to " + audio_file);
  return talk::alignment_of(recording, audio_file, *text, text_file, language, notes, [&](double done) { return meter(done); }, heard);
}

show::Findings speech_findings(const perform::Plan& plan, const fs::path& show_file) {
  std::vector<perform::SpokenLine> lines;
  show::Findings findings = talk::rivals_of_speech(*plan.show, *plan.rig, show_file.string());
  std::error_code none;
  for (const auto& sound : plan.show->sounds) {
    if (const auto length = sound::length_of(show_file.parent_path() / sound.file))
      if (auto silent = sound::nothing_heard(sound, *length, show_file.string())) findings.push_back(std::move(*silent));
    const auto path = talk::alignment_path(show_file, sound.file);
    if (!fs::exists(path, none)) continue;
    const auto labels = talk::read_alignment(path);
    if (labels) lines.push_back({speech::part_of(*labels, show::heard_of(sound, labels->length)), sound.start});
    else findings.push_back(labels.problem());
  }
  if (lines.empty()) return findings;
  const auto table = talk::visemes_for(*plan.rig, store::rig_path(show_file, *plan.show));
  if (!table) return findings.push_back(table.problem()), findings;
  for (const auto& fault : perform::spoken(plan, lines, *table).faults) findings.push_back(perform::finding_of(fault, show_file.string()));
  return findings;
}

}  // namespace mien::app
