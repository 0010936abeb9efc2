// The part of the studio that makes the head speak, and keeps words and phones.
#include <algorithm>

#include "editor/counted.hpp"
#include "editor/studio.hpp"
#include "speech/labels.hpp"
#include "store/disk.hpp"
#include "talk/files.hpp"
#include "talk/rivals.hpp"

namespace mien::editor {
namespace {

namespace fs = std::filesystem;

talk::Style style_of(const SpeakState& s) {
  talk::Style style;
  style.mouth.amount = static_cast<double>(s.amount);
  style.delivery = {static_cast<double>(s.brows), static_cast<double>(s.head), static_cast<double>(s.blinks), static_cast<double>(s.gaze), static_cast<std::uint32_t>(std::max(s.seed, 0))};
  return style;
}

void show_style(SpeakState& s, const talk::Style& style) {
  s.amount = static_cast<float>(style.mouth.amount);
  s.brows = static_cast<float>(style.delivery.brows), s.head = static_cast<float>(style.delivery.head);
  s.blinks = static_cast<float>(style.delivery.blinks), s.gaze = static_cast<float>(style.delivery.gaze);
  s.seed = static_cast<int>(std::min<std::uint32_t>(style.delivery.seed, INT32_MAX));
}

const DrawnSound* drawn_of(const std::vector<DrawnSound>& sounds, std::size_t sound) {
  for (const DrawnSound& s : sounds)
    if (s.index == sound && s.wave) return &s;
  return nullptr;
}

}  // namespace

// The dialog begins with the last sound, and with the text beside it where there is one.
void Studio::begin_speaking() {
  SpeakState& s = panels_.speak;
  const auto& sounds = document_.whole().sounds;
  if (sounds.empty()) return ask(Dialog::add_sound);
  s.sound = std::min(s.sound, sounds.size() - 1);
  speech_.speaking.word.clear();
  if (const DrawnSpeech* spoken = speech_.of(s.sound))
    if (const auto style = talk::parse_style(spoken->alignment->made_with)) show_style(s, *style);
  if (!s.text.empty()) return;
  for (const char* end : {".txt", ".vtt", ".srt"}) {
    fs::path text = document_.file().parent_path() / sounds[s.sound].file;
    text.replace_extension(end);
    std::error_code none;
    if (!s.text.empty() || !fs::is_regular_file(text, none)) continue;
    if (const auto read = store::read_file(text, 1u << 20)) s.text = *read;
  }
}

void Studio::start_talk(TalkWanted wanted) {
  const DrawnSound* sound = drawn_of(sounds_, wanted.sound);
  if (wanted.sound >= document_.whole().sounds.size()) return;
  if (!sound) {
    speech_.speaking = {false, 0, loading_.valid() ? "The sound is still being read; try again in a moment." : "The sound can\u2019t be read; the notices say why.", true};
    return;
  }
  speech_.start(document_, *sound, std::move(wanted));
}

void Studio::apply_one(const Say& c) {
  if (!document_.open() || bench_) return;
  switch (c.what) {
    case Say::Do::stop: return speech_.job.stop();
    case Say::Do::drop:
      say_from_ = nullptr;
      return speech_.draft({});
    case Say::Do::speak: {
      TalkWanted wanted;
      wanted.sound = c.sound, wanted.text = c.text, wanted.language = panels_.speak.language, wanted.style = style_of(panels_.speak);
      return start_talk(std::move(wanted));
    }
    case Say::Do::move:
    case Say::Do::reword: break;
  }
  const DrawnSpeech* shown = speech_.of(c.sound);
  if (!shown || speech_.job.running() || document_.drafting()) {
    if (c.done) say_from_ = nullptr, speech_.draft({});
    return;
  }
  if (!say_from_ || c.what == Say::Do::reword) say_from_ = shown->alignment;
  TalkWanted wanted;
  wanted.sound = c.sound, wanted.text = c.text;
  // As the line was made, whatever the dialog says now; a line from elsewhere has no amounts but the dialog's.
  wanted.style = talk::parse_style(shown->alignment->made_with).value_or(style_of(panels_.speak));
  if (c.what == Say::Do::reword) {
    wanted.corrected = say_from_, wanted.word = c.boundary.index, wanted.around = speech::touched(*say_from_, c.boundary);
    if (wanted.around->empty()) wanted.around = speech::room_of(*say_from_, c.boundary.index);
    say_from_ = nullptr;
    return start_talk(std::move(wanted));
  }
  const auto moved = std::make_shared<const speech::Alignment>(speech::with_boundary(*say_from_, c.boundary, c.to - shown->start));
  speech_.draft(DrawnSpeech{c.sound, shown->file, shown->start, shown->heard, moved});
  if (!c.done) return;
  const show::Range before = speech::touched(*say_from_, c.boundary), after = speech::touched(*moved, c.boundary);
  wanted.corrected = moved, wanted.around = show::Range{std::min(before.begin, after.begin), std::max(before.end, after.end)};
  say_from_ = nullptr;
  start_talk(std::move(wanted));
}

const DrawnSpeech* Studio::spoken() const {
  if (const DrawnSpeech* chosen = speech_.of(panels_.speak.sound)) return chosen;
  return speech_.drawn().empty() ? nullptr : &speech_.drawn().front();
}

std::string Studio::labels_name() const {
  const DrawnSpeech* speech = spoken();
  return speech ? fs::path(speech->file).stem().string() + ".lab" : "";
}

// As mien speak does with labels for a text: the mouth is made of them as they stand.
void Studio::import_labels(const fs::path& file) {
  const std::string name = file.filename().string();
  const auto form = speech::label_form(name);
  if (!form) return refuse({show::Severity::error, name, "", "its name doesn't say which labels it holds", "It ends in " + std::string(speech::kLabelForms) + "."});
  const auto text = store::read_file(file, talk::kLargestText);
  if (!text) return refuse(text.problem());
  auto read = speech::read_labels(*text, *form, name);
  if (!read) return refuse(read.problem());
  if (const auto none = talk::no_phones(*read, name)) return refuse(*none);
  TalkWanted wanted;
  wanted.sound = std::min(panels_.speak.sound, document_.whole().sounds.size() - 1);
  wanted.style = talk::parse_style(read->made_with).value_or(style_of(panels_.speak));
  wanted.corrected = std::make_shared<const speech::Alignment>(std::move(*read));
  start_talk(std::move(wanted));
}

void Studio::export_labels(const fs::path& file) {
  const DrawnSpeech* speech = spoken();
  const auto form = speech::label_form(file.filename().string());
  if (!form) return refuse({show::Severity::error, file.filename().string(), "", "its name doesn't say which labels to write", "End it in " + std::string(speech::kLabelForms) + "."});
  if (!speech) return;
  if (const auto problem = store::replace_file(file, speech::write_labels(*speech->alignment, *form))) return refuse(*problem);
  journal_.line("labels " + file.string());
}

void Studio::follow_talk() {
  if (!document_.open()) return;
  if (auto done = speech_.job.take()) {
    const bool correction = speech_.wanted.corrected != nullptr;
    Speaking now;
    if (done->problem) {
      now.word = done->problem->what + (done->problem->cure.empty() ? "." : ". " + done->problem->cure), now.failed = true;
      if (correction) note(done->problem);
      speech_.draft({});
    } else if (done->from != document_.shared_whole()) {
      // What a person corrected holds whatever else was changed meanwhile.
      if (correction && !document_.drafting()) return start_talk(speech_.wanted);
      now.word = "Stopped, since the show was changed meanwhile.", now.failed = true;
      speech_.draft({});
    } else {
      const KeysOf of = document_.keys_of();
      apply(OpenKeys{});
      const std::size_t step = document_.at();
      apply(Change{Composition{PutShow{done->doing, done->made}}});
      // Words that other keys don't come of are an edit all the same: to be saved, and to be undone.
      if (document_.at() == step && !speech_.knows(document_, *done)) document_.add_step(done->doing);
      speech_.keep(document_, *done);
      kept_ = nullptr;  // what a crash would leave has the words, too, even where no key changed
      if (of.kind == KeysOf::Kind::layer) apply(OpenKeys{of});
      now.word = counted(done->alignment->words.size(), "word") + ", " + counted(done->alignment->phones.size(), "phone") + ". Undo takes it back.";
      for (const auto& n : done->notes) note(n);
      if (dialog_ == Dialog::speak) apply(Ask{Dialog::none});
    }
    speech_.speaking = now;
    journal_.line("spoke: " + now.word);
  }
  if (speech_.job.running()) speech_.speaking.running = true, speech_.speaking.share = speech_.job.share();
  speech_.follow(document_);
}

// A notice for each hand that moves a mouth that speaks; it is kept up to date while it stands, and goes when its keys do. One that was put away stays away.
void Studio::follow_rivals() {
  if (rivals_for_ == document_.shared_whole()) return;
  rivals_for_ = document_.shared_whole();
  show::Findings now = talk::rivals_of_speech(document_.whole(), document_.rig(), document_.file().filename().string());
  const auto who = [](const show::Finding& f) { return f.place.substr(0, f.place.rfind(", ")); };
  const auto of = [&](const show::Findings& all, const show::Finding& f) { return std::find_if(all.begin(), all.end(), [&](const show::Finding& other) { return who(other) == who(f); }); };
  for (const show::Finding& was : rivals_) {
    const auto shown = std::find(notices_.begin(), notices_.end(), was);
    if (shown == notices_.end()) continue;
    if (const auto still = of(now, was); still != now.end()) *shown = *still;
    else notices_.erase(shown);
  }
  for (const show::Finding& rival : now)
    if (of(rivals_, rival) == rivals_.end()) note(rival);
  rivals_ = std::move(now);
}

// One sound after the other, and only while they are wanted.
void Studio::follow_spectra() {
  if (auto done = spectrum_job_.take()) analysed_.push_back(std::move(*done));
  if (!document_.open() || !view_.spectrogram) return;
  std::erase_if(analysed_, [&](const Analysed& a) { return std::none_of(sounds_.begin(), sounds_.end(), [&](const DrawnSound& s) { return s.wave == a.wave; }); });
  spectra_.assign(sounds_.size(), nullptr);
  for (std::size_t n = 0; n < sounds_.size(); ++n) {
    const auto known = std::find_if(analysed_.begin(), analysed_.end(), [&](const Analysed& a) { return a.wave == sounds_[n].wave; });
    if (known != analysed_.end()) spectra_[n] = known->spectrogram;
    else if (!spectrum_job_.running() && sounds_[n].wave)
      spectrum_job_.start([wave = sounds_[n].wave](const GoOn& go_on) {
        return Analysed{wave, std::make_shared<const speech::Spectrogram>(speech::spectrogram_of(speech::recording_of(wave->samples, wave->channels, wave->rate_hz), go_on))};
      });
  }
}

}  // namespace mien::editor
