#include "editor/studio.hpp"

#include <imgui.h>

#include <algorithm>
#include <cmath>

#include "editor/draw.hpp"
#include "editor/finding_marks.hpp"
#include "editor/safety.hpp"
#include "motion/curve.hpp"
#include "threads/steady.hpp"

namespace mien::editor {

Studio::Studio(Stage& stage, Look look, Journal journal)
    : stage_(stage), look_(std::move(look)), journal_(std::move(journal)), report_(stage.report()), link_(stage.link()) {
  if (!look_.fonts.note.empty()) notices_.push_back({show::Severity::note, "", "", look_.fonts.note.substr(0, look_.fonts.note.find('.')), look_.fonts.note.substr(look_.fonts.note.find('.') + 2)});
  panels_.path.folder = std::filesystem::current_path();
}

Studio::~Studio() {
  if (unwanted_) *unwanted_ = true;
}

show::Time Studio::playhead() const noexcept { return report_.time; }

bool Studio::lively() const noexcept {
  return report_.playing || link_.state != link::State::closed || loading_.valid() || document_.drafting() || arrive_job_.running() || bake_job_.running() || speech_.speaking.running || spectrum_job_.running() || view_.as_built || panels_.hands_open || panels_.cue_board || gamepads_ > 0 || network_.osc || network_.sacn || follows_ != live::FollowSettings::Source::none || code_sent_.on || hands_.count_in_until_ns != 0 || asking_desktop_.valid() || desktop_dialog_.lively();
}

std::string Studio::title() const {
  if (!document_.open()) return "Mien";
  const std::string file = document_.file().empty() ? "not saved yet" : document_.file().filename().string();
  return (document_.unsaved() ? "\u2022 " : "") + document_.whole().name + " (" + file + ") \u2013 Mien";
}

void Studio::stop_now() {
  stage_.stop();
  journal_.line("stop");
}

bool Studio::act(std::string_view id) {
  const Action* action = find_action(id);
  if (!action || !action->possible(*this)) return false;
  action->run(*this);
  return true;
}

void Studio::handle_keys(const std::vector<KeyPress>& presses) {
  const ImGuiIO& io = ImGui::GetIO();
  // Whatever is pressed ends a travel test, and does nothing else.
  if (bench_ && bench_->bench.doing() == perform::Doing::travelling && std::any_of(presses.begin(), presses.end(), [](const KeyPress& p) { return !p.repeat; }))
    return apply(Work{Work::Do::halt});
  for (const KeyPress& press : presses) {
    if (take_key(press) || take_cue_key(press)) continue;
    const Action* action = keys_.find(Chord{press.key, press.mods});
    if (!action || (press.repeat && !action->repeats)) continue;
    if (action->id == "stop") {
      // The window's callback stopped the hardware already, whatever is open; here Escape also closes what asks.
      // Elsewhere the first Escape takes back what was typed; the palette is left as quickly as it came.
      if (dialog_ == Dialog::palette || (!io.WantTextInput && dialog_ != Dialog::none)) apply(Ask{Dialog::none});
      continue;
    }
    if (io.WantTextInput || dialog_ != Dialog::none) continue;
    if (panels_.timeline.drag.kind != Drag::Kind::none || panels_.curve.drag.kind != Drag::Kind::none) continue;
    act(action->id);
  }
}

// One line for each change of what the stage says, for the journal.
void Studio::follow_stage() {
  report_ = stage_.report();
  link_ = stage_.link();
  silent_because_ = stage_.silent_because();
  const std::string state = "state link=" + std::string(link::name(link_.state)) + " word=" +
                            std::string(safety_word(link_.state, report_.mode).word) + (report_.playing ? " playing" : " paused");
  if (state != last_state_) journal_.line(last_state_ = state);
  follow_bench();
  follow_inputs();
  follow_sounds();
  follow_arrival();
  follow_bake();
  follow_talk();
  follow_spectra();
  follow_hands();
  follow_network();
  follow_cues();
  follow_findings();
  follow_desktop();
}

// Levels are followed always, so that a contact which is closed when the head is armed starts nothing; obeyed while it is armed.
void Studio::follow_inputs() {
  if (!document_.open()) return;
  if (watched_ != document_.shared_rig()) inputs_.set_rig(watched_ = document_.shared_rig());
  if (watched_->inputs.empty()) return;
  for (const int n : inputs_.look(link_, threads::steady_ns()))
    if (link_.state == link::State::armed && !bench_) obey(watched_->inputs[static_cast<std::size_t>(n)]);
}

void Studio::obey(const show::Input& input) {
  const auto order = perform::order_of(input, *watched_, document_.whole(), report_.playing);
  using Do = perform::Order::Do;
  if (order.what == Do::play) stage_.play();
  if (order.what == Do::stop) stage_.stop_playing();
  if (order.what == Do::play_from) stage_.seek(order.from), stage_.play();
  if (order.what == Do::set_state) stage_.set_state(order.auxiliary, order.value);
  if (order.what == Do::start_cue) stage_.start_cue(order.cue);
  journal_.line("input " + input.name + ": " + (order.what == Do::nothing ? "nothing to do" : perform::to_text(input.action)));
}

void Studio::follow_sounds() {
  std::erase_if(given_up_, [](auto& old) { return old.wait_for(std::chrono::seconds(0)) == std::future_status::ready; });
  if (!loading_.valid() || loading_.wait_for(std::chrono::seconds(0)) != std::future_status::ready) return;
  LoadedSounds loaded = loading_.get();
  sounds_ = std::move(loaded.drawn);
  placed_ = std::move(loaded.placed);
  if (shown_of_.kind != KeysOf::Kind::clip) stage_.set_sounds(placed_);
  notices_.insert(notices_.end(), loaded.notes.begin(), loaded.notes.end());
  journal_.line("sounds " + std::to_string(sounds_.size()));
}

void Studio::apply(const Command& command) {
  std::visit([this](const auto& c) { apply_one(c); }, command);
}

void Studio::apply_one(const Act& c) { act(c.id); }

void Studio::apply_one(const Change& c) {
  if (!document_.open()) return;
  if (!c.done) {
    document_.draft(c.edit);
    return after_edit();
  }
  const bool drafted = document_.drafting();
  const std::string name = document_.commit(c.edit);
  if (!name.empty()) journal_.line("edit " + name);
  if (drafted || !name.empty()) after_edit();
}

void Studio::apply_one(const TakeBack&) {
  if (!document_.open() || !document_.drafting()) return;
  document_.take_back();
  journal_.line("take back");
  after_edit();
}

void Studio::apply_one(const Select& c) {
  if (document_.open() && !(document_.selection() == c.selection)) document_.select(kept(c.selection, document_.show()));
}

void Studio::apply_one(const Choose& c) {
  if (document_.open() && find_control(document_.rig(), c.control)) view_.control = c.control;
}

void Studio::apply_one(const Fold& c) {
  if (c.folded) view_.folded.insert(c.group);
  else view_.folded.erase(c.group);
}

void Studio::apply_one(const See& c) { see(c.visible); }
void Studio::see(show::Range range) {
  view_.visible = sane_view(range, document_.open() ? document_.show().length : show::Time{0});
}

void Studio::apply_one(const Seek& c) {
  if (!document_.open()) return;
  if (c.scrub) stage_.scrub(c.time);
  else {
    stage_.seek(c.time);
    journal_.line("seek " + seconds_text(c.time));
  }
}

void Studio::apply_one(const GoTo& c) {
  if (!document_.open()) return;
  if (const show::Control* control = find_control(document_.rig(), c.control)) {
    apply(Choose{c.control});
    view_.folded.erase(control->group);
    panels_.timeline.reveal = c.control;
    if (find_key(document_.show(), {c.control, c.time})) apply(Select{Selection::from({{c.control, c.time}})});
  }
  if (!view_.visible.contains(c.time)) see(panned(view_.visible, c.time - (view_.visible.begin + view_.visible.length() / 2), document_.show().length));
  apply(Seek{c.time});
}

void Studio::apply_one(const Ask& c) {
  then_ = Then::nothing;
  for (Tab& t : tabs_) t.let_go = false;
  ask(c.dialog);
}
void Studio::apply_one(const Dismiss&) { notices_.clear(); }

void Studio::apply_one(const OpenPort& c) {
  ask(Dialog::none);
  stage_.open_port(c.port);
  journal_.line("connect " + c.port);
}

void Studio::apply_one(const Confirm&) {
  const Dialog asked = dialog_;
  dialog_ = Dialog::none;
  if (asked == Dialog::checklist && bench_) {
    bench_->bench.acknowledge();
    stage_.arm();
    journal_.line("arm one");
  } else if (asked == Dialog::arm) {
    if (document_.open()) apply(OpenKeys{});  // the head performs the show, not a clip alone
    stage_.arm();
    journal_.line("arm");
  } else if (asked == Dialog::take_over) {
    if (live()) return;  // one that joined a head in motion would move with it: nobody asked for that
    stage_.adopt();
    journal_.line("take over");
  } else if (asked == Dialog::unsaved) {
    const Then then = then_;
    if (save()) carry_on(then);
  } else if (asked == Dialog::replaced && panels_.replaced.asked != Dialog::save_as) {
    export_as(panels_.replaced.asked, panels_.replaced.target, true);
  } else if (asked == Dialog::replaced) {
    const Then then = then_;
    if (save_as(panels_.replaced.target)) carry_on(then);
  }
}

void Studio::apply_one(const Discard&) {
  dialog_ = Dialog::none;
  journal_.line("discard");
  if (!tabs_.empty()) tabs_[front_].let_go = true;
  carry_on(then_);
}

// Everything that follows from a changed show: the stage performs it, the limiter's answer is computed anew.
void Studio::after_edit() {
  const bool was_clip = shown_of_.kind == KeysOf::Kind::clip, other_keys = !(shown_of_ == document_.keys_of());
  follow_keys();
  const bool is_clip = shown_of_.kind == KeysOf::Kind::clip;
  performed_ = performed();
  if (bench_) {
    const auto index = static_cast<std::size_t>(bench_->actuator);
    if (document_.rig().actuators[index].reversed != bench_->rig->actuators.front().reversed) apply(Work{Work::Do::choose, 0, bench_->actuator});
  } else {
    tell_stage();
  }
  if (other_keys && (was_clip || is_clip)) stage_.seek(is_clip ? show::Time{0} : before_clip_.playhead);  // the clock of a clip is its own
  setpoints_.request(document_.shared_rig(), performed_);
  if (arriving_for_ != arrives()) arriving_.word.clear(), arriving_.unmended.clear(), arrive_job_.stop();
}

void Studio::tell_stage() {
  if (told_rig_ != document_.shared_rig()) {
    told_rig_ = document_.shared_rig();
    stage_.set_rig(*told_rig_);
    ghost_.set_rig(told_rig_);
  }
  stage_.publish(document_.shared_rig(), performed_);
  stage_.set_loop(document_.show().loop.value_or(show::Range{}));
}

void Studio::undo() {
  journal_.line("undo " + document_.undo_name());
  document_.undo();
  if (live()) document_.open_keys({});
  after_edit();
}

void Studio::redo() {
  document_.redo();
  if (live()) document_.open_keys({});
  journal_.line("redo " + document_.undo_name());
  after_edit();
}

void Studio::copy() {
  const auto refs = document_.selection().refs();
  clipboard_ = show::copy_keys(document_.show(), refs);
  journal_.line("copy " + std::to_string(refs.size()));
}

void Studio::paste() { apply(Change{PasteKeys{clipboard_, playhead()}, true}); }

void Studio::toggle_play() {
  report_.playing ? stage_.pause() : stage_.play();
  journal_.line(report_.playing ? "pause" : "play");
}

void Studio::stop_playing() {
  stage_.stop_playing();
  journal_.line("to start");
}

void Studio::step_playhead(int ticks) {
  const show::Time tick{1'000'000'000 / std::max(1, document_.rig().tick_hz)};
  apply(Seek{std::clamp(snapped(playhead() + tick * ticks, tick), show::Time{0}, document_.show().length)});
}

void Studio::jump_to_key(int direction) {
  std::optional<show::Time> best;
  for (const show::ChannelPtr& c : document_.show().channels) {
    if (!c || c->keys.empty() || (!view_.control.empty() && c->control != view_.control)) continue;
    const auto after = std::upper_bound(c->keys.begin(), c->keys.end(), playhead(), [](show::Time t, const show::Keyframe& k) { return t < k.time; });
    const auto from = std::lower_bound(c->keys.begin(), c->keys.end(), playhead(), [](const show::Keyframe& k, show::Time t) { return k.time < t; });
    if (direction > 0 && after != c->keys.end() && (!best || after->time < *best)) best = after->time;
    if (direction < 0 && from != c->keys.begin() && (!best || std::prev(from)->time > *best)) best = std::prev(from)->time;
  }
  if (best) apply(Seek{*best});
}

void Studio::jump_to_finding(int direction) {
  const auto f = feasibility();
  if (!f) return;
  if (const auto* s = next_finding(*f, playhead(), perform::control_index(document_.rig(), view_.control), direction)) apply(where(*f, *s));
}

void Studio::add_key_at_playhead() {
  const show::Control* control = find_control(document_.rig(), view_.control);
  if (!control) return;
  // One that stands there already is what was asked for, with its own easing.
  if (const show::KeyRef there{view_.control, playhead()}; find_key(document_.show(), there)) return apply(Select{Selection::from({there})});
  const show::Channel* channel = show::find_channel(document_.show(), view_.control);
  const double value = channel ? motion::evaluate(*channel, playhead(), control->rest) : control->rest;
  apply(Change{SetKey{view_.control, {playhead(), value, show::kSmooth}}, true});
}

bool Studio::strangers() const noexcept {
  return std::any_of(link_.boards.begin(), link_.boards.end(), [](const link::BoardStatus& b) { return b.standing != link::Standing::expected; });
}

void Studio::disconnect() {
  stage_.close_port();
  journal_.line("disconnect");
}

void Studio::disarm() {
  stage_.disarm();
  journal_.line("disarm");
}

}  // namespace mien::editor
