// Keys in another shape, time in another clock, lanes by their switches, and the history, by hand.
#include <GLFW/glfw3.h>
#include <gtest/gtest.h>

#include "editor/hands.hpp"
#include "motion/curve.hpp"

namespace mien::tests {
namespace {
using editor::kAlt;
using editor::kCtrl;
using editor::kShift;
using show::from_seconds;

void choose_lane(Hands& hands, const std::string& control) {
  std::vector<show::KeyRef> refs;
  for (const auto& key : hands.keys(control)) refs.push_back({control, key.time});
  hands.studio->apply(editor::Select{editor::Selection::from(refs)});
  hands.studio->apply(editor::Choose{control});
  hands.settle();
}

std::vector<double> times(const Hands& hands, const std::string& control) {
  std::vector<double> all;
  for (const auto& key : hands.keys(control)) all.push_back(show::to_seconds(key.time));
  return all;
}

TEST(Keys, AreScaledInTimeAboutAPivotAndInValueAboutRest) {
  Hands hands;
  choose_lane(hands, "blink");
  hands.choose("Scale\u2026");
  hands.click("field/scale_time");
  hands.type("200");
  hands.press(GLFW_KEY_ENTER);
  hands.click("field/scale_value");
  hands.type("50");
  hands.press(GLFW_KEY_ENTER);
  hands.click("button/Scale");
  EXPECT_EQ(times(hands, "blink"), (std::vector{0.5, 1.5, 2.5}));
  EXPECT_EQ(hands.keys("blink")[1].value, 0.5);
  EXPECT_EQ(hands.document().undo_name(), "Scale 3 keys");
  EXPECT_EQ(hands.document().selection().size(), 3u);
  hands.press(GLFW_KEY_Z, kCtrl);
  hands.choose("Scale\u2026");
  hands.click("button/Last key");
  hands.click("button/Scale");
  EXPECT_EQ(times(hands, "blink"), (std::vector{0.0, 0.5, 1.5})) << "the first key is held at the show's start";
}

TEST(Keys, ScaledToAPointLeaveTheLaterOfTwo) {
  const show::Show show = small_show();
  const auto all = editor::all_keys(show).refs();
  const auto made = editor::apply(editor::Reshaping{editor::ScaleKeys{all, 1e-12, 1, from_seconds(1)}}, show, small_rig(), {});
  ASSERT_EQ(show::find_channel(made.show, "blink")->keys.size(), 1u);
  EXPECT_EQ(show::find_channel(made.show, "blink")->keys[0].time, from_seconds(1));
  for (const double wrong : {0.0, -1.0, std::numeric_limits<double>::quiet_NaN()})
    EXPECT_TRUE(show::same(editor::apply(editor::Reshaping{editor::ScaleKeys{all, wrong, 1, show::Time{0}}}, show, small_rig(), {}).show, show)) << wrong;
}

TEST(Keys, ReversedAreTheSameCurveReadBackwards) {
  show::Show show = small_show();
  show.channels = {std::make_shared<const show::Channel>(show::Channel{"blink", {{from_seconds(0.5), 0.1, show::kEaseIn}, {from_seconds(1), 0.9, show::kLinear}, {from_seconds(2), 0.3, show::kHold}}})};
  const show::Channel before = *show.channels[0];
  Hands hands(small_rig(), show);
  choose_lane(hands, "blink");
  hands.choose("Reverse in time");
  const show::Channel after{"blink", hands.keys("blink")};
  EXPECT_EQ(times(hands, "blink"), (std::vector{0.5, 1.5, 2.0}));
  for (double t = 0.5; t <= 2; t += 0.01)
    EXPECT_NEAR(motion::evaluate(after, from_seconds(t), 0), motion::evaluate(before, from_seconds(2.5 - t), 0), 1e-5) << t;
  hands.choose("Reverse in time");
  ASSERT_EQ(times(hands, "blink"), (std::vector{0.5, 1.0, 2.0}));
  for (double t = 0.5; t <= 2; t += 0.01) EXPECT_NEAR(motion::evaluate(show::Channel{"blink", hands.keys("blink")}, from_seconds(t), 0), motion::evaluate(before, from_seconds(t), 0), 1e-5) << t;
}

TEST(Keys, AreDuplicatedBehindThemselvesByAFrame) {
  Hands hands;
  choose_lane(hands, "blink");
  hands.choose("Duplicate behind");
  EXPECT_EQ(times(hands, "blink"), (std::vector{0.5, 1.0, 1.5, 1.54, 2.04, 2.54}));  // a frame at 25 a second is 0.04 s
  EXPECT_EQ(hands.document().selection().size(), 3u);
  EXPECT_TRUE(hands.document().selection().contains("blink", from_seconds(2.04)));
}

TEST(Keys, AreMirroredToTheOtherSide) {
  show::Rig rig = small_rig();
  rig.controls.push_back({"smile_left", "mouth", "1", 0, 1, 0});
  rig.controls.push_back({"smile_right", "mouth", "1", 0, 1, 0});
  show::Show show = small_show();
  show = show::with_key(show, "smile_left", {from_seconds(1), 0.7});
  Hands hands(rig, show);
  hands.studio->apply(editor::Select{editor::Selection::from({{"smile_left", from_seconds(1)}})});
  hands.choose("Mirror left to right");
  EXPECT_TRUE(hands.keys("smile_left").empty());
  ASSERT_EQ(hands.keys("smile_right").size(), 1u);
  EXPECT_EQ(hands.keys("smile_right")[0].value, 0.7);
  EXPECT_TRUE(hands.document().selection().contains("smile_right", from_seconds(1)));
}

TEST(Keys, AreNudgedByFrames) {
  Hands hands;
  hands.studio->apply(editor::Select{editor::Selection::from({{"blink", from_seconds(1)}})});
  hands.choose("Move a frame later");
  EXPECT_EQ(hands.keys("blink")[1].time, from_seconds(1.04));
  hands.choose("Another frame rate");
  ASSERT_EQ(hands.studio->view().rate, show::FrameRate::f2997_drop);
  hands.choose("Move a frame earlier");
  EXPECT_EQ(hands.keys("blink")[1].time, show::frame_time(show::FrameRate::f2997_drop, 31)) << "from between two frames, the one before";
  hands.choose("Move a frame earlier");
  EXPECT_EQ(hands.keys("blink")[1].time, show::frame_time(show::FrameRate::f2997_drop, 30));
  hands.choose("Move a tick later");
  EXPECT_EQ(hands.keys("blink")[1].time, show::frame_time(show::FrameRate::f2997_drop, 30) + from_seconds(0.01));
}

TEST(Time, IsShownAsSecondsOrTimecode) {
  editor::View view;
  EXPECT_EQ(editor::time_text(view, from_seconds(2.5)), "2.500 s");
  Hands hands;
  hands.choose("Time as seconds or timecode");
  EXPECT_TRUE(hands.studio->view().timecode);
  EXPECT_EQ(editor::time_text(hands.studio->view(), from_seconds(2.5)), "00:00:02:12");
  view = hands.studio->view();
  view.rate = show::FrameRate::f2997_drop;
  EXPECT_EQ(editor::time_text(view, show::Time{60'060'000'000}), "00:01:00;02");
}

TEST(Snapping, LandsOnFramesAndOnWhatIsNear) {
  show::Show show = small_show();
  show.markers = {{show::Time{2'013'000'000}, "breath"}};
  Hands hands(small_rig(), show);
  const auto moved_to = [&](double seconds, bool suspended = false) {
    hands.studio->act("undo");
    hands.settle();
    hands.drag(hands.at("blink", 1.5), hands.at("blink", seconds), 0, !suspended);
    if (suspended) {
      hands.push(editor::InputEvent::key(GLFW_KEY_LEFT_CONTROL, true, kCtrl));
      hands.settle();
      hands.push(editor::InputEvent::button(0, false));
      hands.settle();
      hands.push(editor::InputEvent::key(GLFW_KEY_LEFT_CONTROL, false, 0));
      hands.settle();
    }
    return hands.keys("blink").back().time;
  };
  EXPECT_EQ(moved_to(2.01), show::Time{2'013'000'000}) << "the marker";
  EXPECT_EQ(moved_to(2.0), from_seconds(2)) << "the key of another channel";
  hands.choose("Snap to markers and the playhead, or not");
  hands.choose("Snap to keys, or not");
  EXPECT_EQ(moved_to(2.02).count() % 10'000'000, 0) << "a tick";
  hands.choose("Snap to frames, or to ticks");
  EXPECT_EQ(moved_to(2.35).count() % 40'000'000, 0) << "a frame at 25 a second";
  hands.choose("Snap or not");
  EXPECT_NE(moved_to(2.351).count() % 10'000'000, 0) << "free";
  hands.choose("Snap or not");
  EXPECT_NE(moved_to(2.351, true).count() % 10'000'000, 0) << "Ctrl, held, suspends it";
}

TEST(Lanes, AreMutedAndSoloedInWhatIsPerformed) {
  Hands hands;
  choose_lane(hands, "blink");
  const auto performed = [&](const char* control) { return show::find_channel(*hands.stage.published, control) != nullptr; };
  hands.choose("Mute the channel, or not");
  EXPECT_FALSE(performed("blink"));
  EXPECT_TRUE(performed("yaw"));
  EXPECT_EQ(hands.keys("blink").size(), 3u) << "the show has them still";
  EXPECT_FALSE(hands.document().unsaved());
  ASSERT_TRUE(hands.sees("switch/blink/S"));
  hands.click("switch/blink/S");
  EXPECT_TRUE(performed("blink")) << "what is soloed is performed";
  EXPECT_FALSE(performed("yaw"));
  hands.choose("Solo the channel, or not");
  hands.click("switch/blink/M");
  EXPECT_EQ(hands.stage.published, hands.document().shared_whole());
}

TEST(Lanes, LockedOnesKeepTheirKeysWhateverIsAsked) {
  Hands hands;
  choose_lane(hands, "blink");
  hands.choose("Lock the channel, or not");
  EXPECT_TRUE(hands.document().selection().empty());
  const auto before = hands.keys("blink");
  hands.drag(hands.at("blink", 1), hands.at("blink", 1.3));
  EXPECT_EQ(hands.keys("blink"), before);
  hands.studio->act("select_all");
  hands.studio->act("delete");
  EXPECT_EQ(hands.keys("blink"), before);
  EXPECT_TRUE(hands.keys("yaw").empty());
  hands.double_click(hands.at("blink", 3));
  EXPECT_EQ(hands.keys("blink"), before);
  hands.choose("Lock the channel, or not");
  hands.drag(hands.at("blink", 1), hands.at("blink", 1.3));
  EXPECT_NE(hands.keys("blink"), before);
}

TEST(History, AClickOnAStepGoesThere) {
  Hands hands;
  const auto first = hands.document().shared_whole();
  for (const double t : {2.5, 3.0, 3.5}) hands.studio->apply(editor::Change{editor::SetKey{"smile", {from_seconds(t), 0.5}}});
  const auto last = hands.document().shared_whole();
  hands.choose("History");
  ASSERT_TRUE(hands.sees("step/3"));
  hands.click("step/1");
  EXPECT_EQ(hands.keys("smile").size(), 1u);
  EXPECT_EQ(hands.stage.published, hands.document().shared_whole());
  hands.click("step/3");
  EXPECT_EQ(hands.document().shared_whole(), last);
  hands.click("step/0");
  EXPECT_EQ(hands.document().shared_whole(), first);
  EXPECT_FALSE(hands.document().unsaved());
}

TEST(Side, TabsChangeWhatStandsBesideTheLanes) {
  Hands hands;
  hands.choose("List of findings");
  EXPECT_EQ(hands.studio->panels().side, editor::Side::findings);
  hands.click("tab/Layers");
  EXPECT_TRUE(hands.sees("action/layer_add"));
  hands.click("tab/Clips");
  EXPECT_TRUE(hands.sees("action/clip_place"));
  hands.click("tab/Poses");
  EXPECT_TRUE(hands.sees("action/pose_capture"));
  hands.choose("Layers");
  EXPECT_EQ(hands.studio->panels().side, editor::Side::layers);
  hands.click("tab/close");
  EXPECT_EQ(hands.studio->panels().side, editor::Side::none);
}

}  // namespace
}  // namespace mien::tests
