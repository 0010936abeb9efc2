// The window's actions and gestures, by hand, without a window.
#include "editor/studio.hpp"

#include <GLFW/glfw3.h>
#include <gtest/gtest.h>

#include <set>

#include "editor/hands.hpp"
#include "editor/safety.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {
using editor::Dialog;
using editor::kAlt;
using editor::kCtrl;
using editor::kShift;
using show::from_seconds;

bool asked(const FakeStage& stage, const std::string& what) { return std::find(stage.asked.begin(), stage.asked.end(), what) != stage.asked.end(); }

TEST(Actions, HaveDistinctNamesAndKeysThatCanBeRead) {
  std::set<std::string_view> ids, names;
  std::set<std::string> keys;
  for (const editor::Action& a : editor::actions()) {
    EXPECT_TRUE(ids.insert(a.id).second) << a.id;
    EXPECT_TRUE(names.insert(a.name).second) << a.name;
    if (a.key.key == 0) continue;
    EXPECT_FALSE(to_text(a.key).empty() || to_text(a.key).back() == '+') << a.id;
    EXPECT_TRUE(keys.insert(to_text(a.key)).second) << a.id << " shares " << to_text(a.key);
  }
}

TEST(Timeline, AClickChoosesAKeyAndADragMovesItToTheTick) {
  Hands hands;
  hands.click(hands.at("blink", 1));
  EXPECT_TRUE(hands.document().selection().contains("blink", from_seconds(1)));
  hands.drag(hands.at("blink", 1), hands.at("blink", 1.234));
  ASSERT_EQ(hands.keys("blink").size(), 3u);
  EXPECT_NEAR(show::to_seconds(hands.keys("blink")[1].time), 1.23, 0.011);
  EXPECT_EQ(hands.keys("blink")[1].time.count() % 10'000'000, 0);
  EXPECT_EQ(hands.document().undo_name(), "Move key");
  EXPECT_EQ(hands.document().steps(), 2u);
}

TEST(Timeline, ShowsADragWhileItGoesOnAndEscapeTakesItBack) {
  Hands hands;
  hands.drag(hands.at("blink", 1), hands.at("blink", 1.3), 0, false);
  EXPECT_NEAR(show::to_seconds(hands.keys("blink")[1].time), 1.3, 0.011);
  EXPECT_TRUE(hands.document().drafting());
  EXPECT_EQ(hands.stage.published, hands.document().shared_show());
  hands.press(GLFW_KEY_ESCAPE);
  EXPECT_EQ(hands.keys("blink")[1].time, from_seconds(1));
  EXPECT_FALSE(hands.document().can_undo());
  EXPECT_EQ(hands.stage.published, hands.document().shared_show());
}

TEST(Timeline, AltDragLeavesTheKeyAndMovesACopy) {
  Hands hands;
  hands.drag(hands.at("blink", 1.5), hands.at("blink", 2.5), kAlt);
  ASSERT_EQ(hands.keys("blink").size(), 4u);
  EXPECT_EQ(hands.keys("blink")[2].time, from_seconds(1.5));
  EXPECT_NEAR(show::to_seconds(hands.keys("blink")[3].time), 2.5, 0.011);
}

TEST(Timeline, ShiftDragChangesTheValueAndNotTheTime) {
  Hands hands;
  const ImVec2 from = hands.at("yaw", 2);
  hands.drag(from, {from.x + 40, from.y - 12}, kShift);
  EXPECT_EQ(hands.keys("yaw")[0].time, from_seconds(2));
  EXPECT_GT(hands.keys("yaw")[0].value, 10.5);
}

TEST(Timeline, ABoxChoosesKeysOfSeveralLanesAndDeleteRemovesThem) {
  Hands hands;
  const ImVec2 a = hands.at("blink", 0.8), b = hands.at("yaw", 2.3);
  hands.drag({a.x, a.y - 8}, {b.x, b.y + 8});
  EXPECT_EQ(hands.document().selection().size(), 3u);
  hands.press(GLFW_KEY_DELETE);
  EXPECT_EQ(hands.keys("blink").size(), 1u);
  EXPECT_TRUE(hands.keys("yaw").empty());
  hands.press(GLFW_KEY_Z, kCtrl);
  EXPECT_EQ(hands.keys("blink").size(), 3u);
  EXPECT_EQ(hands.document().selection().size(), 3u);
  hands.press(GLFW_KEY_Z, kCtrl | kShift);
  EXPECT_EQ(hands.keys("blink").size(), 1u);
}

