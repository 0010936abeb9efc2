// mien speak: a sound and its words become a mouth that speaks.
#include <cstdio>
#include <ctime>

#include "app/commands.hpp"
#include "app/show_edit.hpp"
#include "app/speech.hpp"
#include "app/text.hpp"
#include "perform/rig_check.hpp"
#include "perform/speaking.hpp"
#include "show/text.hpp"
#include "speech/envelope.hpp"
#include "speech/labels.hpp"
#include "speech/place.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

namespace fs = std::filesystem;
using show::Severity;
using show::Time;

constexpr Time kAround{400'000'000};  // before and after the line its mouth may move

// The place of the sound in the show: one that is there already, or a new one at the end of the list.
std::size_t place(show::Show& show, const std::string& file, std::optional<Time> at) {
  const auto same = [&](const show::Sound& s) { return fs::path(s.file).lexically_normal() == fs::path(file).lexically_normal(); };
  const auto found = std::find_if(show.sounds.begin(), show.sounds.end(), same);
  const auto index = static_cast<std::size_t>(found - show.sounds.begin());
  if (found == show.sounds.end()) show.sounds.push_back({file, at.value_or(Time{0}), Time{0}, 0});
  else if (at) found->start = *at;
  return index;
}

// A file that a person may have worked on is kept beside the new one.
std::optional<show::Finding> write_labels(const fs::path& path, const std::string& labels) {
  std::error_code none;
  if (fs::exists(path, none)) {
    const auto before = store::read_file(path, 256u << 20);
    if (before && *before == labels) return {};
    fs::rename(path, path.string() + "~", none);
  }
  return store::replace_file(path, labels);
}

}  // namespace

int run_speak(const SpeakWords& words) {
  const std::clock_t begun = std::clock();
  std::optional<Time> at;
  if (!words.at.empty()) {
    at = show::parse_seconds(words.at);
    if (!at) return tell({Severity::error, words.show, "--at", "'" + words.at + "' is no time", "Give seconds, such as 1.3."});
  }
  auto loaded = store::load_show(words.show);
  if (!loaded) return tell(loaded.problem());
  const auto rig_file = store::rig_path(words.show, *loaded->show);
  if (const auto refused = perform::refusal(*loaded->rig, rig_file.string(), loaded->notes)) return tell(*refused);
  const auto table = visemes_for(*loaded->rig, rig_file, words.visemes);
  if (!table) return tell(table.problem());
  show::Findings notes;
  const auto recording = recording_from(words.audio, notes);
  if (!recording) return tell(notes), tell(recording.problem());
  const auto levels = speech::levels_db(*recording);
  if (const auto problem = speech::no_voice(*recording, levels, words.audio)) return tell(notes), tell(*problem);

  const auto abilities = perform::abilities_of(*loaded->rig, *table);
  speech::Manner manner;
  manner.amount = words.amount;
  speech::Alignment alignment;
  std::vector<speech::Track> tracks;
  if (words.text.empty()) {
    auto heard = speech::mouth_of_sound(*recording, *table, abilities, manner);
    alignment = std::move(heard.alignment), tracks = std::move(heard.tracks);
  } else {
    auto aligned = alignment_from(*recording, words.audio, words.text, words.language, notes);
    if (!aligned) return tell(notes), std::max<int>(kUnusable, tell(aligned.problem()));
    alignment = std::move(*aligned);
    alignment.length = std::max(alignment.length, recording->length());
    tracks = speech::mouth_of(alignment, *table, abilities, levels, manner);
  }
  tell(notes);

  show::Show show = *loaded->show;
  const fs::path to = fs::path(words.out).parent_path();
  move_references(show, words.show, words.out);
  const std::size_t index = place(show, seen_from(to.empty() ? "." : to, words.audio), at);
  const Time start = show.sounds[index].start - show.sounds[index].trim;
  show.length = std::max(show.length, start + recording->length() + kAround);
  const Time first = alignment.phones.empty() ? Time{0} : alignment.phones.front().range.begin, last = alignment.phones.empty() ? recording->length() : alignment.phones.back().range.end;
  show = speech::with_mouth(show, tracks, start, {std::max(Time{0}, start + first - kAround), start + last + kAround});
  if (const auto problem = write_labels(alignment_path(words.out, words.audio), speech::write_labels(alignment, speech::LabelForm::text_grid))) return tell(*problem);
  if (const auto problem = store::save_show(words.out, show)) return tell(*problem);

  const auto plan = perform::compile(loaded->rig, std::make_shared<const show::Show>(show));
  const auto spoken = perform::spoken(*plan, {{alignment, start}}, *table);
  std::size_t keys = 0;
  for (const auto& track : tracks) keys += track.keys.size();
  const double spent_s = static_cast<double>(std::clock() - begun) / CLOCKS_PER_SEC, length_s = show::to_seconds(recording->length());
  if (words.json) {
    Json json;
    json.open_object().member("file", words.out).member("words", double(alignment.words.size())).member("phones", double(alignment.phones.size())).member("keys", double(keys))
        .member("closures", double(spoken.closures)).member("closures_held", double(spoken.held)).member("length_s", length_s).member("real_time_factor", spent_s / length_s).open_array("findings");
    for (const auto& fault : spoken.faults) append(json, perform::finding_of(fault, words.out));
    std::printf("%s\n", json.close().close().text().c_str());
  } else {
    for (const auto& fault : spoken.faults) std::printf("%s\n", show::to_text(perform::finding_of(fault, words.out)).c_str());
    std::printf("%s: %zu words, %zu phones, %zu keys in %zu channels; lips meet the sound in %d of %d closures; %.3f s of processor time a second of sound\n", words.out.c_str(),
                alignment.words.size(), alignment.phones.size(), keys, tracks.size(), spoken.held, spoken.closures, spent_s / length_s);
  }
  return spoken.faults.empty() ? kFine : kFindings;
}

}  // namespace mien::app
