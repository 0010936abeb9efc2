// The hands' panel: learning, the map's table, recording and takes, with a stage of the test's own.
#include <GLFW/glfw3.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "editor/hands.hpp"
#include "motion/curve.hpp"
#include "store/map_store.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {

using editor::kShift;

live::Touch controller(int number, int value) {
  live::Touch touch;
  touch.midi = {live::MidiMessage::Kind::controller, 0, static_cast<std::uint8_t>(number), static_cast<std::uint16_t>(value), {}};
  return touch;
}

void move_knob(Hands& hands, const live::Touch& touch) {
  hands.stage.now.hands.before = hands.stage.now.hands.last;
  hands.stage.now.hands.last = touch;
  ++hands.stage.now.hands.heard;
  hands.settle();
}

void learn(Hands& hands, const char* control, const live::Touch& touch) {
  hands.studio->apply(editor::Choose{control});
  hands.press(GLFW_KEY_L, kShift);
  hands.settle();
  move_knob(hands, touch);
}

TEST(HandsPanel, LearnsAKnobForTheChosenChannel) {
  Hands hands;
  hands.press(GLFW_KEY_H, editor::kCtrl);
  hands.settle();
  EXPECT_TRUE(hands.sees("given/" + hands.document().rig().groups[0].name));
  EXPECT_FALSE(hands.studio->act("hands_record")) << "with no map there is nothing to record";
  move_knob(hands, controller(7, 1));
  EXPECT_TRUE(hands.stage.hands.knobs.empty()) << "nobody asked for it";
  learn(hands, "yaw", controller(7, 2));
  ASSERT_EQ(hands.stage.hands.knobs.size(), 1u);
  EXPECT_EQ(hands.stage.hands.knobs[0].source, (live::Source{"Slide Eight", 1, live::Source::Kind::controller, 7}));
  EXPECT_EQ(hands.stage.hands.knobs[0].control, "yaw");
  EXPECT_EQ(hands.stage.hands.knobs[0].low, -30);
  move_knob(hands, controller(8, 2));
  EXPECT_EQ(hands.stage.hands.knobs.size(), 1u) << "one knob for one Learn";
  learn(hands, "yaw", controller(7, 5));
  EXPECT_EQ(hands.stage.hands.knobs.size(), 1u) << "the same again is no second one";

  hands.press(GLFW_KEY_L, kShift);
  hands.press(GLFW_KEY_L, kShift);
  hands.settle();
  move_knob(hands, controller(9, 5));
  EXPECT_EQ(hands.stage.hands.knobs.size(), 1u) << "Learn twice: never mind";
}

TEST(HandsPanel, ChangesTheMap) {
  Hands hands;
  learn(hands, "blink", controller(7, 2));
  hands.click("knob/0/invert");
  hands.settle();
  EXPECT_TRUE(hands.stage.hands.knobs[0].inverted);
  hands.click("knob/0/takeover");
  hands.click("knob/0/curve");
  hands.settle();
  EXPECT_EQ(hands.stage.hands.knobs[0].takeover, live::Takeover::scaled);
  EXPECT_EQ(hands.stage.hands.knobs[0].curve, 1.5);
  hands.click("given/" + hands.document().rig().groups[0].name);
  hands.settle();
  EXPECT_THAT(hands.stage.asked, testing::Contains("give 0 off"));
  hands.press(GLFW_KEY_H, kShift);
  hands.settle();
  EXPECT_THAT(hands.stage.asked, testing::Contains("panic"));
  hands.click("knob/0/remove");
  hands.settle();
  EXPECT_TRUE(hands.stage.hands.knobs.empty());
}

live::TakeTick tick_at(int n, float value) {
  live::TakeTick tick;
  tick.time = show::Time{n * 10'000'000};
  tick.count = 1, tick.touched = 1, tick.value[0] = value;
  return tick;
}