TEST(Timeline, ADoubleClickAddsAKeyOnTheCurve) {
  Hands hands;
  hands.double_click(hands.at("yaw", 3));
  ASSERT_EQ(hands.keys("yaw").size(), 2u);
  EXPECT_NEAR(show::to_seconds(hands.keys("yaw")[1].time), 3, 0.011);
  EXPECT_EQ(hands.keys("yaw")[1].value, 10);
  hands.double_click(hands.at("smile", 1));
  ASSERT_EQ(hands.keys("smile").size(), 1u);
  EXPECT_EQ(hands.keys("smile")[0].value, 0);
}

TEST(Timeline, FoldingAGroupHidesItsLanes) {
  Hands hands;
  EXPECT_TRUE(hands.sees("lane/blink"));
  hands.click("group/eyes/name");
  EXPECT_FALSE(hands.sees("lane/blink"));
  EXPECT_TRUE(hands.sees("lane/smile"));
  hands.click("group/eyes/name");
  EXPECT_TRUE(hands.sees("lane/blink"));
}

TEST(Timeline, TheRulerScrubsAndTheLoopRowMakesALoopWhoseEndsCanBeDragged) {
  Hands hands;
  const float ruler = hands.middle("timeline/ruler").y, loop = hands.middle("timeline/loop").y;
  hands.drag({hands.at("blink", 1).x, ruler}, {hands.at("blink", 2).x, ruler});
  EXPECT_NEAR(show::to_seconds(hands.stage.now.time), 2, 0.02);
  EXPECT_TRUE(asked(hands.stage, "scrub"));
  hands.drag({hands.at("blink", 1).x, loop}, {hands.at("blink", 3).x, loop});
  ASSERT_TRUE(hands.show().loop);
  EXPECT_NEAR(show::to_seconds(hands.show().loop->begin), 1, 0.011);
  EXPECT_NEAR(show::to_seconds(hands.show().loop->end), 3, 0.011);
  hands.drag({hands.at("blink", 3).x, loop}, {hands.at("blink", 2).x, loop});
  EXPECT_NEAR(show::to_seconds(hands.show().loop->end), 2, 0.02);
  EXPECT_NEAR(show::to_seconds(hands.show().loop->begin), 1, 0.011);
}

TEST(Timeline, TheWheelZoomsAboutThePointer) {
  Hands hands;
  const ImVec2 pointer = hands.at("blink", 1);
  hands.move(pointer);
  hands.push(editor::InputEvent::wheel(0, 3));
  hands.settle();
  EXPECT_LT(hands.studio->view().visible.length(), from_seconds(3));
  EXPECT_NEAR(hands.at("blink", 1).x, pointer.x, 1);
}

TEST(Timeline, AMarkerIsRenamedAndDeletedByADoubleClick) {
  show::Show show = small_show();
  show.markers = {{from_seconds(1), "first"}, {from_seconds(2), "second"}};
  Hands hands(small_rig(), show);
  const ImVec2 flag{hands.at("blink", 2).x + 3, hands.middle("timeline/markers").y};
  hands.double_click(flag);
  ASSERT_TRUE(hands.sees("field/marker"));
  hands.type("Breath");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_FALSE(hands.sees("field/marker"));
  EXPECT_EQ(hands.show().markers[1].name, "Breath");
  hands.double_click(flag);
  hands.click("button/Delete");
  ASSERT_EQ(hands.show().markers.size(), 1u);
  EXPECT_EQ(hands.show().markers[0].name, "first");
  hands.press(GLFW_KEY_Z, kCtrl);
  EXPECT_EQ(hands.show().markers.size(), 2u);
}

TEST(Transport, TheLengthCanBeTypedAndNoKeyIsLost) {
  Hands hands;
  hands.click("field/length");
  hands.type("6.5");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.show().length, from_seconds(6.5));
  hands.click("field/length");
  hands.type("1");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.show().length, from_seconds(2)) << "a key stands at 2 s";
}

TEST(CurveView, AKeyMovesInTimeAndValueAndAHandleChangesItsEasing) {
  Hands hands;
  hands.click("lane/blink/name");
  EXPECT_EQ(hands.studio->view().control, "blink");
  const ImVec2 key = hands.middle("curve/key/1");
  hands.drag(key, {key.x + 30, key.y + 30});
  EXPECT_GT(hands.keys("blink")[1].time, from_seconds(1));
  EXPECT_LT(hands.keys("blink")[1].value, 0.95);
  hands.click(hands.middle("curve/key/0"));
  hands.click("easing/ease-in-out");
  EXPECT_EQ(hands.keys("blink")[0].easing, show::kEaseInOut);
  const ImVec2 handle = hands.middle("curve/handle_out/0");
  hands.drag(handle, {handle.x + 12, handle.y - 20});
  EXPECT_EQ(hands.keys("blink")[0].easing.kind, show::Easing::Kind::bezier);
  EXPECT_GT(hands.keys("blink")[0].easing.x1, 0.45f);
  EXPECT_GT(hands.keys("blink")[0].easing.y1, 0.05f);
}

