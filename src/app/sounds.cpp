// mien sound: where a show's sounds stand, and what is left out of them.
#include <cstdio>
#include <filesystem>

#include "app/commands.hpp"
#include "app/show_edit.hpp"
#include "app/text.hpp"
#include "show/text.hpp"
#include "sound/mix.hpp"
#include "talk/files.hpp"
#include "talk/talk.hpp"

namespace mien::app {
namespace {

namespace fs = std::filesystem;
using show::Time;

// Of every sound's file; 0 where it can't be read.
std::vector<Time> lengths_of(const show::Show& show, const fs::path& folder) {
  std::vector<Time> lengths;
  for (const auto& sound : show.sounds) lengths.push_back(sound::length_of(folder / sound.file).value_or(Time{0}));
  return lengths;
}

show::Result<std::size_t> find(const show::Show& show, const SoundWords& words) {
  std::vector<std::size_t> found;
  const std::string wanted = fs::path(words.file).lexically_normal().generic_string();
  for (std::size_t n = 0; n < show.sounds.size(); ++n) {
    const std::string file = fs::path(show.sounds[n].file).lexically_normal().generic_string();
    if (file == wanted || file.ends_with("/" + wanted)) found.push_back(n);
  }
  if (found.empty()) return refused(words.show, "", "the show has no sound '" + words.file + "'", "'mien sound list' prints them all.");
  if (words.place == 0 && found.size() == 1) return found.front();
  if (words.place < 1 || static_cast<std::size_t>(words.place) > found.size())
    return refused(words.show, "--place", "'" + words.file + "' stands in the show " + std::to_string(found.size()) + (found.size() == 1 ? " time" : " times"), "Say which with --place, from 1 to " + std::to_string(found.size()) + ".");
  return found[static_cast<std::size_t>(words.place - 1)];
}

// What was said about the sound, onto it.
std::optional<show::Finding> told(const SoundWords& words, show::Sound& sound) {
  const std::pair<const std::string&, std::pair<const char*, Time&>> times[] = {{words.at, {"--at", sound.start}}, {words.trim, {"--trim", sound.trim}}, {words.trim_end, {"--trim-end", sound.trim_end}}};
  for (const auto& [text, to] : times) {
    if (text.empty()) continue;
    const auto time = time_of(text, to.first);
    if (!time) return time.problem();
    to.second = *time;
  }
  if (words.gain_db) sound.gain_db = *words.gain_db;
  return {};
}

std::string heard_text(const show::Sound& sound, Time length) {
  const show::Range heard = show::heard_of(sound, length);
  return "'" + sound.file + "' is heard from " + show::seconds_text(sound.start) + " to " + show::seconds_text(sound.start + heard.length()) + " s, " + show::seconds_text(heard.begin) + " to " +
         show::seconds_text(heard.end) + " s of its file";
}

// The finding that keeps a sound from being trimmed so.
std::optional<show::Finding> wrong_trim(const show::Sound& sound, Time length, const SoundWords& words) {
  if (length <= Time{0}) return {};
  auto silent = sound::nothing_heard(sound, length, words.show);
  if (silent) silent->severity = show::Severity::error;
  return silent;
}

}  // namespace

int run_sound_list(const SoundWords& words) {
  const auto loaded = store::load_show(words.show);
  if (!loaded) return tell(loaded.problem());
  const int code = tell(loaded->notes);
  const auto lengths = lengths_of(*loaded->show, fs::path(words.show).parent_path());
  Json json;
  json.open_array();
  Table table{{"sound", "from s", "to s", "left out s", "at its end s", "gain dB"}};
  for (std::size_t n = 0; n < lengths.size(); ++n) {
    const show::Sound& s = loaded->show->sounds[n];
    const Time end = s.start + show::heard_of(s, lengths[n]).length();
    const bool known = lengths[n] > Time{0};
    table.push_back({s.file, show::seconds_text(s.start), known ? show::seconds_text(end) : "?", show::seconds_text(s.trim), show::seconds_text(s.trim_end), show::number_text(s.gain_db)});
    json.open_object().member("file", s.file).member("start_s", show::to_seconds(s.start));
    if (known) json.member("end_s", show::to_seconds(end)).member("length_s", show::to_seconds(lengths[n]));
    json.member("trim_s", show::to_seconds(s.trim)).member("trim_end_s", show::to_seconds(s.trim_end)).member("gain_db", s.gain_db).close();
  }
  if (words.json) std::printf("%s\n", json.close().text().c_str());
  else std::printf("%s", aligned(table).c_str());
  return code;
}

int run_sound_add(const SoundWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    const auto wave = sound::load(words.file);  // whole, so that what is damaged is said now
    if (!wave) return wave.problem();
    show::Sound sound{seen_from(fs::path(words.show).parent_path(), words.file), Time{0}, Time{0}, 0};
    if (auto problem = told(words, sound)) return *problem;
    if (auto problem = wrong_trim(sound, (*wave)->length(), words)) return *problem;
    e.show.sounds.push_back(sound);
    return heard_text(sound, (*wave)->length());
  });
}

int run_sound_change(const SoundWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    const auto index = find(e.show, words);
    if (!index) return index.problem();
    const auto lengths = lengths_of(e.show, fs::path(words.show).parent_path());
    show::Sound now = e.show.sounds[*index];
    const Time trim = now.trim;
    if (auto problem = told(words, now)) return *problem;
    // What is left out is left out: the rest stays where it is heard.
    if (words.at.empty()) now.start += now.trim - trim;
    if (now.start < Time{0}) return refused(words.show, "--trim", "the sound would begin " + show::seconds_text(-now.start) + " s before the show", "Say with --at where it begins.");
    if (auto problem = wrong_trim(now, lengths[*index], words)) return *problem;
    const auto said = talk::read_alignment(talk::alignment_path(words.show, now.file));
    e.show = talk::with_sound(e.show, *index, now, lengths, said ? &*said : nullptr);
    return lengths[*index] > Time{0} ? heard_text(now, lengths[*index]) : "'" + now.file + "' is changed; its file can't be read";
  });
}

int run_sound_remove(const SoundWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    const auto index = find(e.show, words);
    if (!index) return index.problem();
    const std::string file = e.show.sounds[*index].file;
    e.show.sounds.erase(e.show.sounds.begin() + static_cast<std::ptrdiff_t>(*index));
    return "'" + file + "' is no longer played";
  });
}

}  // namespace mien::app
