#include "editor/possible.hpp"

#include <chrono>
#include <fstream>
#include <map>
#include <thread>

#include "editor/lanes.hpp"
#include "show/library.hpp"
#include "store/recovery.hpp"
#include "store/settings.hpp"
#include "store/store.hpp"
#include "talk/files.hpp"

namespace mien::tests {
namespace {
using editor::Dialog;
using editor::KeysOf;
using editor::Studio;
using show::from_seconds;
using GoOn = std::function<void()>;

// Waits for what is computed beside the window; the limit only ends a broken run.
template <class Done>
void until(const GoOn& go_on, Done done) {
  for (int i = 0; i < 5000 && !done(); ++i) {
    go_on();
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
}

void hold_at_bench(Studio& s, FakeStage& stage, const GoOn& go_on) {
  s.act("bench");
  stage.open_port("sim:");
  go_on();
  s.apply(editor::Ask{Dialog::checklist});
  s.apply(editor::Confirm{});
  for (int i = 0; i < 10; ++i) {
    stage.now.setpoint_deg[0] = stage.published->channels.front()->keys.front().value;
    go_on();
  }
}

void stand_at_finding(Studio& s, FakeStage&, const GoOn& go_on) {
  until(go_on, [&] { return s.feasibility() && s.feasibility()->show == s.document().shared_whole(); });
  s.act("finding_on");
  go_on();
}

void learn_a_knob(Studio& s, FakeStage& stage, const GoOn& go_on) {
  s.learn();
  live::Touch touch;
  touch.midi = {live::MidiMessage::Kind::controller, 0, 7, 64, {}};
  stage.now.hands.before = stage.now.hands.last = touch;
  ++stage.now.hands.heard;
  go_on();
}

using Step = void (*)(Studio&, FakeStage&, const GoOn&);
void port_open(Studio&, FakeStage& stage, const GoOn& go_on) { stage.open_port("sim:"), go_on(); }
void armed(Studio&, FakeStage& stage, const GoOn& go_on) { stage.open_port("sim:"), stage.arm(), go_on(); }
// Chosen keys move together, and stay within their range together: one that has room.
void choose_one_with_room(Studio& s, bool above) {
  for (const auto& channel : s.document().show().channels) {
    const show::Control& control = *editor::find_control(s.document().rig(), channel->control);
    for (const show::Keyframe& key : channel->keys) {
      if (above ? key.value >= control.max : key.value <= control.min) continue;
      editor::Selection one;
      one.add({channel->control, key.time});
      return s.apply(editor::Select{one});
    }
  }
}
void two_tabs(Studio& s, FakeStage&, const GoOn&) { s.act("recent"); }
void two_cues(Studio& s, FakeStage&, const GoOn&) { s.act("cue_add"), s.act("cue_add"); }
// The first or last control of the first group that has several.
std::string end_of_group(const Studio& s, bool last) {
  std::string found;
  for (const auto& c : s.document().rig().controls) {
    const auto place = editor::place_of_lane(s.document().rig(), s.document().show(), c.name);
    if (place.count > 1 && place.index == (last ? place.count - 1 : 0) && found.empty()) found = c.name;
  }
  return found;
}
void another_board(Studio& s, FakeStage& stage, const GoOn& go_on) {
  stage.open_port("sim:");
  link::BoardStatus board;
  board.name = s.document().rig().boards.front().name, board.answering = true, board.identity = 0xABCD, board.standing = link::Standing::replaced;
  stage.status.boards = {board};
  go_on();
}

// A sound whose words lie beside the show.
void words_there(Studio& s, FakeStage&, const GoOn& go_on) {
  speech::Alignment line;
  line.length = from_seconds(1);
  line.words = {{{from_seconds(0.2), from_seconds(0.6)}, "ah", 1, speech::Origin::given}};
  line.phones = {{{from_seconds(0.2), from_seconds(0.6)}, "AA", 1, 0}};
  talk::write_alignment(s.document().file().parent_path() / "line.TextGrid", line);
  auto with = std::make_shared<show::Show>(s.document().whole());
  with->sounds = {{"line.wav", show::Time{0}, show::Time{0}, 0}};
  s.apply(editor::Change{editor::Composition{editor::PutShow{"Add a sound", with}}});
  go_on();
}

const std::map<std::string_view, Step>& steps() {
  static const std::map<std::string_view, Step> all{
      {"undo", [](Studio& s, FakeStage&, const GoOn&) { s.act("marker"); }},
      {"redo", [](Studio& s, FakeStage&, const GoOn&) { s.act("marker"), s.undo(); }},
      {"paste", [](Studio& s, FakeStage&, const GoOn&) { s.copy(); }},
      {"select_all", [](Studio& s, FakeStage&, const GoOn&) { s.apply(editor::Select{}); }},
      {"back", [](Studio& s, FakeStage&, const GoOn&) { s.apply(editor::OpenKeys{{KeysOf::Kind::clip, "nod"}}); }},
      {"arrive", stand_at_finding}, {"arrive_all", stand_at_finding}, {"finding_back", stand_at_finding}, {"copy_findings", stand_at_finding},
      {"finding_on", [](Studio& s, FakeStage& stage, const GoOn& go_on) { stand_at_finding(s, stage, go_on), stage.now.time = show::Time{0}, go_on(); }},
      {"hands_record", learn_a_knob}, {"labels_export", words_there},
      {"disconnect", port_open}, {"arm", port_open}, {"disarm", armed}, {"take_over", another_board},
      {"show_on", two_tabs}, {"show_back", two_tabs},
      {"select_loop", [](Studio& s, FakeStage&, const GoOn&) { if (!s.document().show().loop) s.act("loop"); s.apply(editor::Select{}); }},
      {"cue_up", two_cues}, {"cue_remove", two_cues},
      {"cue_down", [](Studio& s, FakeStage& stage, const GoOn& go_on) { two_cues(s, stage, go_on), s.apply(editor::ChooseCue{s.document().whole().cues.front().name}); }},
      {"hands_trigger", [](Studio& s, FakeStage&, const GoOn&) { s.apply(editor::ShowSide{editor::Side::poses}); }},
      {"value_up", [](Studio& s, FakeStage&, const GoOn&) { choose_one_with_room(s, true); }},
      {"value_down", [](Studio& s, FakeStage&, const GoOn&) { choose_one_with_room(s, false); }},
      {"curve_alone", [](Studio& s, FakeStage&, const GoOn&) { s.act("curve_keep"); }},
      // The group's last control, and its first.
      {"lane_up", [](Studio& s, FakeStage&, const GoOn&) { s.apply(editor::Choose{end_of_group(s, true)}); }},
      {"lane_down", [](Studio& s, FakeStage&, const GoOn&) { s.apply(editor::Choose{end_of_group(s, false)}); }},
      {"bench_leave", [](Studio& s, FakeStage&, const GoOn&) { s.act("bench"); }},
  };
  return all;
}

show::ChannelPtr two_keys(const show::Control& c, double at_s) {
  return std::make_shared<const show::Channel>(show::Channel{c.name, {{from_seconds(at_s), c.rest}, {from_seconds(at_s + 0.5), 0.5 * (c.rest + c.max)}}});
}

}  // namespace

show::Show composed(show::Show show, const show::Rig& rig, const std::string& control, const std::string& hurried) {
  const show::Control& moved = *editor::find_control(rig, control);
  show = show::with_pose(show, {"glad", {6, 12}, "", {{control, moved.max}}});
  show = show::with_clip(show, {"nod", from_seconds(1), {two_keys(moved, 0.2)}});
  show::Layer ground, placed, top;
  ground.name = "ground", ground.channels = {two_keys(moved, 0.3)};
  placed.name = "placed", placed.placements = {{"nod", from_seconds(1)}};
  top.name = "top", top.blend = show::Layer::Blend::add;
  for (auto& layer : {ground, placed, top}) show.layers.push_back(std::make_shared<const show::Layer>(layer));
  const show::Control& late = *editor::find_control(rig, hurried);
  show::Channel channel{hurried, {}};
  if (const show::Channel* was = show::find_channel(show, hurried)) channel = *was;
  const show::Time at = show.length - std::chrono::milliseconds(960);
  std::erase_if(channel.keys, [&](const show::Keyframe& k) { return k.time >= at - std::chrono::milliseconds(500); });
  channel.keys.push_back({at, late.min});
  channel.keys.push_back({at + std::chrono::milliseconds(40), late.max});
  std::erase_if(show.channels, [&](const auto& c) { return c->control == hurried; });
  show.channels.push_back(std::make_shared<const show::Channel>(std::move(channel)));
  return show;
}

Lived::Lived(const std::filesystem::path& folder, const show::Rig& rig, const show::Show& show)
    : a(folder / "a.show.json"), b(folder / "b.show.json"), places{folder / "config", folder / "state"} {
  show::Show saved = show;
  saved.rig_file = "head.rig.json";
  store::save_rig(folder / saved.rig_file, rig);
  store::save_show(a, saved), store::save_show(b, saved);
  store::add_recent(places.state, b);
  std::filesystem::create_directories(places.config);
  std::ofstream(places.config / "keys") << "loop = Shift+J\n";
  store::Keeper keeper(places.state / "recovery");
  keeper.keep({b, 3, std::make_shared<const show::Show>(saved), nullptr});
  keeper.settle();
}

void Lived::move_in(Studio& studio, const GoOn& go_on) const {
  studio.move_in(places);
  studio.open(a);
  go_on();
  studio.apply(editor::Ask{});
  go_on();
}

void make_possible(Studio& s, FakeStage& stage, const GoOn& go_on, std::string_view id) {
  s.apply(editor::ChoosePose{"glad"});
  s.apply(editor::ChooseClip{"nod"});
  s.apply(editor::ChooseLayer{"placed"});
  s.apply(editor::Select{editor::all_keys(s.document().show())});
  if (const auto found = steps().find(id); found != steps().end()) found->second(s, stage, go_on);
  else if (id.starts_with("bench_")) hold_at_bench(s, stage, go_on);
  go_on();
}

}  // namespace mien::tests