TEST(HandsPanel, RecordsATakeWhileTheShowPlays_KeepsItAsOneEdit_AndDropsIt) {
  Hands hands;
  learn(hands, "smile", controller(7, 2));
  hands.studio->act("play");
  hands.press(GLFW_KEY_R, kShift);
  hands.settle();
  EXPECT_THAT(hands.stage.asked, testing::Contains("record"));
  for (int n = 50; n < 150; ++n) hands.stage.tape.push_back(tick_at(n, 0.75f));
  hands.settle();
  hands.press(GLFW_KEY_R, kShift);
  hands.settle();
  EXPECT_THAT(hands.stage.asked, testing::Contains("record no more"));
  ASSERT_EQ(hands.studio->hands().takes.size(), 1u);
  EXPECT_EQ(hands.studio->hands().takes[0].tracks[0].samples.size(), 100u);

  hands.click("take/0/keep");
  hands.settle();
  ASSERT_FALSE(hands.keys("smile").empty());
  EXPECT_NEAR(motion::evaluate(*show::find_channel(hands.show(), "smile"), show::from_seconds(1)), 0.75, 1e-6);
  hands.studio->act("undo");
  EXPECT_EQ(show::find_channel(hands.show(), "smile"), nullptr) << "one step back";
  EXPECT_EQ(hands.studio->hands().takes.size(), 1u) << "the raw take stays until it is dropped";
  hands.click("take/0/drop");
  hands.settle();
  EXPECT_TRUE(hands.studio->hands().takes.empty());
}

TEST(HandsPanel, RecordsWhatIsArmed_KeepsATakeAsALayer_AndAsFineAsAsked) {
  Hands hands(small_rig(), small_show(), {1366, 1100});  // high enough for all of the panel
  learn(hands, "smile", controller(7, 2));
  learn(hands, "blink", controller(8, 2));
  ASSERT_TRUE(hands.sees("armed/smile"));
  hands.click("armed/blink");
  hands.settle();
  EXPECT_THAT(hands.studio->hands().spared, testing::ElementsAre("blink"));
  // An error of 5 % of the range lets a slow sine of a tenth of it be two keys or so.
  hands.studio->apply(editor::Hand{editor::Hand::Do::error, 0, 5});
  hands.studio->act("play");
  hands.press(GLFW_KEY_R, kShift);
  hands.settle();
  ASSERT_TRUE(hands.studio->hands().recording);
  for (int n = 50; n < 150; ++n) {
    live::TakeTick tick = tick_at(n, 0.25f);  // blink, then smile: as the rig counts controls
    tick.count = 2, tick.touched = 3, tick.value[1] = 0.5f + 0.04f * std::sin(static_cast<float>(n) / 8);
    hands.stage.tape.push_back(tick);
  }
  hands.press(GLFW_KEY_R, kShift);
  hands.settle();
  ASSERT_EQ(hands.studio->hands().takes.size(), 1u);
  ASSERT_EQ(hands.studio->hands().takes[0].tracks.size(), 1u) << "blink was not armed";
  EXPECT_EQ(hands.studio->hands().takes[0].tracks[0].control, "smile");

  hands.click("take/0/layer");
  hands.settle();
  ASSERT_EQ(hands.show().layers.size(), 1u);
  const show::Layer layer = *hands.show().layers[0];
  EXPECT_EQ(layer.name, "take 1");
  ASSERT_EQ(layer.channels.size(), 1u);
  const std::size_t coarse = layer.channels[0]->keys.size();
  EXPECT_EQ(show::find_channel(hands.show(), "smile"), nullptr) << "the show's own channels are as they were";
  EXPECT_EQ(hands.document().undo_name(), "Keep take 1 as a layer");
  hands.studio->act("undo");
  EXPECT_TRUE(hands.show().layers.empty());
  hands.studio->apply(editor::Hand{editor::Hand::Do::error, 0, 0.5});
  hands.click("take/0/layer");
  hands.settle();
  ASSERT_EQ(hands.show().layers.size(), 1u);
  EXPECT_GT(hands.show().layers[0]->channels[0]->keys.size(), coarse);
}

