#include "editor/speech_desk.hpp"

#include <algorithm>
#include <utility>

#include "speech/alignment_edit.hpp"
#include "speech/labels.hpp"
#include "store/store.hpp"
#include "talk/files.hpp"

namespace mien::editor {
namespace fs = std::filesystem;
namespace {

using AlignmentPtr = std::shared_ptr<const speech::Alignment>;

// What the job needs of the document and the sound, for itself.
struct Given {
  std::shared_ptr<const show::Rig> rig;
  show::ShowPtr show;
  fs::path file, rig_file;
  sound::WavePtr wave;
  std::shared_ptr<const speech::Recording> recording;  // null: not made yet
  TalkWanted wanted;
};

Talked stopped(Talked talked) {
  talked.problem = show::Finding{show::Severity::note, talked.file, "", "stopped before it was done; nothing was changed", ""};
  return talked;
}

// The alignment that is wanted; null with talked.problem, or where the mouth follows the sound alone.
AlignmentPtr aligned(const Given& given, Talked& talked, show::Range heard, const GoOn& go_on) {
  const TalkWanted& w = given.wanted;
  if (w.corrected && !w.word) return w.corrected;
  if (w.corrected) return std::make_shared<const speech::Alignment>(talk::reworded(*talked.recording, *w.corrected, *w.word, w.text, talked.notes));
  if (w.text.find_first_not_of(" \t\r\n") == std::string::npos) return nullptr;
  auto found = talk::alignment_of(*talked.recording, talked.file, w.text, "", w.language, talked.notes, [&](double done) { return go_on(0.1 + 0.8 * done); }, heard);
  if (found) return std::make_shared<const speech::Alignment>(std::move(*found));
  talked.problem = found.problem();
  return nullptr;
}

Talked talk_of(const Given& given, const GoOn& go_on) {
  const TalkWanted& w = given.wanted;
  const show::Sound& sound = given.show->sounds[w.sound];
  Talked talked{given.show, nullptr, w.sound, sound.file, "", given.recording, nullptr, {}, {}};
  talked.doing = !w.corrected ? "Speak " + fs::path(sound.file).filename().string() : w.word ? "Change a word" : w.around ? "Move the edge of a word or phone" : "Take words and phones";
  if (!talked.recording) talked.recording = std::make_shared<const speech::Recording>(speech::recording_of(given.wave->samples, given.wave->channels, given.wave->rate_hz));
  if (!go_on(0.1)) return stopped(std::move(talked));
  const auto table = talk::visemes_for(*given.rig, given.rig_file);
  const show::Range heard = show::heard_of(sound, talked.recording->length());
  talked.problem = table ? talk::no_voice(*talked.recording, heard, sound.file) : table.problem();
  if (talked.problem) return talked;
  const auto alignment = aligned(given, talked, heard, go_on);
  if (!go_on(0.9)) return stopped(std::move(talked));
  if (talked.problem) return talked;
  talk::Line line{*talked.recording, {}, sound.start - sound.trim, {}, heard};
  if (alignment) line.alignment = *alignment;
  if (w.around) line.only = talk::around(*w.around, line.start);
  auto made = talk::speak(*given.rig, *given.show, *table, line, w.style, &talked.notes);
  if (!go_on(1)) return stopped(std::move(talked));
  talked.alignment = std::make_shared<const speech::Alignment>(std::move(made.alignment));
  talked.made = std::make_shared<const show::Show>(std::move(made.show));
  return talked;
}

}  // namespace

SpeechDesk::Memory SpeechDesk::put_by() {
  job.stop(), wanted = {};  // what it still makes is for that show
  drawn_.clear(), draft_.reset(), drawn_for_ = nullptr, dirty_ = true;
  speaking = {};
  return std::exchange(memory_, {});
}

void SpeechDesk::take_up(Memory memory) { memory_ = std::move(memory), dirty_ = true; }

// The newest that the document's steps have, up to the current one; else the one from disk.
SpeechDesk::Known* SpeechDesk::known(const Document& document, const std::string& file) {
  for (std::size_t step = document.at() + 1; step-- > 0;) {
    const auto show = document.step_show(step);
    for (auto& k : memory_.known)
      if (k.file == file && k.step == show) return &k;
  }
  for (auto& k : memory_.known)
    if (k.file == file && !k.step) return &k;
  return nullptr;
}

void SpeechDesk::follow(const Document& document) {
  if (!dirty_ && drawn_for_ == document.shared_whole()) return;
  drawn_for_ = document.shared_whole(), dirty_ = false;
  drawn_.clear();
  const show::Show& show = document.whole();
  for (std::size_t s = 0; s < show.sounds.size(); ++s) {
    const show::Sound& sound = show.sounds[s];
    if (!document.file().empty() && !memory_.tried[sound.file]) {
      memory_.tried[sound.file] = true;
      const fs::path path = talk::alignment_path(document.file(), sound.file);
      std::error_code none;
      // What can't be read is none; mien check says why.
      if (fs::exists(path, none))
        if (auto read = talk::read_alignment(path)) memory_.known.push_back({sound.file, nullptr, std::make_shared<const speech::Alignment>(std::move(*read)), path});
    }
    if (draft_ && draft_->sound == s && draft_->file == sound.file) {
      drawn_.push_back(*draft_);
      drawn_.back().start = sound.start - sound.trim, drawn_.back().heard = show::heard_of(sound, draft_->alignment->length);
    } else if (const Known* k = known(document, sound.file)) {
      drawn_.push_back({s, sound.file, sound.start - sound.trim, show::heard_of(sound, k->alignment->length), k->alignment});
    }
  }
}

const DrawnSpeech* SpeechDesk::of(std::size_t sound) const noexcept {
  for (const auto& d : drawn_)
    if (d.sound == sound) return &d;
  return nullptr;
}

bool SpeechDesk::knows(const Document& document, const Talked& talked) {
  const Known* k = known(document, talked.file);
  return k && *k->alignment == *talked.alignment;
}

void SpeechDesk::keep(const Document& document, const Talked& talked) {
  const auto step = document.step_show(document.at());
  // A line that leaves the keys as they are still has its words.
  std::erase_if(memory_.known, [&](const Known& k) { return k.file == talked.file && k.step == step; });
  memory_.known.push_back({talked.file, step, talked.alignment, {}});
  memory_.recordings[talked.file] = talked.recording;
  draft_.reset(), dirty_ = true;
}

void SpeechDesk::renamed(const std::vector<show::ShowPtr>& steps, const Document& document) {
  if (steps.size() != document.steps() || steps[document.at()] == document.step_show(document.at())) return;
  const auto& was = steps[document.at()]->sounds;
  const auto& now = document.whole().sounds;
  for (auto& k : memory_.known) {
    for (std::size_t s = 0; s < steps.size(); ++s)
      if (k.step && k.step == steps[s]) { k.step = document.step_show(s); break; }
    for (std::size_t s = 0; s < std::min(was.size(), now.size()); ++s)
      if (k.file == was[s].file) { k.file = now[s].file; break; }
  }
  memory_.recordings.clear();
  for (const auto& sound : now) memory_.tried[sound.file] = true;  // what is in the other folder is of another show
  dirty_ = true;
}

// Another step's may be what the file has.
bool SpeechDesk::written(const Known& k, const fs::path& path) const {
  return k.path == path && std::none_of(memory_.known.begin(), memory_.known.end(), [&](const Known& other) { return &other != &k && other.file == k.file && other.path == path; });
}

std::vector<store::Beside> SpeechDesk::unsaved(const Document& document) {
  std::vector<store::Beside> texts;
  for (const show::Sound& sound : document.whole().sounds) {
    Known* k = known(document, sound.file);
    if (!k || (!document.file().empty() && written(*k, talk::alignment_path(document.file(), sound.file)))) continue;
    if (!k->text) k->text = std::make_shared<const std::string>(speech::write_labels(*k->alignment, speech::LabelForm::text_grid));
    texts.push_back({sound.file, k->text});
  }
  return texts;
}

show::Findings SpeechDesk::recover(const Document& document, const std::vector<store::Beside>& left) {
  show::Findings problems;
  for (const store::Beside& b : left) {
    auto read = speech::read_labels(*b.text, speech::LabelForm::text_grid, b.sound);
    if (!read) {
      problems.push_back(read.problem());
      continue;
    }
    std::erase_if(memory_.known, [&](const Known& k) { return k.file == b.sound && k.step == document.step_show(document.at()); });
    memory_.known.push_back({b.sound, document.step_show(document.at()), std::make_shared<const speech::Alignment>(std::move(*read)), {}, b.text});
  }
  dirty_ = true;
  return problems;
}

std::optional<show::Finding> SpeechDesk::save(const Document& document) {
  for (const show::Sound& sound : document.whole().sounds) {
    Known* k = known(document, sound.file);
    const fs::path path = talk::alignment_path(document.file(), sound.file);
    if (!k || written(*k, path)) continue;
    if (auto problem = talk::write_alignment(path, *k->alignment)) return problem;
    for (auto& other : memory_.known)
      if (other.file == k->file) other.path.clear();
    k->path = path;
    memory_.tried[sound.file] = true;
  }
  return {};
}

void SpeechDesk::start(const Document& document, const DrawnSound& sound, TalkWanted asked) {
  if (job.running()) return;
  wanted = std::move(asked);
  speaking = {true, 0, "", false};
  Given given{document.shared_rig(), document.shared_whole(), document.file(), store::rig_path(document.file(), document.whole()), sound.wave, nullptr, wanted};
  if (const auto made = memory_.recordings.find(document.whole().sounds[wanted.sound].file); made != memory_.recordings.end()) given.recording = made->second;
  job.start([given = std::move(given)](const GoOn& go_on) { return talk_of(given, go_on); });
}

}  // namespace mien::editor