TEST(KeyPanel, NumbersCanBeTyped) {
  Hands hands;
  hands.click(hands.at("yaw", 2));
  hands.click("field/value");
  hands.type("-12.5");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.keys("yaw")[0].value, -12.5);
  hands.click("field/time");
  hands.type("3.25");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.keys("yaw")[0].time, from_seconds(3.25));
  EXPECT_TRUE(hands.document().selection().contains("yaw", from_seconds(3.25)));
}

TEST(KeyPanel, ShortcutsKeepOutOfATextField) {
  Hands hands;
  hands.click(hands.at("yaw", 2));
  hands.click("field/value");
  hands.press(GLFW_KEY_DELETE);
  hands.press(GLFW_KEY_SPACE);
  EXPECT_EQ(hands.keys("yaw").size(), 1u);
  EXPECT_FALSE(hands.stage.now.playing);
}

TEST(Keys, CopyAndPasteAtThePlayhead) {
  Hands hands;
  hands.click(hands.at("blink", 1));
  hands.press(GLFW_KEY_C, kCtrl);
  hands.stage.now.time = from_seconds(3);
  hands.press(GLFW_KEY_V, kCtrl);
  ASSERT_EQ(hands.keys("blink").size(), 4u);
  EXPECT_EQ(hands.keys("blink")[3].time, from_seconds(3));
  EXPECT_EQ(hands.keys("blink")[3].value, 1);
  hands.press(GLFW_KEY_X, kCtrl);
  EXPECT_EQ(hands.keys("blink").size(), 3u);
}

TEST(Transport, SpacePlaysAndPausesAndArrowsStepByTicks) {
  Hands hands;
  hands.press(GLFW_KEY_SPACE);
  EXPECT_TRUE(hands.stage.now.playing);
  hands.press(GLFW_KEY_SPACE);
  EXPECT_FALSE(hands.stage.now.playing);
  hands.press(GLFW_KEY_RIGHT);
  EXPECT_EQ(hands.stage.now.time, from_seconds(0.01));
  hands.press(GLFW_KEY_DOWN);
  EXPECT_EQ(hands.stage.now.time, from_seconds(0.5));
}

TEST(Safety, ArmingAsksFirstAndTheKeyOfStopWorksWithADialogOrATextFieldOpen) {
  Hands hands;
  hands.click("button/Connect\u2026");
  ASSERT_EQ(hands.studio->dialog(), Dialog::port);
  hands.click("port/sim:");
  EXPECT_TRUE(asked(hands.stage, "open sim:"));
  hands.click("button/Arm\u2026");
  ASSERT_EQ(hands.studio->dialog(), Dialog::arm);
  EXPECT_FALSE(asked(hands.stage, "arm"));
  hands.click("button/Arm");
  EXPECT_TRUE(asked(hands.stage, "arm"));
  EXPECT_EQ(hands.stage.status.state, link::State::armed);

  hands.press(GLFW_KEY_F1);
  ASSERT_EQ(hands.studio->dialog(), Dialog::cheat_sheet);
  hands.press(GLFW_KEY_ESCAPE);
  EXPECT_EQ(hands.stage.status.state, link::State::ready);
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);

  hands.stage.arm();
  hands.click(hands.at("yaw", 2));
  hands.click("field/value");
  ASSERT_TRUE(ImGui::GetIO().WantTextInput);
  hands.press(GLFW_KEY_ESCAPE);
  EXPECT_EQ(hands.stage.status.state, link::State::ready);
}

TEST(Boards, AnotherOneIsNamedAndTakenOverAfterAYes) {
  Hands hands;
  hands.stage.open_port("sim:");
  link::BoardStatus face;
  face.name = "face", face.answering = true, face.identity = 0xABCD;
  hands.stage.status.boards = {face};
  hands.settle();
  EXPECT_FALSE(hands.sees("button/Take over\u2026"));
  EXPECT_FALSE(hands.studio->act("take_over")) << "there is nothing to take over";
  hands.stage.status.boards[0].standing = link::Standing::replaced;
  hands.settle();
  hands.click("button/Take over\u2026");
  hands.settle();
  ASSERT_EQ(hands.studio->dialog(), Dialog::take_over);
  hands.click("button/Cancel");
  hands.settle();
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  EXPECT_FALSE(asked(hands.stage, "adopt"));
  ASSERT_TRUE(hands.studio->act("take_over"));
  hands.settle();
  hands.click("button/Take over");
  hands.settle();
  EXPECT_TRUE(asked(hands.stage, "adopt"));
  EXPECT_FALSE(asked(hands.stage, "arm")) << "outputs stay silent until a person arms";
}

