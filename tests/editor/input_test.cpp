#include "editor/input.hpp"

#include <GLFW/glfw3.h>
#include <gtest/gtest.h>

namespace mien::editor {
namespace {

struct InputTest : testing::Test {
  InputTest() { ImGui::CreateContext(); }
  ~InputTest() override { ImGui::DestroyContext(); }
  ImGuiIO& io() { return ImGui::GetIO(); }
};

TEST_F(InputTest, APressAndReleaseBetweenTwoFramesAreBothSeen) {
  InputQueue queue;
  queue.push(InputEvent::button(0, true));
  queue.push(InputEvent::button(0, false));
  queue.feed(io());
  EXPECT_TRUE(io().MouseDown[0]);
  queue.feed(io());
  EXPECT_FALSE(io().MouseDown[0]);
  EXPECT_TRUE(queue.empty());
}

TEST_F(InputTest, TwentyShortcutsWithinOneFrameAllArrive) {
  InputQueue queue;
  for (int i = 0; i < 20; ++i) {
    queue.push(InputEvent::key(GLFW_KEY_LEFT_CONTROL, true, kCtrl));
    queue.push(InputEvent::key(GLFW_KEY_S, true, kCtrl));
    queue.push(InputEvent::key(GLFW_KEY_S, false, kCtrl));
    queue.push(InputEvent::key(GLFW_KEY_LEFT_CONTROL, false, 0));
  }
  int saves = 0, frames = 0;
  while (!queue.empty()) {
    for (const KeyPress& p : queue.feed(io())) saves += p.key == GLFW_KEY_S && p.mods == kCtrl;
    ASSERT_LT(++frames, 1000);
  }
  EXPECT_EQ(saves, 20);
  EXPECT_FALSE(io().KeyCtrl);
}

TEST_F(InputTest, ThePointerRestsForAFrameBeforeAPress) {
  InputQueue queue;
  queue.push(InputEvent::move(10, 20));
  queue.push(InputEvent::move(30, 40));
  queue.push(InputEvent::button(0, true));
  queue.feed(io());
  EXPECT_EQ(io().MousePos.x, 30);
  EXPECT_FALSE(io().MouseDown[0]);
  queue.feed(io());
  EXPECT_TRUE(io().MouseDown[0]);
}

TEST_F(InputTest, AModifierLetGoAfterTheMouseIsStillDownOnTheFrameOfTheRelease) {
  InputQueue queue;
  queue.push(InputEvent::key(GLFW_KEY_LEFT_ALT, true, kAlt));
  queue.push(InputEvent::button(0, true));
  queue.push(InputEvent::button(0, false));
  queue.push(InputEvent::key(GLFW_KEY_LEFT_ALT, false, 0));
  queue.feed(io());
  queue.feed(io());
  queue.feed(io());
  EXPECT_FALSE(io().MouseDown[0]);
  EXPECT_TRUE(io().KeyAlt);
  queue.feed(io());
  EXPECT_FALSE(io().KeyAlt);
}

TEST_F(InputTest, LosingTheWindowReleasesWhatWasHeld) {
  InputQueue queue;
  queue.push(InputEvent::key(GLFW_KEY_LEFT_SHIFT, true, kShift));
  queue.push(InputEvent::button(0, true));
  while (!queue.empty()) queue.feed(io());
  queue.release_all();
  while (!queue.empty()) queue.feed(io());
  EXPECT_FALSE(io().MouseDown[0]);
  EXPECT_FALSE(io().KeysDown[GLFW_KEY_LEFT_SHIFT]);
  EXPECT_FALSE(io().KeyShift);
}

TEST_F(InputTest, KeysAndButtonsOutOfRangeAreIgnored) {
  InputQueue queue;
  queue.push(InputEvent::key(-1, true));
  queue.push(InputEvent::key(100000, true));
  queue.push(InputEvent::button(-3, true));
  queue.push(InputEvent::button(99, true));
  while (!queue.empty()) queue.feed(io());
  for (const bool down : io().MouseDown) EXPECT_FALSE(down);
}

}  // namespace
}  // namespace mien::editor
