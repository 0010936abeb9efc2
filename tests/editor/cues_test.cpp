// The cue list and the cue board, with a stage of the test's own.
#include <GLFW/glfw3.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "editor/hands.hpp"
#include "show/cue_edit.hpp"

namespace mien::tests {
namespace {

using ::testing::Contains;
using ::testing::Not;
using perform::CuePhase;

show::Show cued_show() {
  show::Show show = small_show();
  show.poses = {std::make_shared<const show::Pose>(show::Pose{"glad", {}, "", {{"smile", 1}}}), std::make_shared<const show::Pose>(show::Pose{"aside", {}, "", {{"yaw", 20}}})};
  show.clips = {std::make_shared<const show::Clip>(show::Clip{"nod", show::Time{500'000'000}, {std::make_shared<const show::Channel>(show::Channel{"yaw", {{show::Time{0}, 5, show::kLinear}}})}})};
  show::Cue one, two;
  one.name = "Hello", one.deed = show::CuePose{"glad"}, one.key = "G";
  two.name = "Nod", two.deed = show::CueClip{"nod"};
  show.cues = {one, two};
  return show;
}
const std::vector<show::Cue>& cues(const Hands& hands) { return hands.document().whole().cues; }
void phase(Hands& hands, std::size_t n, CuePhase phase) {
  hands.stage.now.cues.count = static_cast<int>(cues(hands).size());
  hands.stage.now.cues.cue[n].phase = phase;
  hands.settle();
}

TEST(CuePanel, AddsChangesMovesAndRemovesCues_EachOneEdit) {
  Hands hands(small_rig(), cued_show(), {1366, 1400});
  hands.press(GLFW_KEY_U, editor::kCtrl | editor::kShift);
  hands.settle();
  hands.click("row/cue/Nod");
  hands.settle();
  hands.click("button/Round and round");
  hands.settle();
  EXPECT_EQ(std::get<show::CueClip>(cues(hands)[1].deed), (show::CueClip{"nod", true}));
  hands.click("button/Pose##cue_kind");
  hands.settle();
  EXPECT_EQ(std::get<show::CuePose>(cues(hands)[1].deed).pose, "glad");
  hands.click("button/aside##cue_pose");
  hands.settle();
  EXPECT_EQ(std::get<show::CuePose>(cues(hands)[1].deed).pose, "aside");
  hands.click("button/Hello##cue_follow");
  hands.settle();
  EXPECT_EQ(cues(hands)[1].follow, "Hello");
  ASSERT_TRUE(hands.studio->act("undo"));
  EXPECT_EQ(cues(hands)[1].follow, "") << "one step back";
  ASSERT_TRUE(hands.studio->act("cue_up"));
  EXPECT_EQ(cues(hands)[0].name, "Nod");
  EXPECT_EQ(hands.stage.published->cues, cues(hands)) << "the stage has it at once";
  ASSERT_TRUE(hands.studio->act("cue_remove"));
  ASSERT_EQ(cues(hands).size(), 1u);
  hands.settle();
  ASSERT_TRUE(hands.studio->act("cue_add"));
  hands.settle();
  ASSERT_EQ(cues(hands).size(), 2u);
  EXPECT_EQ(hands.studio->view().cue, cues(hands)[1].name) << "the new one is chosen";
}

TEST(CueBoard, StartsAndReleasesByPadAndKey) {
  Hands hands(small_rig(), cued_show());
  EXPECT_FALSE(hands.sees("cue/Hello"));
  hands.press(GLFW_KEY_F7);
  hands.settle();
  EXPECT_THAT(hands.stage.asked, Contains("cues live"));
  phase(hands, 0, CuePhase::ready);
  hands.click("cue/Hello");
  hands.settle();
  EXPECT_THAT(hands.stage.asked, Contains("start cue 0"));
  phase(hands, 0, CuePhase::playing);
  hands.click("cue/Hello");
  hands.settle();
  EXPECT_THAT(hands.stage.asked, Contains("release cue 0"));
  // G is the head's way to look as built, but not where a cue has it and the board is in sight.
  phase(hands, 0, CuePhase::ready);
  hands.stage.asked.clear();
  hands.press(GLFW_KEY_G);
  hands.settle();
  EXPECT_THAT(hands.stage.asked, Contains("start cue 0"));
  EXPECT_FALSE(hands.studio->view().as_built);
  hands.press(GLFW_KEY_F7, editor::kShift);
  hands.settle();
  EXPECT_THAT(hands.stage.asked, Contains("release cues"));
  hands.press(GLFW_KEY_F7);
  hands.settle();
  EXPECT_THAT(hands.stage.asked, Contains("cues not live"));
  hands.stage.asked.clear();
  hands.press(GLFW_KEY_G);
  hands.settle();
  EXPECT_THAT(hands.stage.asked, Not(Contains("start cue 0")));
  EXPECT_TRUE(hands.studio->view().as_built);
}

TEST(CueBoard, TeachesWhereThereAreNone) {
  Hands hands;
  hands.press(GLFW_KEY_F7);
  hands.settle();
  ASSERT_TRUE(hands.sees("action/cue_add"));
  hands.click("action/cue_add");
  hands.settle();
  ASSERT_EQ(cues(hands).size(), 1u);
  EXPECT_TRUE(hands.sees("cue/" + cues(hands)[0].name));
}

live::Touch note(int number) {
  live::Touch touch;
  touch.midi = {live::MidiMessage::Kind::note_on, 0, static_cast<std::uint8_t>(number), 90, {}};
  return touch;
}
void press_key(Hands& hands, const live::Touch& touch) {
  hands.stage.now.hands.last = touch;
  ++hands.stage.now.hands.heard;
  hands.settle();
}

TEST(HandsPanel, LearnsAKeyForTheChosenCue_AndSetsItsHold) {
  Hands hands(small_rig(), cued_show());
  EXPECT_FALSE(hands.studio->act("hands_trigger")) << "nothing is chosen that it could do";
  hands.studio->apply(editor::ShowSide{editor::Side::cues});
  hands.studio->apply(editor::ChooseCue{"Hello"});
  ASSERT_TRUE(hands.studio->act("hands_trigger"));
  hands.settle();
  live::Touch off = note(60);
  off.midi.kind = live::MidiMessage::Kind::note_off;
  press_key(hands, off);
  EXPECT_TRUE(hands.stage.hands.triggers.empty()) << "let go is not pressed";
  press_key(hands, note(60));
  ASSERT_EQ(hands.stage.hands.triggers.size(), 1u);
  const live::Trigger& trigger = hands.stage.hands.triggers[0];
  EXPECT_EQ(trigger.source, (live::Source{"Slide Eight", 1, live::Source::Kind::note, 60}));
  EXPECT_EQ(trigger.what, live::Trigger::What::cue);
  EXPECT_EQ(trigger.name, "Hello");
  press_key(hands, note(61));
  EXPECT_EQ(hands.stage.hands.triggers.size(), 1u) << "one key for one Learn";

  hands.click("trigger/0/more");
  hands.settle();
  hands.click("button/latch##hold");
  hands.settle();
  EXPECT_EQ(hands.stage.hands.triggers[0].hold, live::Trigger::Hold::latch);
  hands.click("button/Nod##does");
  hands.settle();
  EXPECT_EQ(hands.stage.hands.triggers[0].name, "Nod");
  hands.click("trigger/0/remove");
  hands.settle();
  EXPECT_TRUE(hands.stage.hands.triggers.empty());
}

TEST(HandsPanel, SetsRangeCurveDeadZoneAndSpring_WithinWhatTheControlAllows) {
  Hands hands;
  hands.studio->apply(editor::Choose{"yaw"});
  hands.press(GLFW_KEY_L, editor::kShift);
  hands.settle();
  live::Touch touch;
  touch.midi = {live::MidiMessage::Kind::controller, 0, 7, 3, {}};
  press_key(hands, touch);
  ASSERT_EQ(hands.stage.hands.knobs.size(), 1u);
  hands.click("knob/0/more");
  hands.settle();
  ASSERT_TRUE(hands.sees("field/knob_low"));
  const auto type = [&](const char* field, const char* text) {
    hands.click(std::string("field/") + field);
    hands.settle();
    hands.type(text);
    hands.press(GLFW_KEY_ENTER);
    hands.settle();
  };
  type("knob_low", "-10");
  type("knob_high", "99");
  type("knob_dead", "25");
  type("knob_spring", "0.5");
  const live::Knob& knob = hands.stage.hands.knobs[0];
  EXPECT_EQ(knob.low, -10);
  EXPECT_EQ(knob.high, 30) << "held within the control";
  EXPECT_EQ(knob.dead_zone, 0.25);
  EXPECT_EQ(knob.spring_back_s, 0.5);
  EXPECT_TRUE(live::validate(hands.stage.hands, small_rig(), "m").empty());
}

}  // namespace
}  // namespace mien::tests