TEST(Boards, NoneIsTakenOverWhileTheHeadMoves) {
  Hands hands;
  hands.stage.open_port("sim:");
  hands.stage.arm();
  link::BoardStatus face;
  face.name = "face", face.answering = true, face.standing = link::Standing::swapped, face.stands_there = "neck";
  hands.stage.status.boards = {face};
  hands.settle();
  EXPECT_TRUE(hands.sees("safety/board face"));
  EXPECT_FALSE(hands.sees("button/Take over\u2026"));
  EXPECT_FALSE(hands.studio->act("take_over"));
}

show::Rig rig_with_inputs() {
  show::Rig rig = small_rig();
  rig.controls.push_back({"mood", "mouth", "1", 0, 1, 0, {"calm", "cross"}});
  rig.auxiliaries = {{"display", "face", "mood", 0, show::Code{1, -1, 1}}};
  rig.inputs = {{"button", "face", 0, false, 0, show::PlayShow{}}, {"end", "face", 1, false, 0, show::StopShow{}},
                {"mat", "face", 2, false, 0, show::PlayFrom{"middle"}}, {"touch", "face", 3, false, 0, show::SetState{"display", "cross"}}};
  return rig;
}

TEST(Inputs, StartWhatTheRigSaysWhileTheHeadIsArmed) {
  show::Show with_marker = small_show();
  with_marker.markers = {{from_seconds(2), "middle"}};
  Hands hands(rig_with_inputs(), with_marker);
  hands.stage.open_port("sim:");
  link::BoardStatus face;
  face.name = "face", face.answering = face.reported = true;
  hands.stage.status.boards = {face};
  const auto levels = [&](std::uint16_t to) {
    hands.stage.status.boards[0].inputs = to;
    hands.settle();
  };
  levels(0);
  levels(1);
  EXPECT_FALSE(hands.stage.now.playing) << "not armed";
  hands.stage.arm();
  levels(1);
  EXPECT_FALSE(hands.stage.now.playing) << "a contact that was closed already is no new one";
  levels(0);
  levels(1);
  EXPECT_TRUE(hands.stage.now.playing);
  levels(3);
  EXPECT_FALSE(hands.stage.now.playing);
  EXPECT_EQ(hands.stage.now.time, show::Time{0});
  levels(4);
  EXPECT_TRUE(hands.stage.now.playing);
  EXPECT_EQ(hands.stage.now.time, from_seconds(2));
  levels(8);
  EXPECT_TRUE(asked(hands.stage, "state 0 1"));
}

TEST(Safety, ArmIsNotPossibleBeforeBoardsAnswered) {
  Hands hands;
  EXPECT_FALSE(hands.studio->act("arm"));
  EXPECT_FALSE(hands.sees("button/Arm\u2026"));
}

TEST(Safety, EveryStateHasItsOwnWordAndTheStopButtonAlwaysShows) {
  std::set<std::string_view> words;
  Hands hands;
  for (int s = 0; s <= static_cast<int>(link::State::lost); ++s) {
    hands.stage.status.state = static_cast<link::State>(s);
    hands.settle();
    EXPECT_TRUE(words.insert(editor::safety_word(hands.stage.status.state, perform::Mode::live).word).second);
    EXPECT_TRUE(hands.sees("button/Stop"));
  }
}

TEST(Safety, NamesEachGovernedRail) {
  Hands hands;
  hands.settle();
  EXPECT_FALSE(hands.sees("safety/rail servos"));
  hands.stage.now.governed = 1;
  hands.stage.now.rail[0] = {0, 0, 0.63F, 2.5F};
  hands.settle();
  EXPECT_TRUE(hands.sees("safety/rail servos"));
  hands.stage.now.rail[0] = {7, 0, 0.63F, 2.5F};  // of a rig that is gone
  hands.probe.boxes.clear();
  hands.settle();
  EXPECT_FALSE(hands.sees("safety/rail servos"));
}

