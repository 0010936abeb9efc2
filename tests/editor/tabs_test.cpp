// Several shows open at once, by hand.
#include <GLFW/glfw3.h>
#include <gmock/gmock.h>

#include <unistd.h>

#include "editor/hands.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {
using editor::Dialog;
using editor::kAlt;
using editor::kCtrl;
using editor::kShift;
using show::from_seconds;
using testing::HasSubstr;

class Tabs : public testing::Test {
 protected:
  void SetUp() override {
    for (const char* name : {"GTK_THEME", "DBUS_SESSION_BUS_ADDRESS", "XDG_RUNTIME_DIR"}) ::unsetenv(name);
    a = saved("a"), b = saved("b");
    hands.studio->move_in({folder / "config", folder / "state"});
    hands.studio->open(a);
    hands.studio->open(b);
    hands.settle();
  }
  std::filesystem::path saved(const std::string& name) {
    show::Show show = small_show();
    show.name = name;
    EXPECT_FALSE(store::save_rig(folder / "pip.rig.json", small_rig()));
    EXPECT_FALSE(store::save_show(folder / (name + ".show.json"), show));
    return folder / (name + ".show.json");
  }
  int recoveries() const {
    int count = 0;
    std::error_code ignored;
    for (const auto& e : std::filesystem::directory_iterator(folder / "state" / "recovery", ignored)) count += e.path().extension() == ".recovery";
    return count;
  }
  void await_recoveries(int wanted) {
    for (int i = 0; i < 1000 && recoveries() != wanted; ++i) ::usleep(10'000);
    EXPECT_EQ(recoveries(), wanted);
  }
  void change() { hands.studio->apply(editor::Change{editor::SetKey{"smile", {from_seconds(1), 0.5}}}), hands.settle(); }

  support::Folder folder;
  Hands hands;
  std::filesystem::path a, b;
};

TEST_F(Tabs, EachShowHasItsOwnPastAndView) {
  ASSERT_EQ(hands.studio->tabs(), 2u) << "the untouched show that was there at first gave its place";
  EXPECT_EQ(hands.document().file(), b);
  hands.click("lane/yaw/name");
  hands.press(GLFW_KEY_EQUAL);
  change();
  hands.stage.now.time = from_seconds(1.5);
  hands.settle();
  const auto seen = hands.studio->view().visible;
  hands.click("show/0");
  EXPECT_EQ(hands.document().file(), a);
  EXPECT_EQ(hands.stage.published, hands.document().shared_whole()) << "what is in front is performed";
  EXPECT_FALSE(hands.document().can_undo());
  EXPECT_EQ(hands.studio->view().control, "blink");
  EXPECT_EQ(hands.stage.now.time, show::Time{0});
  hands.press(GLFW_KEY_O, kAlt);
  EXPECT_EQ(hands.document().file(), b);
  EXPECT_EQ(hands.studio->view().control, "yaw");
  EXPECT_EQ(hands.studio->view().visible, seen);
  EXPECT_EQ(hands.stage.now.time, from_seconds(1.5));
  EXPECT_EQ(hands.document().undo_name(), "Set key");
  hands.choose("To the open show before");
  EXPECT_EQ(hands.document().file(), a);
}

TEST_F(Tabs, KeysAreCopiedFromOneShowToAnother) {
  hands.click(hands.at("yaw", 2));
  hands.press(GLFW_KEY_C, kCtrl);
  hands.click("show/0");
  hands.stage.now.time = from_seconds(3);
  hands.settle();
  hands.press(GLFW_KEY_V, kCtrl);
  ASSERT_EQ(hands.keys("yaw").size(), 2u);
  EXPECT_EQ(hands.keys("yaw")[1].time, from_seconds(3));
}

TEST_F(Tabs, ClosingAsksAndCancelKeepsAll) {
  change();
  hands.press(GLFW_KEY_W, kAlt);
  ASSERT_EQ(hands.studio->dialog(), Dialog::unsaved);
  hands.click("button/Cancel");
  EXPECT_EQ(hands.studio->tabs(), 2u);
  hands.choose("Close the show");
  hands.click("button/Save");
  EXPECT_EQ(hands.studio->tabs(), 1u);
  EXPECT_EQ(hands.document().file(), a);
  EXPECT_EQ(show::find_channel(*store::load_show(b)->show, "smile")->keys.size(), 1u);
  EXPECT_FALSE(hands.sees("show/0")) << "one show needs no row of names";
}

TEST_F(Tabs, TheCrossClosesAShowThatIsNotInFront) {
  hands.studio->open(saved("c"));
  hands.settle();
  hands.click("show/1");
  change();
  hands.click("show/2/close");
  EXPECT_EQ(hands.studio->tabs(), 2u);
  hands.click("show/0/close");
  EXPECT_EQ(hands.studio->tabs(), 1u);
  EXPECT_EQ(hands.document().file(), b) << "what is in front stays there";
  EXPECT_EQ(hands.document().undo_name(), "Set key");
}

TEST_F(Tabs, ACrossOnUnsavedWorkBringsItToTheFrontAndAsks) {
  change();
  hands.click("show/0");
  hands.click("show/1/close");
  EXPECT_EQ(hands.document().file(), b);
  ASSERT_EQ(hands.studio->dialog(), Dialog::unsaved);
  hands.click("button/Don\u2019t save");
  EXPECT_EQ(hands.studio->tabs(), 1u);
  EXPECT_EQ(hands.document().file(), a);
}

TEST_F(Tabs, TheLastOneClosedLeavesTheFirstPage) {
  hands.choose("Close the show");
  hands.choose("Close the show");
  EXPECT_EQ(hands.studio->tabs(), 0u);
  EXPECT_FALSE(hands.document().open());
  EXPECT_TRUE(hands.sees("action/open"));
  EXPECT_FALSE(hands.studio->act("close"));
  hands.studio->open(a);
  hands.settle();
  EXPECT_EQ(hands.studio->tabs(), 1u);
  EXPECT_TRUE(hands.sees("lane/blink"));
}

TEST_F(Tabs, QuittingAsksAboutEachInTurnAndNoneIsLostByACancel) {
  change();
  hands.click("show/0");
  change();
  hands.press(GLFW_KEY_Q, kCtrl);
  ASSERT_EQ(hands.studio->dialog(), Dialog::unsaved);
  hands.click("button/Don\u2019t save");
  ASSERT_EQ(hands.studio->dialog(), Dialog::unsaved) << "the other one";
  EXPECT_EQ(hands.document().file(), b);
  hands.click("button/Cancel");
  EXPECT_FALSE(hands.studio->quit());
  ASSERT_EQ(hands.studio->tabs(), 2u);
  EXPECT_TRUE(hands.studio->tab(0).unsaved()) << "what was let go is asked about anew";
  hands.press(GLFW_KEY_Q, kCtrl);
  hands.click("button/Save");
  EXPECT_EQ(hands.document().file(), a);
  ASSERT_EQ(hands.studio->dialog(), Dialog::unsaved);
  hands.click("button/Don\u2019t save");
  EXPECT_TRUE(hands.studio->quit());
  EXPECT_EQ(show::find_channel(*store::load_show(a)->show, "smile"), nullptr);
  EXPECT_NE(show::find_channel(*store::load_show(b)->show, "smile"), nullptr);
}

TEST_F(Tabs, OnlyOneShowDrivesTheHead) {
  hands.stage.status.state = link::State::armed;
  hands.settle();
  hands.click("show/0");
  EXPECT_EQ(hands.document().file(), b);
  ASSERT_FALSE(hands.studio->notices().empty());
  EXPECT_THAT(hands.studio->notices().back().what, HasSubstr("b\u201d drives the head"));
  EXPECT_THAT(hands.studio->notices().back().cure, HasSubstr("Ctrl+Shift+R"));
  hands.studio->apply(editor::Dismiss{});
  hands.studio->open(a);
  hands.choose("Close the show");
  EXPECT_EQ(hands.document().file(), b);
  EXPECT_EQ(hands.studio->tabs(), 2u);
  EXPECT_EQ(hands.studio->notices().size(), 1u);
  hands.stage.status.state = link::State::ready;
  hands.settle();
  hands.studio->apply(editor::Dismiss{});
  hands.settle();
  hands.click("show/0");
  EXPECT_EQ(hands.document().file(), a);
}

TEST_F(Tabs, ATakeIsEndedBeforeAnotherShowComesForward) {
  hands.stage.now.playing = true;
  hands.settle();
  hands.studio->record();
  ASSERT_TRUE(hands.studio->hands().recording);
  hands.settle();
  hands.click("show/0");
  EXPECT_EQ(hands.document().file(), b);
  EXPECT_THAT(hands.studio->notices().back().what, HasSubstr("a take is being recorded"));
  hands.studio->record();
  hands.studio->apply(editor::Dismiss{});
  hands.settle();
  hands.click("show/0");
  EXPECT_EQ(hands.document().file(), a);
}

TEST_F(Tabs, AFileThatIsOpenIsGoneToAndItsUnsavedWorkKept) {
  change();
  hands.click("show/0");
  hands.studio->open(b);
  hands.settle();
  EXPECT_EQ(hands.studio->tabs(), 2u);
  EXPECT_EQ(hands.document().file(), b);
  EXPECT_EQ(hands.keys("smile").size(), 1u);
  EXPECT_THAT(hands.studio->notices().back().what, HasSubstr("open already"));
  hands.press(GLFW_KEY_S, kCtrl);
  hands.studio->open(b);
  EXPECT_EQ(hands.studio->tabs(), 2u);
  EXPECT_EQ(hands.document().file(), b);
}

TEST_F(Tabs, TheWorkOfAllIsKeptForACrash) {
  change();
  hands.click("show/0");
  change();
  await_recoveries(2);
  hands.press(GLFW_KEY_S, kCtrl);
  hands.settle();
  await_recoveries(1);
  hands.click("show/1");
  hands.press(GLFW_KEY_Z, kCtrl);
  await_recoveries(0);
}

TEST_F(Tabs, ShowsLetGoOverTheWindowOpenEachOnItsOwn) {
  const auto c = saved("c"), d = saved("d");
  hands.studio->apply(editor::Drop{{c, d}});
  EXPECT_EQ(hands.studio->tabs(), 4u);
  EXPECT_EQ(hands.document().file(), d);
}

}  // namespace
}  // namespace mien::tests
