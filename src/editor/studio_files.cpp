// The part of the studio that opens, saves and asks.
#include <algorithm>
#include <cmath>

#include "editor/path_wording.hpp"
#include "editor/studio.hpp"
#include "perform/rig_check.hpp"
#include "show/library.hpp"
#include "sound/onsets.hpp"
#include "store/store.hpp"

namespace mien::editor {
namespace fs = std::filesystem;
namespace {

constexpr show::Time kNewLength{10'000'000'000};
constexpr const char *kShowSuffix = ".show.json", *kLibrarySuffix = ".clips.json";

// Relative to the show's folder, so that a folder of shows can move as a whole.
std::string rig_path_from(const fs::path& show_file, const fs::path& rig_file) {
  std::error_code problem;
  const fs::path relative = fs::relative(rig_file, show_file.parent_path().empty() ? fs::path(".") : show_file.parent_path(), problem);
  return problem || relative.empty() ? fs::absolute(rig_file).string() : relative.string();
}

fs::path absolute_of(const fs::path& file) {
  std::error_code problem;
  const fs::path whole = fs::absolute(file, problem);
  return problem ? file : whole.lexically_normal();
}

}  // namespace

void Studio::refuse(const show::Finding& why) {
  notices_ = {why};
  journal_.line("problem " + show::to_text(why));
}

void Studio::open(const fs::path& file) {
  const fs::path whole = absolute_of(file);
  if (document_.open() && keeps_front()) return;
  for (std::size_t i = 0; i < tabs(); ++i)
    if (tab(i).file() == whole && tab(i).unsaved()) {  // what was done to it there is not thrown away
      bring(i);
      return note(show::Finding{show::Severity::note, whole.string(), "", "is open already, with changes that are on no disk yet", "Save it, or close it and open it again."});
    }
  const store::Stamp before = store::stamp_of(whole);
  auto loaded = store::load_show(whole);
  if (!loaded) return refuse(loaded.problem());
  if (const auto refused = perform::refusal(*loaded->rig, store::rig_path(whole, *loaded->show).string(), loaded->notes)) return refuse(*refused);
  take_document(Document(loaded->rig, loaded->show, whole, false), loaded->notes);
  under_.show = under_.told_show = before;  // what came between reading and now shows
  panels_.path.folder = whole.parent_path();
  remember(whole);
  journal_.line("opened " + whole.string());
}

void Studio::new_show(const fs::path& rig_file) {
  const fs::path whole = absolute_of(rig_file);
  if (document_.open() && keeps_front()) return;
  auto loaded = store::load_rig(whole);
  if (!loaded) return refuse(loaded.problem());
  if (const auto refused = perform::refusal(*loaded->rig, whole.string(), loaded->notes)) return refuse(*refused);
  show::Show show;
  show.name = "New show";
  show.rig_file = whole.string();
  show.length = kNewLength;
  take_document(Document(loaded->rig, std::make_shared<const show::Show>(std::move(show)), {}, true), loaded->notes);
  journal_.line("new on " + whole.string());
}

bool Studio::save() {
  if (document_.file().empty()) {
    ask(Dialog::save_as);
    return false;
  }
  return save_if_ours(document_.file());
}

bool Studio::save_as(const fs::path& file) {
  const fs::path whole = absolute_of(file);
  document_.take_back();
  const show::ShowPtr snapshot = document_.shared_whole();
  show::Show written = *snapshot;
  // Paths inside a show are relative to its folder: they follow it to a new one.
  const fs::path old_folder = document_.file().parent_path();
  if (whole.parent_path() != old_folder) {
    written.rig_file = rig_path_from(whole, fs::path(written.rig_file).is_absolute() ? fs::path(written.rig_file) : old_folder / written.rig_file);
    for (show::Sound& sound : written.sounds)
      if (!fs::path(sound.file).is_absolute()) sound.file = rig_path_from(whole, old_folder / sound.file);
  }
  const bool rig_written = document_.rig_unsaved();
  auto problem = rig_written ? store::save_rig(store::rig_path(whole, written), document_.rig()) : std::nullopt;
  if (!problem) problem = store::save_show(whole, written);
  if (problem) {
    notices_ = {*problem};
    journal_.line("problem " + show::to_text(*problem));
    return false;
  }
  const bool moved = whole != document_.file();
  document_.mark_saved(whole, snapshot);
  std::vector<show::ShowPtr> steps;
  for (std::size_t s = 0; s < document_.steps(); ++s) steps.push_back(document_.step_show(s));
  document_.set_paths(written.rig_file, written.sounds);
  speech_.renamed(steps, document_);
  if (auto lost = speech_.save(document_)) note(lost);
  if (moved) {
    watch_files(store::stamp_of(whole));
  } else {
    under_.show = under_.told_show = store::stamp_of(whole);
    if (rig_written) under_.rig = under_.told_rig = store::stamp_of(under_.rig_file);
  }
  remember(whole);
  journal_.line("saved " + whole.string());
  return true;
}

void Studio::ask(Dialog dialog) {
  if ((dialog == Dialog::open_show || dialog == Dialog::new_show) && keeps_front()) return;
  if (desktop_dialog_.asking() && dialog_ == dialog) return;  // it is open already
  // A sound that is chosen on the way to speaking is spoken next.
  if (dialog != Dialog::speak) speak_next_ = dialog == Dialog::add_sound && dialog_ == Dialog::speak;
  if (dialog == Dialog::import_labels && document_.whole().sounds.empty()) return ask(Dialog::add_sound);  // words of what?
  dialog_ = dialog;
  if (dialog == Dialog::palette) panels_.palette = {};
  if (dialog == Dialog::recover) panels_.recover = {};
  if (dialog == Dialog::new_head && panels_.head.folder.empty()) panels_.head.folder = panels_.path.folder.string();
  if (dialog == Dialog::speak) begin_speaking();
  if (dialog == Dialog::port) panels_.port.serial = link::serial_ports();
  if (asks_for_path(dialog)) {
    panels_.path.fresh = true, panels_.path.filters = false, panels_.path.at = -1;
    panels_.path.recent = recent_, panels_.path.places = places_to_look(recent_);
    panels_.path.name = dialog == Dialog::save_as ? (document_.file().empty() ? std::string("untitled") + kShowSuffix : document_.file().filename().string()) : "";
    if (dialog == Dialog::export_labels) panels_.path.name = labels_name();
    if (dialog == Dialog::export_library) panels_.path.name = std::string("looks") + kLibrarySuffix;
    list_folder(panels_.path, wording_of(dialog).suffix);
    ask_desktop();
  }
}

void Studio::apply_one(const Browse& c) {
  own_dialog();
  std::error_code ignored;
  const fs::path path = c.path.lexically_normal();
  if (fs::is_directory(path, ignored)) {
    panels_.path.folder = path.has_filename() ? path : path.parent_path();
    panels_.path.fresh = true, panels_.path.filters = false, panels_.path.at = -1;
    const PathWording say = wording_of(dialog_);
    if (!say.saves) panels_.path.name.clear();
    return list_folder(panels_.path, say.suffix);
  }
  path_chosen(path, false);
}

// `agreed`: to writing over what is there under that very name.
void Studio::path_chosen(const fs::path& file, bool agreed) {
  const Dialog asked = dialog_;
  dialog_ = Dialog::none;
  if (asked == Dialog::open_show) open(file);
  if (asked == Dialog::new_show) new_show(file);
  if (asked == Dialog::import_library) import_library(file);
  if (asked == Dialog::import_labels) import_labels(file);
  if (asked == Dialog::add_sound) {
    apply(Drop{{file}});
    if (speak_next_ && !document_.whole().sounds.empty()) {
      panels_.speak.sound = document_.whole().sounds.size() - 1, panels_.speak.text.clear();
      ask(Dialog::speak);
    }
  }
  if (asked == Dialog::export_labels) export_as(asked, file, agreed);
  if (asked == Dialog::export_library) {
    const bool whole = file.filename().string().ends_with(".json");
    export_as(asked, whole ? file : fs::path(file.string() + kLibrarySuffix), agreed && whole);
  }
  if (asked != Dialog::save_as) return;
  fs::path named = file;
  if (!named.filename().string().ends_with(".json")) named += kShowSuffix;
  const Then then = then_;
  if (save_if_ours(absolute_of(named), agreed && named == file)) carry_on(then);
}

// What `asked` asked a name for; over a file that is there only with a yes.
void Studio::export_as(Dialog asked, const fs::path& file, bool agreed) {
  std::error_code ignored;
  if (!agreed && fs::exists(file, ignored)) {
    panels_.replaced = {file, {file}, false, asked};
    journal_.line("asked before writing over " + file.string());
    dialog_ = Dialog::replaced;
  } else if (asked == Dialog::export_labels) {
    export_labels(file);
  } else {
    export_library(file);
  }
}

void Studio::import_library(const fs::path& file) {
  const auto loaded = store::load_library(file);
  if (!loaded) return refuse(loaded.problem());
  auto taken = show::with_library(document_.show(), document_.rig(), loaded->library, false, file.filename().string());
  notices_ = loaded->notes;
  notices_.insert(notices_.end(), taken.findings.begin(), taken.findings.end());
  if (taken.poses + taken.clips == 0 && notices_.empty())
    notices_.push_back({show::Severity::note, file.filename().string(), "", "The show has all of this library already", ""});
  apply(Change{Composition{PutShow{"Take " + std::to_string(taken.poses) + (taken.poses == 1 ? " pose" : " poses") + " and " + std::to_string(taken.clips) + (taken.clips == 1 ? " clip" : " clips"),
                                   std::make_shared<const show::Show>(std::move(taken.show))}}});
  apply(ShowSide{taken.poses > 0 ? Side::poses : Side::clips});
}

void Studio::export_library(const fs::path& file) {
  const std::string stem = file.stem().stem().string();
  if (const auto problem = store::save_library(file, show::library_of(document_.whole(), stem))) return refuse(*problem);
  journal_.line("library " + file.string());
}

void Studio::load_sounds() {
  const fs::path folder = document_.file().parent_path();
  const std::vector<show::Sound> wanted = sounds_of_ = document_.whole().sounds;
  // One that only moved is not read again.
  const std::vector<DrawnSound> had = sounds_;
  // The sounds of the show before this one may still be decoding: they are told to give up, not waited for.
  if (unwanted_) *unwanted_ = true;
  if (loading_.valid()) given_up_.push_back(std::move(loading_));
  if (wanted.empty()) {
    sounds_.clear(), placed_.clear(), stage_.set_sounds({});
    return;
  }
  unwanted_ = std::make_shared<std::atomic<bool>>(false);
  loading_ = std::async(std::launch::async, [folder, show_file = document_.file().string(), wanted, had, unwanted = unwanted_] {
    LoadedSounds all;
    for (std::size_t index = 0; index < wanted.size(); ++index) {
      const show::Sound& s = wanted[index];
      const auto same = std::find_if(had.begin(), had.end(), [&](const DrawnSound& d) { return d.placed.file == s.file && d.wave; });
      if (same != had.end()) {
        all.placed.push_back(sound::placed(s, same->wave));
        all.drawn.push_back({same->wave, same->peaks, s, index, same->loudness, same->onsets});
        continue;
      }
      auto wave = sound::load(folder / s.file, &all.notes, [&](double) { return !*unwanted; });
      if (*unwanted) return LoadedSounds{};
      if (!wave) {
        all.notes.push_back(wave.problem());
        continue;
      }
      all.placed.push_back(sound::placed(s, *wave));
      if (auto silent = sound::nothing_heard(s, (*wave)->length(), show_file)) all.notes.push_back(std::move(*silent));
      auto begins = std::make_shared<const std::vector<show::Time>>(sound::onsets(**wave, [&](double) { return !*unwanted; }));
      all.drawn.push_back({*wave, std::make_shared<const sound::Peaks>(**wave), s, index, std::make_shared<const sound::Loudness>(sound::loudness_of(**wave)), std::move(begins)});
    }
    return all;
  });
}

}  // namespace mien::editor
