// mien speak: a sound and its words become a mouth that speaks.
#include <algorithm>
#include <cstdio>
#include <ctime>

#include "app/commands.hpp"
#include "app/show_edit.hpp"
#include "app/speech.hpp"
#include "app/text.hpp"
#include "perform/rig_check.hpp"
#include "perform/speaking.hpp"
#include "show/text.hpp"
#include "speech/alignment_edit.hpp"
#include "store/store.hpp"
#include "talk/files.hpp"
#include "talk/rivals.hpp"
#include "talk/talk.hpp"

namespace mien::app {
namespace {

namespace fs = std::filesystem;
using show::Severity;
using show::Time;

// The place of the sound in the show: one that is there already, or a new one at the end of the list.
std::size_t place(show::Show& show, const std::string& file, std::optional<Time> at) {
  const auto same = [&](const show::Sound& s) { return fs::path(s.file).lexically_normal() == fs::path(file).lexically_normal(); };
  const auto found = std::find_if(show.sounds.begin(), show.sounds.end(), same);
  const auto index = static_cast<std::size_t>(found - show.sounds.begin());
  if (found == show.sounds.end()) show.sounds.push_back({file, at.value_or(Time{0}), Time{0}, 0});
  else if (at) found->start = *at;
  return index;
}

}  // namespace

int run_speak(const SpeakWords& words) {
  const std::clock_t begun = std::clock();
  std::optional<Time> at;
  if (!words.at.empty()) {
    at = show::parse_seconds(words.at);
    if (!at) return tell({Severity::error, words.show, "--at", "'" + words.at + "' is no time", "Give seconds, such as 1.3."});
  }
  const store::Stamp read = store::stamp_of(words.show);
  auto loaded = store::load_show(words.show);
  if (!loaded) return tell(loaded.problem());
  const auto rig_file = store::rig_path(words.show, *loaded->show);
  if (const auto refused = perform::refusal(*loaded->rig, rig_file.string(), loaded->notes)) return tell(*refused);
  const auto table = talk::visemes_for(*loaded->rig, rig_file, words.visemes);
  if (!table) return tell(table.problem());
  show::Findings notes;
  const auto recording = recording_from(words.audio, notes);
  if (!recording) return tell(notes), tell(recording.problem());
  show::Show show = *loaded->show;
  const fs::path to = fs::path(words.out).parent_path();
  move_references(show, words.show, words.out);
  const std::size_t index = place(show, seen_from(to.empty() ? "." : to, words.audio), at);
  const Time start = show.sounds[index].start - show.sounds[index].trim;
  const show::Range heard = show::heard_of(show.sounds[index], recording->length());
  if (const auto problem = talk::no_voice(*recording, heard, words.audio)) return tell(notes), tell(*problem);
  std::optional<speech::Alignment> aligned;
  if (!words.text.empty()) {
    auto found = alignment_from(*recording, words.audio, words.text, words.language, notes, heard);
    if (!found) return tell(notes), std::max<int>(kUnusable, tell(found.problem()));
    if (const auto problem = talk::no_phones(*found, words.text)) return tell(notes), std::max<int>(kUnusable, tell(*problem));
    aligned = std::move(*found);
  }
  talk::Style style;
  style.mouth.amount = words.amount;
  style.delivery = {words.brows, words.head, words.blinks, words.gaze, words.seed};
  const auto made = talk::speak(*loaded->rig, show, *table, {*recording, std::move(aligned), start, {}, heard}, style, &notes);
  const auto& alignment = made.alignment;
  for (auto& rival : talk::rivals_of_speech(made.show, *loaded->rig, words.show)) notes.push_back(std::move(rival));
  tell(notes);
  if (const auto changed = changed_meanwhile(words.show, read, words.out)) return tell(*changed);
  if (const auto problem = talk::write_alignment(talk::alignment_path(words.out, words.audio), alignment)) return tell(*problem);
  if (const auto problem = store::save_show(words.out, made.show)) return tell(*problem);

  const auto plan = perform::compile(loaded->rig, std::make_shared<const show::Show>(made.show));
  const auto spoken = perform::spoken(*plan, {{speech::part_of(alignment, heard), start + heard.begin}}, *table);
  const double spent_s = static_cast<double>(std::clock() - begun) / CLOCKS_PER_SEC, length_s = show::to_seconds(recording->length());
  if (words.json) {
    Json json;
    json.open_object().member("file", words.out).member("words", double(alignment.words.size())).member("phones", double(alignment.phones.size())).member("keys", double(made.keys)).member("manner_keys", double(made.manner_keys))
        .member("closures", double(spoken.closures)).member("closures_held", double(spoken.held)).member("length_s", length_s).member("real_time_factor", spent_s / length_s).open_array("findings");
    for (const auto& fault : spoken.faults) append(json, perform::finding_of(fault, words.out));
    std::printf("%s\n", json.close().close().text().c_str());
  } else {
    for (const auto& fault : spoken.faults) std::printf("%s\n", show::to_text(perform::finding_of(fault, words.out)).c_str());
    std::printf("%s: %zu words, %zu phones, %zu keys in %zu channels of layer '%s'; lips meet the sound in %d of %d closures; %.3f s of processor time a second of sound\n", words.out.c_str(),
                alignment.words.size(), alignment.phones.size(), made.keys, made.channels, speech::kSpeechLayer, spoken.held, spoken.closures, spent_s / length_s);
  }
  return spoken.faults.empty() ? kFine : kFindings;
}

}  // namespace mien::app
