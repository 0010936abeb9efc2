// The part of the studio that has several shows open: one in front, which is heard, performed and driven, the others put by as they are.
#include <algorithm>

#include "editor/studio.hpp"

namespace mien::editor {

// The only thing that one show has for the head is that it drives it: another one never takes its place unasked.
bool Studio::keeps_front() {
  if (bench_) {
    note(show::Finding{show::Severity::warning, document_.file().string(), "", "the workbench is open on its rig", "Leave the workbench first."});
    return true;
  }
  if (hands_.recording || hands_.count_in_until_ns) {
    const Action* record = find_action("hands_record");
    note(show::Finding{show::Severity::warning, document_.file().string(), "", "a take is being recorded on it", "End the take" + (record ? " (" + to_text(keys_.of(*record)) + ")" : std::string()) + ", then go to the other show."});
    return true;
  }
  if (!live()) return false;
  const Action* disarm = find_action("disarm");
  const std::string key = disarm ? to_text(keys_.of(*disarm)) : "";
  note(show::Finding{show::Severity::warning, document_.file().string(), "", "\u201C" + document_.whole().name + "\u201D drives the head, and only one show can",
                     "Disarm" + (key.empty() ? "" : " (" + key + ")") + ", then go to the other show."});
  return true;
}

// All that is this show's, onto its tab.
void Studio::stow() {
  if (!document_.open()) return;
  document_.take_back();
  Tab& t = tabs_[front_];
  if (loading_.valid()) {  // what is half read is read anew when the show comes back
    if (unwanted_) *unwanted_ = true;
    given_up_.push_back(std::move(loading_));
    sounds_of_.clear(), sounds_.clear(), placed_.clear();
  }
  t.playhead = playhead(), t.scroll = panels_.timeline.scroll;
  t.document = std::exchange(document_, {}), t.view = std::exchange(view_, {});
  t.shown_of = std::exchange(shown_of_, {}), t.before_clip = std::exchange(before_clip_, {});
  t.placed = std::exchange(placed_, {}), t.sounds = std::exchange(sounds_, {}), t.sounds_of = std::exchange(sounds_of_, {});
  t.speech = speech_.put_by(), spectra_.clear(), say_from_ = nullptr;
  t.under = std::exchange(under_, {});
  t.keeper = std::move(keeper_), t.kept = std::exchange(kept_, nullptr), t.kept_rig = std::exchange(kept_rig_, nullptr), t.edits = std::exchange(edits_, 0);
}

// What the window had open for the show before, and what it computed of it, is gone; the stage has this one.
void Studio::set_out() {
  dialog_ = Dialog::none;
  panels_.timeline = {}, panels_.curve = {}, panels_.keys = {}, panels_.transport = {}, panels_.compose = {};
  bake_job_.stop(), arrive_job_.stop();
  baking_ = {}, arriving_ = {};
  bench_.reset();
  told_ = nullptr, rivals_.clear(), rivals_for_ = nullptr;
  stage_.stop_playing();
  fetch_hands();
  after_edit();
}

void Studio::bring(std::size_t which) {
  if (which >= tabs_.size() || (which == front_ && document_.open())) return;
  stow();
  front_ = which;
  Tab& t = tabs_[front_];
  document_ = std::exchange(t.document, {}), view_ = std::exchange(t.view, {});
  shown_of_ = std::exchange(t.shown_of, {}), before_clip_ = std::exchange(t.before_clip, {});
  placed_ = std::exchange(t.placed, {}), sounds_ = std::exchange(t.sounds, {}), sounds_of_ = std::exchange(t.sounds_of, {});
  speech_.take_up(std::exchange(t.speech, {}));
  under_ = std::exchange(t.under, {});
  keeper_ = std::move(t.keeper), kept_ = std::exchange(t.kept, nullptr), kept_rig_ = std::exchange(t.kept_rig, nullptr), edits_ = std::exchange(t.edits, 0);
  set_out();
  panels_.timeline.scroll = t.scroll;
  if (!document_.file().empty()) panels_.path.folder = document_.file().parent_path();
  stage_.set_sounds(shown_of_.kind == KeysOf::Kind::clip ? std::vector<sound::Placed>{} : placed_);
  stage_.seek(t.playhead);
  journal_.line("tab " + document_.whole().name);
}

void Studio::take_document(Document document, show::Findings notes) {
  const bool untouched = document_.open() && document_.file().empty() && document_.steps() == 1 && edits_ == 0;  // a recovered one has edits
  const bool strips = view_.strips, handles = view_.handles;  // how the person likes the curve view, whatever is in it
  std::size_t same = tabs_.size();
  for (std::size_t i = 0; i < tabs_.size(); ++i)
    if (!document.file().empty() && tab(i).file() == document.file() && !tab(i).unsaved()) same = i;
  if (same < tabs_.size()) bring(same);
  if (!document_.open() || (!untouched && same == tabs_.size())) {
    stow();
    front_ = tabs_.empty() ? 0 : front_ + 1;  // beside the one that was in front
    tabs_.insert(tabs_.begin() + static_cast<std::ptrdiff_t>(front_), Tab{});
    if (!keeper_ && !places_.state.empty()) keeper_ = std::make_unique<store::Keeper>(places_.state / "recovery");
  }
  tabs_[front_].let_go = false;
  document_ = std::move(document);
  notices_ = std::move(notes);
  sounds_.clear(), spectra_.clear(), say_from_ = nullptr;
  speech_.put_by();
  view_ = {};
  view_.strips = strips, view_.handles = handles;
  shown_of_ = {};
  view_.visible = fitted(document_.show().length);
  for (const show::ChannelPtr& c : document_.show().channels)
    if (c && !c->keys.empty() && view_.control.empty()) view_.control = c->control;
  if (view_.control.empty() && !document_.rig().controls.empty()) view_.control = document_.rig().controls.front().name;
  if (keeper_) keeper_->drop();
  kept_ = document_.shared_whole(), kept_rig_ = document_.shared_rig(), edits_ = 0;
  set_out();
  load_sounds();
  watch_files(store::stamp_of(document_.file()));
}

void Studio::apply_one(const ShowTab& c) {
  if (c.which >= tabs_.size() || c.which == front_ || keeps_front()) return;
  bring(c.which);
}

void Studio::apply_one(const CloseTab& c) {
  if (c.which >= tabs_.size()) return;
  if (c.which != front_ && !tab(c.which).unsaved()) {  // one that is put by and saved just goes
    journal_.line("closed " + tab(c.which).whole().name);
    if (tabs_[c.which].keeper) tabs_[c.which].keeper->drop();
    tabs_.erase(tabs_.begin() + static_cast<std::ptrdiff_t>(c.which));
    if (c.which < front_) --front_;
    return;
  }
  if (keeps_front()) return;
  bring(c.which);
  tabs_[front_].let_go = false;
  unless_unsaved(Then::close);
}

void Studio::close_front() {
  journal_.line("closed " + document_.whole().name);
  if (keeper_) keeper_->drop();
  if (unwanted_) *unwanted_ = true;
  if (loading_.valid()) given_up_.push_back(std::move(loading_));
  keeper_.reset();
  under_ = {};
  document_ = {}, view_ = {}, shown_of_ = {}, before_clip_ = {};
  placed_.clear(), sounds_.clear(), sounds_of_.clear(), spectra_.clear(), say_from_ = nullptr;
  speech_.put_by();
  kept_ = nullptr, kept_rig_ = nullptr, edits_ = 0;
  tabs_.erase(tabs_.begin() + static_cast<std::ptrdiff_t>(front_));
  if (!tabs_.empty()) {
    front_ = std::min(front_, tabs_.size() - 1);
    return bring(front_);
  }
  // No show is left: as at first start, with nothing to hear and nothing in the making.
  front_ = 0;
  dialog_ = Dialog::none;
  panels_.timeline = {}, panels_.curve = {}, panels_.keys = {}, panels_.transport = {}, panels_.compose = {};
  bake_job_.stop(), arrive_job_.stop();
  stage_.stop_playing();
  stage_.set_sounds({});
}

void Studio::ask_to_quit() { unless_unsaved(Then::quit); }

// When all is to be left, each show with unsaved work is asked about in turn; none is closed before all are settled.
void Studio::unless_unsaved(Then then) {
  then_ = then;
  if (document_.unsaved() && !tabs_[front_].let_go) {
    dialog_ = Dialog::unsaved;
    return;
  }
  carry_on(then);
}

void Studio::carry_on(Then then) {
  then_ = Then::nothing;
  if (then == Then::close) close_front();
  if (then != Then::quit) return;
  for (std::size_t i = 0; i < tabs_.size(); ++i) {
    if (!tab(i).unsaved() || tabs_[i].let_go) continue;
    if (i != front_ && keeps_front()) return;
    bring(i);
    return unless_unsaved(Then::quit);
  }
  quit_ = true;
  if (keeper_) keeper_->drop();
  for (Tab& t : tabs_)
    if (t.keeper) t.keeper->drop();
  journal_.line("quit");
}

}  // namespace mien::editor