TEST(HandsPanel, ATakeEndsWhereWhatHandsCanMoveIsChanged) {
  Hands hands;
  learn(hands, "smile", controller(7, 2));
  hands.studio->act("play");
  hands.press(GLFW_KEY_R, kShift);
  hands.settle();
  for (int n = 50; n < 150; ++n) hands.stage.tape.push_back(tick_at(n, 0.75f));
  live::TakeTick other = tick_at(150, 0.1f);
  other.mark = 12345;
  hands.stage.tape.push_back(other);
  hands.settle();
  EXPECT_FALSE(hands.studio->hands().recording);
  ASSERT_EQ(hands.studio->hands().takes.size(), 1u) << "what was recorded until then is kept";
  EXPECT_EQ(hands.studio->hands().takes[0].tracks[0].samples.size(), 100u);
  ASSERT_FALSE(hands.studio->notices().empty());
  EXPECT_THAT(hands.studio->notices().back().what, testing::HasSubstr("ended there"));
}

TEST(HandsPanel, TheCountInIsAsLongAsAsked_OrNone) {
  Hands hands;
  learn(hands, "smile", controller(7, 2));
  hands.studio->apply(editor::Hand{editor::Hand::Do::count_in, 0, 0});
  hands.press(GLFW_KEY_R, kShift);
  hands.settle();
  EXPECT_TRUE(hands.studio->hands().recording) << "at once";
  EXPECT_TRUE(hands.stage.now.playing);
}

TEST(HandsPanel, AStandingShowIsCountedIn_AndTheEndOfTheShowEndsTheTake) {
  Hands hands;
  learn(hands, "smile", controller(7, 2));
  hands.press(GLFW_KEY_R, kShift);
  hands.settle();
  EXPECT_NE(hands.studio->hands().count_in_until_ns, 0);
  EXPECT_THAT(hands.stage.asked, testing::Not(testing::Contains("record")));
  hands.press(GLFW_KEY_R, kShift);
  hands.settle();
  EXPECT_EQ(hands.studio->hands().count_in_until_ns, 0) << "again: never mind";
  hands.studio->act("play");
  hands.press(GLFW_KEY_R, kShift);
  hands.settle();
  ASSERT_TRUE(hands.studio->hands().recording);
  hands.stage.now.playing = false;
  hands.settle();
  EXPECT_FALSE(hands.studio->hands().recording);
}

TEST(HandsPanel, AtTheWorkbenchHandsMoveNothing) {
  Hands hands;
  learn(hands, "smile", controller(7, 2));
  ASSERT_TRUE(hands.studio->act("bench"));
  hands.settle();
  EXPECT_TRUE(hands.stage.hands.knobs.empty());
  EXPECT_FALSE(hands.studio->act("hands_learn"));
  EXPECT_FALSE(hands.studio->act("hands_record"));
  ASSERT_TRUE(hands.studio->act("bench_leave"));
  hands.settle();
  EXPECT_EQ(hands.stage.hands.knobs.size(), 1u);
}

TEST(HandsPanel, TheMapIsKeptBesideTheRig_AndTheTakesBesideTheShow) {
  support::Folder folder;
  ASSERT_FALSE(store::save_rig(folder / "a.rig.json", small_rig()));
  show::Show show = small_show();
  show.rig_file = "a.rig.json";
  ASSERT_FALSE(store::save_show(folder / "b.show.json", show));
  {
    Hands hands;
    hands.studio->open(folder / "b.show.json");
    hands.settle();
    learn(hands, "smile", controller(7, 2));
    hands.studio->act("play");
    hands.press(GLFW_KEY_R, kShift);
    hands.settle();
    for (int n = 50; n < 150; ++n) hands.stage.tape.push_back(tick_at(n, 0.75f));
    hands.press(GLFW_KEY_R, kShift);
    hands.settle();
  }
  const auto map = store::load_map(folder / "a.map.json", small_rig());
  ASSERT_TRUE(map) << to_text(map.problem());
  EXPECT_EQ(map->map.knobs.size(), 1u);
  Hands again;
  again.studio->open(folder / "b.show.json");
  again.settle();
  EXPECT_EQ(again.stage.hands, map->map);
  ASSERT_EQ(again.studio->hands().takes.size(), 1u);
  again.press(GLFW_KEY_H, editor::kCtrl);
  again.settle();
  again.click("take/0/drop");
  again.settle();
  EXPECT_FALSE(std::filesystem::exists(folder / "b.take.json"));
}

}  // namespace
}  // namespace mien::tests
