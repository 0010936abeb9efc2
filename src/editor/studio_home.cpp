// The part of the studio that remembers the person: settings, keys, recent shows, and the work that a crash would lose.
#include <GLFW/glfw3.h>
#include <imgui.h>

#include <algorithm>

#include "editor/desktop.hpp"
#include "editor/path_wording.hpp"
#include "editor/studio.hpp"
#include "perform/rig_check.hpp"
#include "show/text.hpp"
#include "show/validate.hpp"
#include "store/store.hpp"

namespace mien::editor {
namespace fs = std::filesystem;
namespace {

std::string small_ending(const fs::path& file) { return show::small_letters(file.extension().string()); }
bool is_sound(const fs::path& file) { return std::find(sound_endings().begin(), sound_endings().end(), small_ending(file)) != sound_endings().end(); }

bool is_modifier(int key) { return key >= GLFW_KEY_LEFT_SHIFT && key <= GLFW_KEY_RIGHT_SUPER; }

// The rig that lay with the work, else the show's own.
show::Result<std::shared_ptr<const show::Rig>> rig_of(const store::Work& work) {
  if (work.rig) return work.rig;
  auto rig = store::load_rig(store::rig_path(work.file, *work.show));
  if (!rig) return rig.problem();
  return rig->rig;
}

}  // namespace

void Studio::move_in(store::Places places) {
  places_ = std::move(places);
  auto read = store::load_settings(places_.config);
  settings_ = read.settings;
  for (auto& n : read.notes) note(std::move(n));
  const auto keys = store::load_keys(places_.config);
  for (const auto& n : keys.notes) note(n);
  for (auto& n : keys_.read(keys.entries, (places_.config / "keys").string())) note(std::move(n));
  recent_ = store::load_recent(places_.state);
  const fs::path recovery = places_.state.empty() ? fs::path{} : places_.state / "recovery";
  left_ = store::left_behind(recovery);
  keeper_ = std::make_unique<store::Keeper>(recovery);
  offered_ = false;
  choose_theme(settings_.theme, false);
}

void Studio::note(std::optional<show::Finding> problem) {
  // A disk that is full is said once, not with every edit.
  if (!problem || std::find(notices_.begin(), notices_.end(), *problem) != notices_.end()) return;
  journal_.line("problem " + show::to_text(*problem));
  notices_.push_back(std::move(*problem));
}

void Studio::save_settings() { note(store::save_settings(places_.config, settings_)); }

void Studio::choose_theme(store::Settings::Theme which, bool keep) {
  if (keep) settings_.theme = which, save_settings();
  as_desktop_ = which == store::Settings::Theme::system;
  if (as_desktop_) {
    if (!asking_desktop_.valid()) asking_desktop_ = std::async(std::launch::async, desktop_is_dark);
    return;
  }
  wear(which == store::Settings::Theme::dark);
}

void Studio::wear(bool dark) {
  look_.theme = theme(dark);
  dress(look_.theme, look_.scale);
  journal_.line(dark ? "dark" : "light");
}

void Studio::follow_desktop() {
  if (!asking_desktop_.valid() || asking_desktop_.wait_for(std::chrono::seconds(0)) != std::future_status::ready) return;
  const bool dark = asking_desktop_.get().value_or(true);
  if (as_desktop_ && dark != look_.theme.dark) wear(dark);
}

void Studio::toggle_theme() { choose_theme(look_.theme.dark ? store::Settings::Theme::light : store::Settings::Theme::dark, true); }
void Studio::theme_of_desktop() { choose_theme(store::Settings::Theme::system, true); }

void Studio::change_text(int steps) {
  settings_.text = static_cast<store::Settings::Text>(std::clamp(static_cast<int>(settings_.text) + steps, 0, 3));
  save_settings();
  journal_.line("text " + std::string(store::name(settings_.text)));
}

void Studio::usual_keys() {
  keys_.as_usual();
  note(store::save_keys(places_.config, {}));
}

// The palette waits for a key: whatever is pressed next is it, and does nothing else. Esc has stopped the head by then, as ever.
bool Studio::take_key(const KeyPress& press) {
  PaletteState& state = panels_.palette;
  if (dialog_ != Dialog::palette || state.binding.empty()) return false;
  if (press.repeat || is_modifier(press.key)) return true;
  const Action* action = find_action(state.binding);
  if (press.key == GLFW_KEY_ESCAPE || !action) {
    state.binding.clear(), state.fresh = true;
    return true;
  }
  const bool away = press.mods == 0 && (press.key == GLFW_KEY_DELETE || press.key == GLFW_KEY_BACKSPACE);
  if (const auto refused = keys_.bind(*action, away ? Chord{} : Chord{press.key, press.mods})) {
    state.word = refused->what + ". " + refused->cure + ".";
    return true;
  }
  note(store::save_keys(places_.config, keys_.entries()));
  journal_.line("key " + state.binding + " " + (away ? "none" : to_text(keys_.of(*action))));
  state.binding.clear(), state.fresh = true;
  return true;
}

void Studio::remember(const fs::path& show) {
  if (!places_.state.empty()) recent_ = store::add_recent(places_.state, show);
}

const fs::path* Studio::show_before() const noexcept {
  const auto found = std::find_if(recent_.begin(), recent_.end(), [&](const fs::path& f) { return f != document_.file(); });
  return found == recent_.end() ? nullptr : &*found;
}

void Studio::apply_one(const OpenFile& c) {
  dialog_ = Dialog::none;
  c.file.filename().string().ends_with(".rig.json") ? new_show(c.file) : open(c.file);
}

void Studio::apply_one(const Drop& c) {
  const auto cant = [&](const fs::path& file, const char* what, const char* cure) { note(show::Finding{show::Severity::warning, file.string(), "", what, cure}); };
  if (bench_) return cant({}, "files are not taken at the workbench", "Leave the workbench, then drop them on the window again.");
  for (const fs::path& file : c.files) {
    std::error_code ignored;
    if (file.filename().string().ends_with(".json")) apply(OpenFile{file});
    else if (!fs::is_regular_file(file, ignored) || !is_sound(file)) cant(file, "is neither a show, a rig nor a sound", "Take a file NAME.show.json, NAME.rig.json, or a sound such as .wav, .flac or .ogg.");
    else if (!document_.open()) cant(file, "a sound needs a show to stand in", "Open a show first.");
    else {
      const fs::path folder = document_.file().parent_path(), relative = folder.empty() ? fs::path{} : fs::relative(file, folder, ignored);
      apply(Change{AddSound{{relative.empty() ? file.string() : relative.string(), playhead(), show::Time{0}, 0}}});
    }
  }
}

void Studio::copy_findings() {
  std::string text;
  for (const show::Finding& f : notices_) text += show::to_text(f) + "\n";
  if (const auto f = feasibility())
    for (const std::size_t i : f->by_time) text += show::to_text(perform::finding_of(*f->plan, f->study.shortfalls[i], document_.file().filename().string())) + "\n";
  ImGui::SetClipboardText(text.c_str());
  journal_.line("copy findings " + std::to_string(std::count(text.begin(), text.end(), '\n')));
}

// Whatever changed the document, and by whichever way, is kept: what is seen here is the step that is current.
void Studio::follow_work() {
  if (document_.open() && !document_.drafting() && sounds_of_ != document_.whole().sounds) load_sounds();
  if (!document_.open() || document_.drafting()) return;
  follow_rivals();
  if (!keeper_) return;
  note(keeper_->problem());
  const bool same = kept_ == document_.shared_whole() && kept_rig_ == document_.shared_rig();
  kept_ = document_.shared_whole(), kept_rig_ = document_.shared_rig();
  if (!document_.unsaved()) {
    if (std::exchange(edits_, 0) > 0) keeper_->drop();
  } else if (!same) {
    keeper_->keep({document_.file(), ++edits_, kept_, document_.rig_unsaved() ? kept_rig_ : nullptr, speech_.unsaved(document_)});
  }
}

void Studio::offer_left() {
  if (offered_ || left_.empty() || dialog_ != Dialog::none) return;
  offered_ = true;
  journal_.line("left " + std::to_string(left_.size()));
  ask(Dialog::recover);
}

void Studio::apply_one(const Recover& c) {
  if (c.which >= left_.size()) return;
  if (!c.throw_away) return recover(c.which);
  store::forget(left_[c.which]);
  left_.erase(left_.begin() + static_cast<std::ptrdiff_t>(c.which));
  panels_.recover = {};
  journal_.line("thrown away");
  if (left_.empty()) dialog_ = Dialog::none;
}

void Studio::recover(std::size_t which) {
  dialog_ = Dialog::none;
  if (which >= left_.size() || (document_.open() && keeps_front())) return;
  auto work = store::read_left(left_[which]);
  if (!work) return refuse(work.problem());
  const auto rig = rig_of(*work);
  if (!rig) return refuse(rig.problem());
  const std::string file = left_[which].recovery.string();
  show::Findings notes = show::validate(*work->show, **rig, file);
  const auto error = std::find_if(notes.begin(), notes.end(), [](const show::Finding& f) { return f.severity == show::Severity::error; });
  if (error != notes.end()) return refuse(*error);
  if (const auto refused = perform::refusal(**rig, file, notes)) return refuse(*refused);
  take_document(Document(*rig, work->show, work->file, true), std::move(notes));
  if (work->rig) document_.mark_rig_unsaved();
  // What was saved after the last edit that is held is another's: it counts as never read here.
  if (under_.show.changed_ns / 1'000'000'000 > left_[which].time_s) under_.show = {};
  if (!work->file.empty()) panels_.path.folder = work->file.parent_path();
  edits_ = work->edits;
  for (auto& n : speech_.recover(document_, work->beside)) note(std::move(n));
  // Kept anew first: the file of the crash goes only when this one is there.
  keeper_->keep({work->file, edits_, kept_, work->rig, work->beside});
  keeper_->take_over(std::move(left_[which]));
  left_.erase(left_.begin() + static_cast<std::ptrdiff_t>(which));
  journal_.line("recovered " + std::to_string(edits_) + " edits");
}

void Studio::apply_one(const MakeHead&) {
  HeadState& state = panels_.head;
  judge(state);
  if (!state.usable) return;
  const fs::path stem = fs::path(state.folder) / state.name, rig_file = stem.string() + ".rig.json", show_file = stem.string() + ".show.json";
  std::error_code ignored;
  for (const fs::path& file : {rig_file, show_file})
    if (fs::exists(file, ignored)) {
      state.findings = {{show::Severity::error, file.string(), "", "is there already", "Give the head another name, or choose another folder."}};
      return;
    }
  show::Show show;
  show.name = state.name, show.rig_file = rig_file.filename().string(), show.length = std::chrono::seconds(10);
  auto problem = store::save_rig(rig_file, state.made.rig);
  if (!problem) problem = store::save_show(show_file, show);
  if (problem) {
    state.findings = {*problem};
    return;
  }
  journal_.line("head " + rig_file.string());
  state = {};
  apply(OpenFile{show_file});
}

}  // namespace mien::editor
