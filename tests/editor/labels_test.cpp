// Every action of the registry, driven by its label through its menu, and what it does then.
#include <GLFW/glfw3.h>
#include <gtest/gtest.h>

#include <map>
#include <set>
#include <thread>

#include "editor/handles.hpp"
#include "editor/lanes.hpp"
#include "editor/possible.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {
using editor::Dialog;
using editor::KeysOf;
using editor::Side;
using show::from_seconds;

/// How things were before.
struct Was {
  editor::Document document;
  editor::View view;
  std::size_t asked = 0;
  bool dark = false;
  show::Time playhead{0};
  double at_bench_deg = 0;
};

std::size_t count(const show::Show& show) { return editor::all_keys(show).size(); }
show::Time first(const show::Show& show) { return show::find_channel(show, "blink")->keys.front().time; }
bool asked(const Was& was, const Hands& h, const std::string& what) { return std::find(h.stage.asked.begin() + static_cast<std::ptrdiff_t>(was.asked), h.stage.asked.end(), what) != h.stage.asked.end(); }
std::size_t place(const show::Show& show, const char* layer) {
  return static_cast<std::size_t>(std::find_if(show.layers.begin(), show.layers.end(), [&](const auto& l) { return l->name == layer; }) - show.layers.begin());
}
const show::Show& whole(const Hands& h) { return h.document().whole(); }

