// Keys that a person changes, and actions found by name.
#include "editor/keys.hpp"

#include <GLFW/glfw3.h>
#include <gmock/gmock.h>

#include "editor/hands.hpp"
#include "editor/palette.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {
using editor::Chord;
using editor::Dialog;
using editor::find_action;
using editor::Keys;
using editor::kAlt;
using editor::kCtrl;
using editor::kShift;
using testing::HasSubstr;

TEST(Chords, AreReadAsTheyAreShownAndAsTheyMayBeTyped) {
  for (const editor::Action& a : editor::actions())
    if (a.key.key != 0) {
      EXPECT_EQ(editor::parse_chord(to_text(a.key)), a.key) << a.id;
    }
  EXPECT_EQ(editor::parse_chord("shift+ctrl+s"), (Chord{GLFW_KEY_S, kCtrl | kShift}));
  EXPECT_EQ(editor::parse_chord("Alt+Left"), (Chord{GLFW_KEY_LEFT, kAlt}));
  EXPECT_EQ(editor::parse_chord("Ctrl+-"), (Chord{GLFW_KEY_MINUS, kCtrl}));
  EXPECT_EQ(editor::parse_chord("none"), Chord{});
  for (const char* text : {"", "Ctrl+", "Ctrl", "hyper+x", "Ctrl+S+T", "S+Ctrl"}) EXPECT_EQ(editor::parse_chord(text), std::nullopt) << text;
}

TEST(Keys, AreTheUsualOnesUntilOneIsBound) {
  Keys keys;
  EXPECT_TRUE(keys.entries().empty());
  for (const editor::Action& a : editor::actions()) EXPECT_EQ(keys.of(a), a.key);
  ASSERT_FALSE(keys.bind(*find_action("loop"), {GLFW_KEY_L, kCtrl}));
  EXPECT_EQ(keys.find({GLFW_KEY_L, kCtrl}), find_action("loop"));
  EXPECT_EQ(keys.find({GLFW_KEY_L, 0}), nullptr);
  ASSERT_EQ(keys.entries().size(), 1u);
  EXPECT_EQ(keys.entries()[0].name, "loop");
  EXPECT_EQ(keys.entries()[0].value, "Ctrl+L");
  ASSERT_FALSE(keys.bind(*find_action("marker"), {}));
  EXPECT_EQ(keys.find({GLFW_KEY_M, 0}), nullptr);
  Keys again;
  EXPECT_TRUE(again.read(keys.entries(), "keys").empty());
  for (const editor::Action& a : editor::actions()) EXPECT_EQ(again.of(a), keys.of(a)) << a.id;
}

TEST(Keys, NameTheActionThatHasTheKeyAlready) {
  Keys keys;
  const auto clash = keys.bind(*find_action("loop"), {GLFW_KEY_S, kCtrl});
  ASSERT_TRUE(clash);
  EXPECT_THAT(clash->what, HasSubstr("Save"));
  EXPECT_EQ(keys.of(*find_action("loop")), (Chord{GLFW_KEY_L, 0}));
}

TEST(Keys, LeaveEscToStop) {
  Keys keys;
  EXPECT_TRUE(keys.bind(*find_action("stop"), {GLFW_KEY_X, 0}));
  EXPECT_TRUE(keys.bind(*find_action("loop"), {GLFW_KEY_ESCAPE, kShift}));
  EXPECT_EQ(keys.read({{"stop", "X", 1}, {"loop", "Esc", 2}}, "keys").size(), 2u);
  EXPECT_EQ(keys.find({GLFW_KEY_ESCAPE, 0}), find_action("stop"));
}

TEST(Keys, AFileMayExchangeTwoAndIsToldItsClashes) {
  Keys keys;
  EXPECT_TRUE(keys.read({{"loop", "M", 1}, {"marker", "L", 2}}, "keys").empty());
  EXPECT_EQ(keys.find({GLFW_KEY_M, 0}), find_action("loop"));
  EXPECT_EQ(keys.find({GLFW_KEY_L, 0}), find_action("marker"));
  const auto findings = keys.read({{"loop", "Ctrl+S", 1}, {"lop", "X", 2}, {"marker", "Hyper", 3}, {"fit", "G", 4}, {"as_built", "none", 5}}, "keys");
  ASSERT_EQ(findings.size(), 3u);
  EXPECT_THAT(findings[0].cure, HasSubstr("'loop'"));
  EXPECT_EQ(findings[1].place, "line 3");
  EXPECT_THAT(findings[2].what, HasSubstr("belongs to 'save'"));
  EXPECT_EQ(findings[2].place, "line 1");
  EXPECT_EQ(keys.find({GLFW_KEY_L, 0}), find_action("loop")) << "it keeps its usual key";
  EXPECT_EQ(keys.find({GLFW_KEY_G, 0}), find_action("fit"));
}

// Whatever the file says, no key does two things.
TEST(Keys, NeverDoTwoThings) {
  const std::vector<std::string> names{"S", "Ctrl+S", "L", "M", "none", "F", "Ctrl+L", "G"};
  unsigned draw = 1;
  for (int round = 0; round < 500; ++round) {
    std::vector<store::Entry> entries;
    for (const editor::Action& a : editor::actions())
      if ((draw = draw * 1664525u + 1013904223u) >> 29 == 0) entries.push_back({std::string(a.id), names[(draw >> 20) % names.size()], 1});
    Keys keys;
    keys.read(entries, "keys");
    for (const editor::Action& a : editor::actions()) {
      if (keys.of(a).key == 0) continue;
      EXPECT_EQ(keys.find(keys.of(a)), &a) << a.id << " shares " << to_text(keys.of(a)) << " in round " << round;
    }
  }
}