TEST(Files, SaveAsWritesTheShowAndUndoMakesItUnsavedAgain) {
  support::Folder folder;
  ASSERT_FALSE(store::save_rig(folder / "pip.rig.json", small_rig()));
  ASSERT_FALSE(store::save_show(folder / "hello.show.json", small_show()));
  Hands hands;
  hands.studio->open(folder / "hello.show.json");
  hands.settle();
  ASSERT_TRUE(hands.studio->notices().empty()) << show::to_text(hands.studio->notices().front());
  hands.drag(hands.at("blink", 1), hands.at("blink", 1.2));
  EXPECT_TRUE(hands.document().unsaved());
  EXPECT_NE(hands.studio->title().find("\u2022"), std::string::npos);
  hands.press(GLFW_KEY_S, kCtrl | kShift);
  ASSERT_EQ(hands.studio->dialog(), Dialog::save_as);
  hands.press(GLFW_KEY_A, kCtrl);
  hands.type("other");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  EXPECT_FALSE(hands.document().unsaved());
  const auto saved = store::load_show(folder / "other.show.json");
  ASSERT_TRUE(saved) << show::to_text(saved.problem());
  EXPECT_TRUE(show::same(*saved->show, hands.show()));
  hands.press(GLFW_KEY_Z, kCtrl);
  EXPECT_TRUE(hands.document().unsaved());
}

TEST(Files, AShowSavedInAnotherFolderStillFindsItsRig) {
  support::Folder folder;
  std::filesystem::create_directory(folder / "deep");
  ASSERT_FALSE(store::save_rig(folder / "pip.rig.json", small_rig()));
  ASSERT_FALSE(store::save_show(folder / "hello.show.json", small_show()));
  Hands hands;
  hands.studio->open(folder / "hello.show.json");
  ASSERT_TRUE(hands.studio->save_as(folder / "deep" / "copy.show.json"));
  const auto saved = store::load_show(folder / "deep" / "copy.show.json");
  ASSERT_TRUE(saved) << show::to_text(saved.problem());
  EXPECT_EQ(saved->show->rig_file, "../pip.rig.json");
  EXPECT_FALSE(hands.document().unsaved());
}

TEST(Files, ClosingWithNothingUnsavedAsksNothing) {
  Hands hands;
  hands.studio->ask_to_quit();
  EXPECT_TRUE(hands.studio->quit());
}

TEST(Files, ClosingWithUnsavedWorkAsks) {
  Hands hands;
  hands.click(hands.at("yaw", 2));
  hands.press(GLFW_KEY_DELETE);
  hands.studio->ask_to_quit();
  hands.settle();
  EXPECT_FALSE(hands.studio->quit());
  ASSERT_EQ(hands.studio->dialog(), Dialog::unsaved);
  hands.click("button/Cancel");
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  hands.press(GLFW_KEY_Q, kCtrl);
  hands.click("button/Don\u2019t save");
  EXPECT_TRUE(hands.studio->quit());
}

TEST(Files, AFileThatIsNoShowIsANoticeAndTheOpenShowStays) {
  support::Folder folder;
  support::write(folder / "bad.show.json", "no show");
  Hands hands;
  hands.studio->open(folder / "bad.show.json");
  hands.settle();
  EXPECT_FALSE(hands.studio->notices().empty());
  EXPECT_EQ(hands.show().name, "Hello");
  hands.click("button/Understood");
  EXPECT_TRUE(hands.studio->notices().empty());
}

// The first show's sound is told to give up; the second show doesn't wait for it and gets its own.
TEST(Files, ASecondShowDoesNotWaitForTheSoundOfTheFirst) {
  support::Folder folder;
  std::string wave = "RIFF\xff\xff\xff\x7fWAVE" "fmt \x10";
  wave += std::string(3, '\0') + std::string("\x01\0\x01\0\x80\xbb\0\0\x80\xbb\0\0\x01\0\x08\0", 16) + "data\xff\xff\xff\x7e" + std::string(48000 * 60, '\x80');
  support::write(folder / "long.wav", wave);
  ASSERT_FALSE(store::save_rig(folder / "pip.rig.json", small_rig()));
  show::Show show = small_show();
  show.sounds = {{"long.wav"}};
  ASSERT_FALSE(store::save_show(folder / "long.show.json", show));
  ASSERT_FALSE(store::save_show(folder / "hello.show.json", small_show()));
  Hands hands;
  hands.studio->open(folder / "long.show.json");
  EXPECT_TRUE(hands.studio->lively());
  hands.studio->open(folder / "hello.show.json");
  hands.settle();
  EXPECT_FALSE(hands.studio->lively()) << "still loading";
  EXPECT_TRUE(hands.studio->notices().empty());
}

TEST(Menus, RunActions) {
  Hands hands;
  hands.click("menu/Keys");
  ASSERT_TRUE(hands.sees("item/select_all"));
  hands.click("item/select_all");
  EXPECT_EQ(hands.document().selection().size(), 4u);
}

}  // namespace
}  // namespace mien::tests
