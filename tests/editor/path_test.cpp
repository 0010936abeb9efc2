// The dialog for files, by hand: places, what is typed, the keyboard, and what a file holds.
#include <GLFW/glfw3.h>
#include <gmock/gmock.h>

#include <thread>

#include "editor/hands.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {
using editor::Dialog;
using editor::kCtrl;
using show::from_seconds;
using testing::HasSubstr;

class PathDialog : public testing::Test {
 protected:
  void SetUp() override {
    std::filesystem::create_directories(folder / "more");
    EXPECT_FALSE(store::save_rig(folder / "pip.rig.json", small_rig()));
    for (const char* name : {"alpha", "beta", "gamma"}) {
      show::Show show = small_show();
      show.name = name;
      EXPECT_FALSE(store::save_show(folder / (std::string(name) + ".show.json"), show));
    }
    hands.studio->move_in({folder / "config", folder / "state"});
    hands.studio->panels().path.folder = folder / "";
    hands.press(GLFW_KEY_O, kCtrl);
  }
  support::Folder folder;
  Hands hands;
};

TEST_F(PathDialog, WhatIsTypedNarrowsTheListAndEnterTakesTheOnlyOneLeft) {
  ASSERT_TRUE(hands.sees("path/alpha.show.json"));
  EXPECT_FALSE(hands.sees("path/pip.rig.json")) << "a rig is no show";
  hands.type("ET");
  EXPECT_TRUE(hands.sees("path/beta.show.json"));
  EXPECT_FALSE(hands.sees("path/alpha.show.json"));
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.document().file(), folder / "beta.show.json");
  EXPECT_EQ(hands.studio->dialog(), Dialog::none);
}

TEST_F(PathDialog, ArrowsWalkTheRowsAndEnterTakesOne) {
  hands.press(GLFW_KEY_DOWN);  // the folder above
  hands.press(GLFW_KEY_DOWN);  // config/, if it was made, or more/
  while (hands.studio->panels().path.at >= 0 && hands.studio->panels().path.at < 9) {
    const int before = hands.studio->panels().path.at;
    hands.press(GLFW_KEY_DOWN);
    if (hands.studio->panels().path.at == before) break;
  }
  hands.press(GLFW_KEY_UP);
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.document().file(), folder / "beta.show.json") << "the last but one";
}

TEST_F(PathDialog, AFolderIsEnteredAndBackspaceLeavesIt) {
  hands.type("more");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.studio->panels().path.folder.filename(), "more");
  EXPECT_EQ(hands.studio->dialog(), Dialog::open_show);
  hands.press(GLFW_KEY_BACKSPACE);
  EXPECT_TRUE(hands.sees("path/alpha.show.json"));
}

TEST_F(PathDialog, TheFileThatWouldBeTakenSaysWhatItHolds) {
  hands.click("path/gamma.show.json");
  for (int i = 0; i < 5000 && hands.studio->panels().path.holds.empty(); ++i) {
    hands.frame();
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  const auto& holds = hands.studio->panels().path.holds;
  ASSERT_GE(holds.size(), 3u);
  EXPECT_EQ(holds[0], "gamma");
  EXPECT_THAT(holds[1], HasSubstr("4.000 s on the head \u201cPip\u201d"));
  EXPECT_EQ(holds[2], "4 keys in 2 channels");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.document().file(), folder / "gamma.show.json");
}

TEST_F(PathDialog, AFileThatCantBeReadSaysWhyBeforeItIsTaken) {
  support::write(folder / "bad.show.json", "no show");
  const auto holds = editor::what_it_holds(folder / "bad.show.json");
  ASSERT_EQ(holds.size(), 2u);
  EXPECT_THAT(holds[0], HasSubstr("be opened"));
  EXPECT_THAT(holds[1], HasSubstr("bad.show.json"));
  EXPECT_THAT(editor::what_it_holds(folder / "pip.rig.json")[1], HasSubstr("1 board, 3 servos"));
}

TEST_F(PathDialog, FoldersOfRecentShowsArePlaces) {
  hands.click("path/alpha.show.json");
  hands.click("button/Open");
  hands.press(GLFW_KEY_O, kCtrl);
  const std::string here = folder.path().filename().string();
  ASSERT_TRUE(hands.sees("place/" + here));
  hands.click("place/Computer");
  EXPECT_EQ(hands.studio->panels().path.folder, "/");
  hands.click("place/" + here);
  EXPECT_TRUE(hands.sees("path/beta.show.json"));
}

TEST_F(PathDialog, SavingTypesAFreshNameAndFiltersNothing) {
  hands.click("path/alpha.show.json");
  hands.click("button/Open");
  hands.press(GLFW_KEY_S, kCtrl | editor::kShift);
  hands.press(GLFW_KEY_A, kCtrl);
  hands.type("delta");
  EXPECT_TRUE(hands.sees("path/beta.show.json"));
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.document().file(), folder / "delta.show.json");
}

}  // namespace
}  // namespace mien::tests
