// The part of the studio that deals with hands: their map, learning, recording and takes.
#include <algorithm>
#include <array>

#include "editor/studio.hpp"
#include "live/gamepad.hpp"
#include "live/learn.hpp"
#include "store/map_store.hpp"
#include "store/take_store.hpp"
#include "threads/steady.hpp"

namespace mien::editor {
namespace fs = std::filesystem;
namespace {

// "keeper.rig.json" and ".rig.json" give "keeper"; whatever else a file is called stays whole.
fs::path beside(const fs::path& file, const std::string& suffix, const std::string& now) {
  std::string name = file.filename().string();
  if (name.ends_with(suffix)) name.resize(name.size() - suffix.size());
  return file.parent_path() / (name + now);
}

constexpr std::array kCurves{1.0, 1.5, 2.0, 3.0};
double next_curve(double curve) {
  for (const double c : kCurves)
    if (c > curve) return c;
  return kCurves.front();
}

}  // namespace

// With another document: its rig's map, where there is one, and what was recorded of it.
void Studio::fetch_hands() {
  hands_ = {};
  hands_.given.assign(document_.rig().groups.size(), 1);
  const fs::path show_file = document_.file();
  const fs::path rig_file = fs::path(document_.show().rig_file).is_absolute() ? fs::path(document_.show().rig_file) : show_file.parent_path() / document_.show().rig_file;
  // A show that was never saved names its rig from nowhere, unless by its whole path.
  if (!document_.show().rig_file.empty() && (!show_file.empty() || rig_file.is_absolute())) hands_.file = beside(rig_file, ".rig.json", ".map.json");
  hands_.map.name = document_.rig().name;
  std::error_code none;
  if (!hands_.file.empty() && fs::exists(hands_.file, none)) {
    auto loaded = store::load_map(hands_.file, document_.rig(), &document_.show());
    if (loaded) hands_.map = std::move(loaded->map);  // what the show lacks is no news to whoever opens it
    else notices_.push_back(loaded.problem()), hands_.file.clear();  // and is not overwritten
  }
  if (!show_file.empty()) {
    hands_.takes_file = beside(show_file, ".show.json", ".take.json");
    if (fs::exists(hands_.takes_file, none)) {
      auto takes = store::load_takes(hands_.takes_file);
      if (takes) hands_.takes = std::move(*takes);
    }
  }
  stage_.set_hands(hands_.map);
  gamepads_ = 0;  // met anew, with this head
}

// The first gamepad of a head whose map has none leads what is usual; saved with the next change that a person makes.
void Studio::meet_gamepad() {
  const std::size_t before = hands_.map.knobs.size();
  hands_.map = live::with_pad(std::move(hands_.map), document_.rig());
  if (hands_.map.knobs.size() == before) return;
  stage_.set_hands(hands_.map);
  journal_.line("gamepad leads " + std::to_string(hands_.map.knobs.size() - before) + " controls");
}

void Studio::map_changed() {
  stage_.set_hands(hands_.map);
  if (hands_.file.empty()) return;
  if (const auto problem = store::save_map(hands_.file, hands_.map)) notices_ = {*problem};
  journal_.line("map " + std::to_string(hands_.map.knobs.size()) + " knobs");
}

void Studio::keep_takes() {
  if (hands_.takes_file.empty()) return;
  std::error_code none;
  if (hands_.takes.empty()) fs::remove(hands_.takes_file, none);
  else if (const auto problem = store::save_takes(hands_.takes_file, hands_.takes)) notices_ = {*problem};
}

void Studio::learn() {
  hands_.learning_trigger.reset();
  hands_.learning = hands_.learning.empty() ? view_.control : "";
  hands_.heard = report_.hands.heard;
  panels_.hands_open = true;
}

// What it is to do is what is chosen in the list beside the lanes: a cue, a pose or a clip.
void Studio::learn_trigger() {
  panels_.hands_open = true;
  if (hands_.learning_trigger) return hands_.learning_trigger.reset();
  using What = live::Trigger::What;
  using Hold = live::Trigger::Hold;
  live::Trigger trigger;
  if (panels_.side == Side::poses) trigger.what = What::pose, trigger.name = view_.pose, trigger.hold = Hold::momentary;
  else if (panels_.side == Side::clips) trigger.what = What::clip, trigger.name = view_.clip, trigger.hold = Hold::once;
  else trigger.what = What::cue, trigger.name = view_.cue, trigger.hold = Hold::once;
  hands_.learning_trigger = std::move(trigger);
  hands_.heard = report_.hands.heard;
}

bool Studio::change_knob(const Hand& c) {
  using Do = Hand::Do;
  const auto n = static_cast<std::size_t>(c.index);
  if (n >= hands_.map.knobs.size()) return false;
  const show::Control* control = find_control(document_.rig(), hands_.map.knobs[n].control);
  live::Knob knob = hands_.map.knobs[n];
  const auto within = [&](double v) { return control ? std::clamp(v, control->min, control->max) : v; };
  switch (c.what) {
    case Do::unfold: hands_.unfolded = hands_.unfolded == c.index ? -1 : c.index; return false;
    case Do::low: knob.low = within(c.value); break;
    case Do::high: knob.high = within(c.value); break;
    case Do::exponent: knob.curve = std::clamp(c.value, live::kLeastCurve, live::kMostCurve); break;
    case Do::dead_zone: knob.dead_zone = std::clamp(c.value, 0.0, live::kMostDeadZone); break;
    case Do::smoothing: knob.smoothing_ms = std::clamp(c.value, 0.0, live::kMostSmoothing_ms); break;
    case Do::spring_back: knob.spring_back_s = std::clamp(c.value, 0.0, live::kMostFade_s); break;
    default: return false;
  }
  if (knob.low == knob.high) return false;  // a knob that leads nowhere
  hands_.map.knobs[n] = std::move(knob);
  return true;
}

bool Studio::change_trigger(const Hand& c) {
  using Do = Hand::Do;
  const auto n = static_cast<std::size_t>(c.index);
  if (n >= hands_.map.triggers.size()) return false;
  live::Trigger& trigger = hands_.map.triggers[n];
  switch (c.what) {
    case Do::unfold_trigger: hands_.unfolded_trigger = hands_.unfolded_trigger == c.index ? -1 : c.index; return false;
    case Do::trigger_name: trigger.name = c.name; return true;
    case Do::trigger_hold: trigger.hold = static_cast<live::Trigger::Hold>(std::clamp(static_cast<int>(c.value), 0, 2)); return true;
    case Do::trigger_remove: hands_.map.triggers.erase(hands_.map.triggers.begin() + c.index), hands_.unfolded_trigger = -1; return true;
    default: return false;
  }
}

void Studio::panic() {
  stage_.panic();
  journal_.line("panic");
}

// While the show plays it punches in and out; while it stands it counts in first.
void Studio::record() {
  if (hands_.recording || hands_.count_in_until_ns) return stop_recording();
  panels_.hands_open = true;
  hands_.tape.emplace(*live::compile(hands_.map, document_.shared_rig(), performed(), {}, stage_.addresses()), hands_.spared);
  if (report_.playing || hands_.count_in_s == 0) return start_recording();
  hands_.count_in_until_ns = threads::steady_ns() + show::from_seconds(hands_.count_in_s).count();
}

void Studio::start_recording() {
  hands_.count_in_until_ns = 0;
  hands_.recording = true, hands_.rolling = report_.playing;
  stage_.record(true);
  if (!report_.playing) stage_.play();
  journal_.line("record");
}

bool Studio::wind_up() {
  bool well = true;
  for (live::TakeTick tick; stage_.take(tick);) well &= hands_.tape->add(tick);
  return well;
}

void Studio::stop_recording() {
  const bool was = hands_.recording;
  hands_.count_in_until_ns = 0;
  hands_.recording = hands_.rolling = false;
  if (!was) return;
  stage_.record(false);
  wind_up();
  for (live::Take& take : hands_.tape->takes()) {
    take.name = "take " + std::to_string(hands_.takes.size() + 1);
    while (std::any_of(hands_.takes.begin(), hands_.takes.end(), [&](const auto& t) { return t.name == take.name; })) take.name += "'";
    hands_.takes.push_back(std::move(take));
  }
  hands_.tape.reset();
  keep_takes();
  journal_.line("recorded " + std::to_string(hands_.takes.size()) + " takes");
}

void Studio::follow_hands() {
  if (!document_.open()) return;
  hands_.devices = stage_.devices();
  const int pads = stage_.gamepads();
  if (pads > gamepads_) meet_gamepad();
  gamepads_ = pads;
  if (!hands_.learning.empty() && report_.hands.heard > hands_.heard) {
    const show::Control* control = find_control(document_.rig(), hands_.learning);
    const auto& last = report_.hands.last;
    const std::string device = last.device < hands_.devices.size() ? hands_.devices[last.device].name : "";
    const auto knob = control ? live::learned(last, report_.hands.before, device, *control) : std::nullopt;
    if (knob) {
      std::erase_if(hands_.map.knobs, [&](const live::Knob& k) { return k.control == knob->control && k.source == knob->source; });
      hands_.map.knobs.push_back(*knob);
      hands_.learning.clear();
      map_changed();
    }
    hands_.heard = report_.hands.heard;
  }
  if (hands_.learning_trigger && report_.hands.heard > hands_.heard) {
    const auto& last = report_.hands.last;
    const std::string device = last.device < hands_.devices.size() ? hands_.devices[last.device].name : "";
    if (const auto source = live::pressed(last, device)) {
      live::Trigger trigger = *hands_.learning_trigger;
      trigger.source = *source;
      std::erase_if(hands_.map.triggers, [&](const live::Trigger& t) { return t.source == trigger.source && t.bank == trigger.bank; });
      hands_.map.triggers.push_back(std::move(trigger));
      hands_.learning_trigger.reset();
      map_changed();
    }
    hands_.heard = report_.hands.heard;
  }
  if (hands_.count_in_until_ns && threads::steady_ns() >= hands_.count_in_until_ns) start_recording();
  if (!hands_.recording) return;
  if (!wind_up()) {
    stop_recording();
    notices_ = {{show::Severity::warning, document_.file().filename().string(), "recording", "What hands can move was changed, so the take ended there", "Record once more: it punches in while the show plays."}};
    return;
  }
  if (hands_.rolling && !report_.playing) stop_recording();
  hands_.rolling |= report_.playing;
}

void Studio::apply_one(const Hand& c) {
  if (!document_.open()) return;
  const auto n = static_cast<std::size_t>(c.index);
  using Do = Hand::Do;
  if (c.what == Do::give) {
    if (n >= hands_.given.size()) return;
    hands_.given[n] = !hands_.given[n];
    return stage_.give(c.index, hands_.given[n]);
  }
  if (c.what == Do::arm) {
    auto& spared = hands_.spared;
    if (std::erase(spared, c.name) == 0) spared.push_back(c.name);
    return;
  }
  if (c.what == Do::count_in) return void(hands_.count_in_s = std::clamp(c.value, 0.0, kMostCountIn_s));
  if (c.what == Do::error) return void(hands_.error_percent = std::clamp(c.value, 0.0, 50.0));
  if (c.what == Do::keep || c.what == Do::keep_layer || c.what == Do::drop) {
    if (n >= hands_.takes.size()) return;
    const live::Keying keying{.error_share = hands_.error_percent / 100};
    // The raw take stays: keeping it can be undone, and done again.
    if (c.what == Do::keep) return apply(Change{SetChannels{"Keep " + hands_.takes[n].name, live::into_channels(document_.show(), document_.rig(), hands_.takes[n], keying).channels}});
    if (c.what == Do::keep_layer) {
      apply(OpenKeys{});
      return apply(Change{Composition{PutShow{"Keep " + hands_.takes[n].name + " as a layer", std::make_shared<const show::Show>(live::into_layer(document_.whole(), document_.rig(), hands_.takes[n], keying))}}});
    }
    hands_.takes.erase(hands_.takes.begin() + c.index);
    return keep_takes();
  }
  if (c.what >= Do::unfold) {
    if (c.what >= Do::unfold_trigger ? change_trigger(c) : change_knob(c)) map_changed();
    return;
  }
  if (n >= hands_.map.knobs.size()) return;
  live::Knob& knob = hands_.map.knobs[n];
  switch (c.what) {
    case Do::invert: knob.inverted = !knob.inverted; break;
    case Do::takeover: knob.takeover = static_cast<live::Takeover>((static_cast<int>(knob.takeover) + 1) % 3); break;
    case Do::curve: knob.curve = next_curve(knob.curve); break;
    case Do::remove: hands_.map.knobs.erase(hands_.map.knobs.begin() + c.index), hands_.unfolded = -1; break;
    default: return;
  }
  map_changed();
}

}  // namespace mien::editor