TEST(Palette, FindsEveryActionByItsName) {
  for (const editor::Action& a : editor::actions()) {
    const auto found = editor::matching(a.name);
    ASSERT_FALSE(found.empty()) << a.name;
    EXPECT_EQ(found.front(), &a) << a.name;
  }
  EXPECT_EQ(editor::matching("").size(), editor::actions().size());
  EXPECT_TRUE(editor::matching("no such thing").empty());
}

TEST(Palette, TakesWordsInAnyOrderAndNamesThatBeginSoFirst) {
  EXPECT_EQ(editor::matching("playhead key").front(), find_action("add_key"));
  EXPECT_EQ(editor::matching("SAV").front(), find_action("save"));
  EXPECT_EQ(editor::matching("  undo ").front(), find_action("undo"));
}

TEST(Palette, EnterDoesWhatWasTyped) {
  Hands hands;
  hands.press(GLFW_KEY_F2);
  ASSERT_EQ(hands.studio->dialog(), Dialog::palette);
  hands.type("choose all");
  EXPECT_TRUE(hands.sees("palette/select_all"));
  EXPECT_FALSE(hands.sees("palette/save"));
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.document().selection().size(), 4u);
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
}

TEST(Palette, ArrowsChooseAndAClickDoes) {
  Hands hands;
  hands.studio->act("palette");
  hands.settle();
  hands.type("easing");
  hands.press(GLFW_KEY_DOWN);
  hands.press(GLFW_KEY_DOWN);
  EXPECT_EQ(hands.studio->panels().palette.at, 2);
  hands.press(GLFW_KEY_ESCAPE);
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
  hands.studio->act("palette");
  hands.settle();
  hands.type("loop");
  hands.click("palette/loop");
  EXPECT_TRUE(hands.show().loop);
}

TEST(Palette, WhatIsNotPossibleSaysWhyAndDoesNothing) {
  Hands hands;
  EXPECT_EQ(why_not(*find_action("cut"), *hands.studio), "Choose keys first");
  EXPECT_EQ(why_not(*find_action("undo"), *hands.studio), "Nothing was changed yet");
  EXPECT_EQ(why_not(*find_action("bench_travel"), *hands.studio), "Open the workbench first");
  EXPECT_EQ(why_not(*find_action("arm"), *hands.studio), "Connect boards that are ready first");
  EXPECT_EQ(why_not(*find_action("play"), *hands.studio), "");
  hands.studio->act("palette");
  hands.settle();
  hands.type("cut");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.studio->dialog(), Dialog::palette);
  EXPECT_FALSE(hands.document().can_undo());
  hands.press(GLFW_KEY_ESCAPE);
  hands.studio->act("bench");
  hands.settle();
  EXPECT_EQ(why_not(*find_action("play"), *hands.studio), "Leave the workbench first");
  EXPECT_EQ(why_not(*find_action("bench_travel"), *hands.studio), "Arm at the workbench first");
  for (const editor::Action& a : editor::actions()) EXPECT_EQ(why_not(a, *hands.studio).empty(), a.possible(*hands.studio)) << a.id;
}

TEST(Palette, AClickOnAKeyChangesItAndTheFileKeepsIt) {
  const support::Folder folder;
  {
    Hands hands;
    hands.studio->move_in({folder / "config", folder / "state"});
    hands.studio->act("palette");
    hands.settle();
    hands.type("loop");
    hands.click("palette/loop/key");
    hands.press(GLFW_KEY_S, kCtrl);
    EXPECT_THAT(hands.studio->panels().palette.word, HasSubstr("Save"));
    EXPECT_EQ(hands.studio->keys().of(*find_action("loop")), (Chord{GLFW_KEY_L, 0}));
    hands.press(GLFW_KEY_J, kShift);
    EXPECT_EQ(hands.studio->keys().of(*find_action("loop")), (Chord{GLFW_KEY_J, kShift}));
    EXPECT_EQ(hands.studio->dialog(), Dialog::palette);
    hands.press(GLFW_KEY_ESCAPE);
    hands.press(GLFW_KEY_L);
    EXPECT_FALSE(hands.show().loop);
    hands.press(GLFW_KEY_J, kShift);
    EXPECT_TRUE(hands.show().loop);
  }
  EXPECT_THAT(support::read(folder / "config" / "keys"), HasSubstr("loop = Shift+J\n"));
  Hands hands;
  hands.studio->move_in({folder / "config", folder / "state"});
  hands.press(GLFW_KEY_J, kShift);
  EXPECT_TRUE(hands.show().loop);
  EXPECT_TRUE(hands.studio->act("usual_keys"));
  EXPECT_EQ(hands.studio->keys().of(*find_action("loop")), (Chord{GLFW_KEY_L, 0}));
}

TEST(Palette, EscWhileAKeyIsAskedForStopsAndLeavesTheKey) {
  Hands hands;
  hands.studio->act("palette");
  hands.settle();
  hands.type("loop");
  hands.click("palette/loop/key");
  hands.press(GLFW_KEY_ESCAPE);
  EXPECT_EQ(hands.stage.asked.back(), "stop");
  EXPECT_EQ(hands.studio->dialog(), Dialog::palette);
  EXPECT_EQ(hands.studio->keys().of(*find_action("loop")), (Chord{GLFW_KEY_L, 0}));
}

}  // namespace
}  // namespace mien::tests