template <class Done>
bool until(Hands& h, Done done) {
  for (int i = 0; i < 5000; ++i) {
    if (done()) return true;
    h.frame();
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  return false;
}

using Check = std::function<void(const Was&, Hands&)>;

Check asks(Dialog dialog) {
  return [=](const Was&, Hands& h) { EXPECT_EQ(h.studio->dialog(), dialog); };
}
Check shows(Side side) {
  return [=](const Was&, Hands& h) { EXPECT_EQ(h.studio->panels().side, side); };
}
Check eases(show::Easing easing) {
  return [=](const Was&, Hands& h) {
    for (const auto& c : h.show().channels)
      for (const auto& k : c->keys) EXPECT_EQ(k.easing, easing);
  };
}
Check moves(show::Time by) {
  return [=](const Was& was, Hands& h) { EXPECT_EQ(first(h.show()) - first(was.document.show()), by); };
}
Check seeks(show::Time to) {
  return [=](const Was&, Hands& h) { EXPECT_EQ(h.stage.now.time, to); };
}
Check jogs(double by_deg) {
  return [=](const Was& was, Hands& h) {
    const auto& bench = h.studio->bench()->bench;
    for (int i = 0; i < 1000 && bench.moving(); ++i) h.frame();
    EXPECT_NEAR(bench.setpoint_deg(), was.at_bench_deg + by_deg, 1e-9);
  };
}
Check keeps_keys_of(KeysOf::Kind kind) {
  return [=](const Was&, Hands& h) { EXPECT_EQ(h.document().keys_of().kind, kind); };
}
// How the middle key of blink, which rises to it and falls, lies then.
Check lies(std::set<editor::Lie> any_of) {
  return [=](const Was&, Hands& h) {
    const show::Channel& blink = *show::find_channel(h.show(), "blink");
    EXPECT_EQ(blink.keys[1].easing.kind, show::Easing::Kind::bezier);
    EXPECT_TRUE(any_of.contains(editor::sides_of(blink, 1).out.lie));
  };
}
Check moves_lane(int by) {
  return [=](const Was& was, Hands& h) {
    const auto place = [&](const show::Show& show) { return static_cast<int>(editor::place_of_lane(h.document().rig(), show, was.view.control).index); };
    EXPECT_EQ(place(h.show()), place(was.document.show()) + by);
  };
}
int place_of_cue(const show::Show& show, std::string_view cue) { return show::cue_index(show.cues, cue); }
template <auto Member>
Check flips() {
  return [](const Was& was, Hands& h) { EXPECT_NE(h.studio->view().snapping.*Member, was.view.snapping.*Member); };
}

// The playhead stands at 1.2 s, all keys are chosen, as are the layer "placed", the clip "nod" and the pose "glad".
const std::map<std::string_view, Check>& checks() {
  static const std::map<std::string_view, Check> all{
      {"new", asks(Dialog::new_show)},
      {"open", asks(Dialog::open_show)},
      {"recent", [](const Was& was, Hands& h) { EXPECT_EQ(h.document().file().filename(), "b.show.json"); EXPECT_EQ(was.document.file().filename(), "a.show.json"); }},
      {"new_head", asks(Dialog::new_head)},
      {"recover", asks(Dialog::recover)},
      {"save", [](const Was&, Hands& h) {
         h.studio->act("marker");
         EXPECT_TRUE(h.document().unsaved());
         h.choose("Save");
         EXPECT_FALSE(h.document().unsaved());
         EXPECT_TRUE(show::same(*store::load_show(h.document().file())->show, whole(h)));
       }},
      {"save_as", asks(Dialog::save_as)},
      {"show_on", [](const Was& was, Hands& h) { EXPECT_EQ(h.studio->tabs(), 2u); EXPECT_NE(h.document().file(), was.document.file()); }},
      {"show_back", [](const Was& was, Hands& h) { EXPECT_EQ(h.studio->tabs(), 2u); EXPECT_NE(h.document().file(), was.document.file()); }},
      {"close", [](const Was& was, Hands& h) { EXPECT_NE(h.document().file(), was.document.file()); }},
      {"quit", [](const Was&, Hands& h) { EXPECT_TRUE(h.studio->quit()); }},
      {"undo", [](const Was& was, Hands& h) { EXPECT_EQ(h.show().markers.size() + 1, was.document.show().markers.size()); }},
      {"redo", [](const Was& was, Hands& h) { EXPECT_EQ(h.show().markers.size(), was.document.show().markers.size() + 1); }},
      {"cut", [](const Was&, Hands& h) { EXPECT_EQ(count(h.show()), 0u); EXPECT_TRUE(h.studio->can_paste()); }},
      {"copy", [](const Was& was, Hands& h) { EXPECT_TRUE(h.studio->can_paste()); EXPECT_EQ(h.document().steps(), was.document.steps()); }},
      {"paste", [](const Was&, Hands& h) { EXPECT_TRUE(editor::find_key(h.show(), {"blink", from_seconds(1.2)})); }},
      {"delete", [](const Was&, Hands& h) { EXPECT_EQ(count(h.show()), 0u); }},
      {"add_key", [](const Was& was, Hands& h) { EXPECT_TRUE(editor::find_key(h.show(), {was.view.control, from_seconds(1.2)})); EXPECT_EQ(count(h.show()), count(was.document.show()) + 1); }},
      {"select_all", [](const Was& was, Hands& h) { EXPECT_TRUE(was.document.selection().empty()); EXPECT_EQ(h.document().selection().size(), count(h.show())); }},
      {"select_none", [](const Was&, Hands& h) { EXPECT_TRUE(h.document().selection().empty()); }},
      {"select_loop", [](const Was& was, Hands& h) { EXPECT_TRUE(was.document.selection().empty()); EXPECT_EQ(h.document().selection(), editor::keys_in(h.show(), *h.show().loop)); EXPECT_FALSE(h.document().selection().empty()); }},
      {"select_channel", [](const Was& was, Hands& h) { ASSERT_EQ(h.document().selection().times.size(), 1u); EXPECT_EQ(h.document().selection().size(), h.keys(was.view.control).size()); }},
      {"nudge_back", moves(-from_seconds(0.01))},
      {"nudge_on", moves(from_seconds(0.01))},
      {"frame_back", moves(from_seconds(0.48) - from_seconds(0.5))},  // 25 frames a second: frame 12 is the one before 0.5 s
      {"frame_on", moves(from_seconds(0.52) - from_seconds(0.5))},
      {"duplicate", [](const Was& was, Hands& h) { EXPECT_GT(count(h.show()), count(was.document.show())); }},
      {"reverse", [](const Was&, Hands& h) { EXPECT_EQ(h.document().undo_name().substr(0, 7), "Reverse"); EXPECT_TRUE(editor::find_key(h.show(), {"yaw", from_seconds(1.58)})); }},  // 0.5 + 3.08 - 2
      {"mirror", [](const Was&, Hands& h) { EXPECT_TRUE(h.keys("wink_left").empty()); ASSERT_EQ(h.keys("wink_right").size(), 1u); EXPECT_EQ(h.keys("wink_right")[0].value, 1); }},
      {"scale", asks(Dialog::scale)},
      {"ease_hold", eases(show::kHold)},
      {"ease_linear", eases(show::kLinear)},
      {"ease_smooth", eases(show::kSmooth)},
      {"ease_in_out", eases(show::kEaseInOut)},
      {"lay_flat", lies({editor::Lie::flat})},
      {"lay_aligned", lies({editor::Lie::flat, editor::Lie::aligned})},  // the mean of its slopes is level
      {"lay_free", lies({editor::Lie::free})},
      {"value_up", [](const Was&, Hands& h) { EXPECT_NEAR(h.keys("blink")[0].value, 0.01, 1e-12); }},
      {"value_down", [](const Was&, Hands& h) { EXPECT_NEAR(h.keys("blink")[1].value, 0.99, 1e-12); }},

      {"side_layers", shows(Side::layers)},
      {"layer_add", [](const Was&, Hands& h) { EXPECT_EQ(whole(h).layers.back()->name, "Layer"); }},
      {"layer_idle", [](const Was&, Hands& h) { EXPECT_TRUE(whole(h).layers.back()->idle); }},
      {"layer_up", [](const Was&, Hands& h) { EXPECT_EQ(place(whole(h), "placed"), 2u); }},
      {"layer_down", [](const Was&, Hands& h) { EXPECT_EQ(place(whole(h), "placed"), 0u); }},
      {"layer_mute", [](const Was&, Hands& h) { EXPECT_TRUE(show::find_layer(whole(h), "placed")->muted); }},
      {"layer_keys", keeps_keys_of(KeysOf::Kind::layer)},
      {"layer_bake", [](const Was&, Hands& h) { EXPECT_TRUE(until(h, [&] { return h.document().undo_name() == "Bake down placed"; })); EXPECT_FALSE(show::find_layer(whole(h), "placed")); }},
      {"layer_remove", [](const Was&, Hands& h) { EXPECT_FALSE(show::find_layer(whole(h), "placed")); }},
      {"side_clips", shows(Side::clips)},
      {"clip_make", [](const Was& was, Hands& h) { ASSERT_TRUE(show::find_clip(whole(h), "Clip")); EXPECT_EQ(show::find_clip(whole(h), "Clip")->channels.size(), was.document.show().channels.size()); }},
      {"clip_place", [](const Was&, Hands& h) { ASSERT_EQ(show::find_layer(whole(h), "placed")->placements.size(), 2u); EXPECT_EQ(show::find_layer(whole(h), "placed")->placements[1].start, from_seconds(1.2)); }},
      {"clip_keys", keeps_keys_of(KeysOf::Kind::clip)},
      {"clip_mirror", [](const Was&, Hands& h) { EXPECT_TRUE(show::find_clip(whole(h), "nod mirrored")); }},
      {"clip_remove", [](const Was&, Hands& h) { EXPECT_FALSE(show::find_clip(whole(h), "nod")); }},
      {"side_poses", shows(Side::poses)},
      {"pose_capture", [](const Was&, Hands& h) { ASSERT_TRUE(show::find_pose(whole(h), "Pose")); EXPECT_EQ(show::find_pose(whole(h), "Pose")->values.front().value, -12); }},
      {"pose_key", [](const Was&, Hands& h) { EXPECT_TRUE(editor::find_key(h.show(), {"smile", from_seconds(1.2)})); }},
      {"pose_recapture", [](const Was&, Hands& h) { EXPECT_EQ(show::find_pose(whole(h), "glad")->values.front().control, "yaw"); }},
      {"pose_mirror", [](const Was&, Hands& h) { EXPECT_TRUE(show::find_pose(whole(h), "glad mirrored")); }},
      {"pose_remove", [](const Was&, Hands& h) { EXPECT_FALSE(show::find_pose(whole(h), "glad")); }},
      {"side_cues", shows(Side::cues)},
      {"cue_add", [](const Was&, Hands& h) { ASSERT_EQ(whole(h).cues.size(), 1u); EXPECT_EQ(h.studio->view().cue, whole(h).cues[0].name); }},
      {"cue_up", [](const Was& was, Hands& h) { EXPECT_EQ(place_of_cue(whole(h), was.view.cue), place_of_cue(was.document.whole(), was.view.cue) - 1); }},
      {"cue_down", [](const Was& was, Hands& h) { EXPECT_EQ(place_of_cue(whole(h), was.view.cue), place_of_cue(was.document.whole(), was.view.cue) + 1); }},
      {"cue_remove", [](const Was& was, Hands& h) { EXPECT_EQ(place_of_cue(whole(h), was.view.cue), -1); EXPECT_EQ(whole(h).cues.size() + 1, was.document.whole().cues.size()); }},
      {"speak", asks(Dialog::add_sound)},  // the show has none yet that could be spoken
      {"add_sound", asks(Dialog::add_sound)},
      {"labels_import", asks(Dialog::add_sound)},  // words of what?
      {"labels_export", asks(Dialog::export_labels)},
      {"side_sounds", shows(Side::sounds)},
      {"spectrogram", [](const Was& was, Hands& h) { EXPECT_NE(h.studio->view().spectrogram, was.view.spectrogram); }},
      {"library_import", asks(Dialog::import_library)},
      {"library_export", asks(Dialog::export_library)},
      {"back", [](const Was& was, Hands& h) { EXPECT_EQ(was.document.keys_of().kind, KeysOf::Kind::clip); EXPECT_EQ(h.document().keys_of().kind, KeysOf::Kind::show); }},

      {"arrive", [](const Was&, Hands& h) { EXPECT_TRUE(until(h, [&] { return h.document().undo_name() == "Make it arrive"; })); }},
      {"arrive_all", [](const Was&, Hands& h) { EXPECT_TRUE(until(h, [&] { return h.document().undo_name() == "Make all arrive"; })); }},
      {"play", [](const Was& was, Hands& h) { EXPECT_TRUE(asked(was, h, "play")); }},
      {"to_start", seeks(show::Time{0})},
      {"loop", [](const Was&, Hands& h) { ASSERT_TRUE(h.show().loop); EXPECT_EQ(h.show().loop->begin, from_seconds(0.5)); }},
      {"tick_back", seeks(from_seconds(1.19))},
      {"tick_on", seeks(from_seconds(1.21))},
      {"key_back", seeks(from_seconds(1))},
      {"key_on", seeks(from_seconds(1.5))},
      {"finding_back", [](const Was& was, Hands& h) { EXPECT_TRUE(asked(was, h, "seek")); }},
      {"finding_on", [](const Was& was, Hands& h) { EXPECT_TRUE(asked(was, h, "seek")); }},
      {"marker", [](const Was&, Hands& h) { ASSERT_EQ(h.show().markers.size(), 1u); EXPECT_EQ(h.show().markers[0].time, from_seconds(1.2)); }},
      {"hands_learn", [](const Was& was, Hands& h) { EXPECT_EQ(h.studio->hands().learning, was.view.control); }},
      {"hands_record", [](const Was&, Hands& h) { EXPECT_NE(h.studio->hands().count_in_until_ns, 0); }},
      {"hands_trigger", [](const Was&, Hands& h) { ASSERT_TRUE(h.studio->hands().learning_trigger); EXPECT_EQ(h.studio->hands().learning_trigger->name, "glad"); }},
      {"network", asks(Dialog::network)},
      {"cue_board", [](const Was& was, Hands& h) { EXPECT_TRUE(h.studio->panels().cue_board); EXPECT_TRUE(asked(was, h, "cues live")); }},
      {"cues_release", [](const Was& was, Hands& h) { EXPECT_TRUE(asked(was, h, "release cues")); }},
      {"hands_panic", [](const Was& was, Hands& h) { EXPECT_TRUE(asked(was, h, "panic")); }},

      {"port", asks(Dialog::port)},
      {"disconnect", [](const Was&, Hands& h) { EXPECT_EQ(h.stage.status.state, link::State::closed); }},
      {"arm", [](const Was& was, Hands& h) { EXPECT_EQ(h.studio->dialog(), Dialog::arm); EXPECT_FALSE(asked(was, h, "arm")) << "it asks first"; }},
      {"take_over", asks(Dialog::take_over)},
      {"disarm", [](const Was& was, Hands& h) { EXPECT_TRUE(asked(was, h, "disarm")); }},
      {"stop", [](const Was& was, Hands& h) { EXPECT_TRUE(asked(was, h, "stop")); }},
      {"bench", [](const Was&, Hands& h) { EXPECT_TRUE(h.studio->bench()); }},
      {"bench_leave", [](const Was&, Hands& h) { EXPECT_FALSE(h.studio->bench()); EXPECT_TRUE(h.sees("timeline/ruler")); }},
      {"bench_identify", [](const Was&, Hands& h) { EXPECT_EQ(h.studio->bench()->bench.doing(), perform::Doing::identifying); }},
      {"bench_less", jogs(-1)}, {"bench_more", jogs(1)}, {"bench_bit_less", jogs(-0.1)}, {"bench_bit_more", jogs(0.1)}, {"bench_lot_less", jogs(-5)}, {"bench_lot_more", jogs(5)},
      {"bench_travel", [](const Was&, Hands& h) { ASSERT_FALSE(h.studio->notices().empty()); EXPECT_NE(h.studio->notices().back().what.find("travel test"), std::string::npos) << "its ends are beyond the first band"; }},

      {"timecode", [](const Was& was, Hands& h) { EXPECT_NE(h.studio->view().timecode, was.view.timecode); }},
      {"frame_rate", [](const Was& was, Hands& h) { EXPECT_NE(h.studio->view().rate, was.view.rate); }},
      {"snap", flips<&editor::Snapping::on>()},
      {"snap_frames", flips<&editor::Snapping::frames>()},
      {"snap_markers", flips<&editor::Snapping::markers>()},
      {"snap_keys", flips<&editor::Snapping::keys>()},
      {"snap_onsets", flips<&editor::Snapping::onsets>()},
      {"curve_keep", [](const Was& was, Hands& h) { EXPECT_EQ(h.studio->view().kept, std::vector<std::string>{was.view.control}); }},
      {"curve_alone", [](const Was& was, Hands& h) { EXPECT_FALSE(was.view.kept.empty()); EXPECT_TRUE(h.studio->view().kept.empty()); }},
      {"strips", [](const Was& was, Hands& h) { EXPECT_NE(h.studio->view().strips, was.view.strips); }},
      {"handles", [](const Was& was, Hands& h) { EXPECT_NE(h.studio->view().handles, was.view.handles); }},
      {"lane_up", moves_lane(-1)},
      {"lane_down", moves_lane(1)},
      {"lane_mute", [](const Was& was, Hands& h) { EXPECT_TRUE(h.studio->view().muted.contains(was.view.control)); EXPECT_FALSE(show::find_channel(*h.stage.published, was.view.control)); }},
      {"lane_solo", [](const Was&, Hands& h) { EXPECT_EQ(h.stage.published->channels.size(), 1u); }},
      {"lane_lock", [](const Was& was, Hands& h) { EXPECT_TRUE(h.studio->view().locked.contains(was.view.control)); }},
      {"history", shows(Side::history)},
      {"fit", [](const Was&, Hands& h) { EXPECT_EQ(h.studio->view().visible, editor::fitted(h.show().length)); }},
      {"zoom_in", [](const Was& was, Hands& h) { EXPECT_LT(h.studio->view().visible.length(), was.view.visible.length()); }},
      {"zoom_out", [](const Was& was, Hands& h) { EXPECT_GT(h.studio->view().visible.length(), was.view.visible.length()); }},
      {"findings", shows(Side::findings)},
      {"hands", [](const Was&, Hands& h) { EXPECT_TRUE(h.studio->panels().hands_open); }},
      {"as_built", [](const Was& was, Hands& h) { EXPECT_NE(h.studio->view().as_built, was.view.as_built); }},
      {"copy_findings", [](const Was&, Hands&) { EXPECT_NE(std::string(ImGui::GetClipboardText()).find("yaw"), std::string::npos); }},
      {"theme", [](const Was& was, Hands& h) { EXPECT_NE(h.studio->look().theme.dark, was.dark); }},
      {"theme_system", [](const Was&, Hands& h) { EXPECT_EQ(h.studio->settings().theme, store::Settings::Theme::system); }},
      {"file_dialogs", [](const Was&, Hands& h) { EXPECT_EQ(h.studio->settings().dialogs, store::Settings::Dialogs::own); ASSERT_FALSE(h.studio->notices().empty()); EXPECT_NE(h.studio->notices().back().what.find("own dialog"), std::string::npos); }},
      {"text_larger", [](const Was&, Hands& h) { EXPECT_EQ(h.studio->settings().text, store::Settings::Text::large); }},
      {"text_smaller", [](const Was&, Hands& h) { EXPECT_EQ(h.studio->settings().text, store::Settings::Text::small); }},
      {"palette", asks(Dialog::palette)},
      {"usual_keys", [](const Was&, Hands& h) { EXPECT_TRUE(h.studio->keys().entries().empty()); }},
      {"cheat_sheet", asks(Dialog::cheat_sheet)},
  };
  return all;
}

class Labels : public testing::TestWithParam<std::string> {
 protected:
  void SetUp() override {
    // What the desktop of whoever runs this wants is not what is tested.
    for (const char* name : {"GTK_THEME", "DBUS_SESSION_BUS_ADDRESS", "XDG_RUNTIME_DIR"}) ::unsetenv(name);
  }
};

TEST_P(Labels, DoWhatTheySay) {
  const editor::Action& action = *editor::find_action(GetParam());
  const auto check = checks().find(action.id);
  ASSERT_NE(check, checks().end()) << "tests/editor/labels_test.cpp says nothing of the action '" << action.id << "': add what is to be seen once it is done";
  support::Folder folder;
  show::Rig rig = small_rig();  // with a pair, for the mirror
  for (const char* side : {"wink_left", "wink_right"}) rig.controls.push_back({side, "eyes", "1", 0, 1, 0});
  show::Show show = small_show();
  show.channels.push_back(std::make_shared<const show::Channel>(show::Channel{"wink_left", {{from_seconds(1.7), 1}}}));
  const Lived lived(folder.path(), rig, composed(show, rig, "smile", "yaw"));
  Hands h(rig, show, {1366, 1100});  // as tall as the longest menu
  const auto go_on = [&] { h.settle(); };
  lived.move_in(*h.studio, go_on);
  h.stage.now.time = from_seconds(1.2);
  h.stage.now.controls = 3, h.stage.now.control[1] = -12;
  h.settle();
  make_possible(*h.studio, h.stage, go_on, action.id);
  ASSERT_TRUE(action.possible(*h.studio)) << action.id << ": tests/editor/possible.cpp doesn't know how to come to where it is possible; " << editor::why_not(action, *h.studio);
  const Was was{h.document(), h.studio->view(), h.stage.asked.size(), h.studio->look().theme.dark, h.studio->playhead(), h.studio->bench() ? h.studio->bench()->bench.setpoint_deg() : 0};
  h.choose(std::string(action.name));
  check->second(was, h);
}

std::vector<std::string> ids() {
  std::vector<std::string> all;
  for (const editor::Action& a : editor::actions()) all.emplace_back(a.id);
  return all;
}
INSTANTIATE_TEST_SUITE_P(Menu, Labels, testing::ValuesIn(ids()), [](const auto& each) { return each.param; });

TEST(LabelsTable, NamesNoActionThatIsGone) {
  for (const auto& [id, check] : checks()) EXPECT_TRUE(editor::find_action(id)) << id;
}

}  // namespace
}  // namespace mien::tests
