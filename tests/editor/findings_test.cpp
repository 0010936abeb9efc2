// Where the head can't follow, in the window: marks, list, and the command that mends.
#include <GLFW/glfw3.h>
#include <gtest/gtest.h>

#include <thread>

#include "editor/finding_marks.hpp"
#include "editor/hands.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {
using editor::kCtrl;
using editor::kShift;
using show::from_seconds;

// 30 degrees of the corners' servo at 1 s in 40 ms, and a yaw that jumps by 50 degrees at 3 s: neither can be met.
show::Show hurried_show() {
  show::Show show = small_show();
  show.channels = {
      std::make_shared<const show::Channel>(show::Channel{"smile", {{from_seconds(0.5), 0}, {from_seconds(0.96), 0}, {from_seconds(1), 1}}}),
      std::make_shared<const show::Channel>(show::Channel{"yaw", {{from_seconds(2), -25, show::kHold}, {from_seconds(3), 25}}}),
  };
  return show;
}

// Frames until the background has caught up; the limit only ends a broken run.
template <class Done>
bool frames_until(Hands& hands, Done done) {
  for (int i = 0; i < 5000; ++i) {
    if (done()) return true;
    hands.frame();
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  return false;
}

bool studied(Hands& hands) {
  return frames_until(hands, [&] {
    const auto f = hands.studio->feasibility();
    return f && f->show == hands.document().shared_show() && !hands.studio->arriving().running;
  });
}

std::size_t count(Hands& hands) {
  EXPECT_TRUE(studied(hands));
  hands.settle();
  return hands.studio->feasibility()->study.shortfalls.size();
}

TEST(Findings, OfAShowThatIsInTimeAreNone) {
  Hands hands;
  EXPECT_EQ(count(hands), 0u);
  EXPECT_FALSE(hands.studio->act("arrive_all"));
  EXPECT_FALSE(hands.sees("finding/blink/0"));
}

TEST(Findings, GoToTheClipboardAsTextOneALine) {
  Hands hands(small_rig(), hurried_show());
  const std::size_t findings = count(hands);
  ASSERT_GT(findings, 1u);
  hands.press(GLFW_KEY_I);
  hands.click("button/Copy as text");
  const std::string text = ImGui::GetClipboardText();
  EXPECT_EQ(static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n')), findings);
  const auto& f = *hands.studio->feasibility();
  for (const auto& s : f.study.shortfalls) EXPECT_NE(text.find(show::to_text(perform::finding_of(*f.plan, s))), std::string::npos) << text;
}

TEST(Findings, FollowEveryEdit) {
  Hands hands;
  ASSERT_EQ(count(hands), 0u);
  hands.studio->apply(editor::Change{editor::SetKey{"smile", {from_seconds(1), 0}}});
  hands.studio->apply(editor::Change{editor::SetKey{"smile", {from_seconds(1.03), 1}}});
  EXPECT_GT(count(hands), 0u);
  hands.press(GLFW_KEY_Z, kCtrl);
  EXPECT_EQ(count(hands), 0u);
}

TEST(Findings, AMarkOnALaneExplainsItselfAndAClickGoesThere) {
  Hands hands(small_rig(), hurried_show());
  ASSERT_EQ(count(hands), 2u);
  ASSERT_TRUE(hands.sees("finding/smile/0"));
  const int calm = hands.vertices;
  hands.move(hands.middle("finding/yaw/0"));
  hands.settle();
  EXPECT_GT(hands.vertices, calm + 200) << "no words appeared beside the pointer";
  hands.click("finding/yaw/0");
  EXPECT_EQ(hands.studio->view().control, "yaw");
  EXPECT_EQ(hands.stage.now.time, from_seconds(3));
  EXPECT_TRUE(hands.document().selection().contains("yaw", from_seconds(3)));
  EXPECT_FALSE(hands.document().can_undo());
}

TEST(Findings, TheCurveViewMarksThemAndShadesTheStretch) {
  Hands hands(small_rig(), hurried_show());
  ASSERT_EQ(count(hands), 2u);
  hands.click("lane/smile/name");
  ASSERT_TRUE(hands.sees("curve/finding/0"));
  hands.click("curve/finding/0");
  EXPECT_EQ(hands.stage.now.time, from_seconds(1));
  const editor::TimeAxis axis{{from_seconds(0), from_seconds(4)}, 0, 4000};
  const int smile = 2;
  const auto stretches = editor::finding_stretches(*hands.studio->feasibility(), std::span(&smile, 1), axis);
  ASSERT_EQ(stretches.size(), 1u);
  EXPECT_NEAR(stretches[0].x, 960, 40);
  EXPECT_GT(stretches[0].y, 1000);
}

TEST(Findings, NearOnesShareAMarkWithTheirCount) {
  show::Show show = hurried_show();
  show.channels.push_back(std::make_shared<const show::Channel>(
      show::Channel{"blink", {{from_seconds(1), 0}, {from_seconds(1.02), 1}, {from_seconds(1.5), 1}, {from_seconds(1.52), 0}}}));
  Hands hands(small_rig(), show);
  ASSERT_GT(count(hands), 3u);
  const int blink = 0;
  const editor::TimeAxis near{{from_seconds(0), from_seconds(4)}, 0, 4000}, far{{from_seconds(0), from_seconds(400)}, 0, 400};
  EXPECT_EQ(editor::gather_findings(*hands.studio->feasibility(), std::span(&blink, 1), near, 12).marks.size(), 2u);
  const auto merged = editor::gather_findings(*hands.studio->feasibility(), std::span(&blink, 1), far, 12);
  ASSERT_EQ(merged.marks.size(), 1u);
  EXPECT_EQ(merged.marks[0].count, hands.studio->feasibility()->study.of(blink).size());
  EXPECT_EQ(merged.marks[0].time, from_seconds(1.02));
}

TEST(Findings, AFoldedGroupShowsThoseOfItsChannels) {
  Hands hands(small_rig(), hurried_show());
  ASSERT_EQ(count(hands), 2u);
  hands.click("group/eyes/name");
  EXPECT_TRUE(hands.sees("finding/eyes/0"));
  hands.click("finding/eyes/0");
  EXPECT_EQ(hands.studio->view().control, "yaw");
  EXPECT_TRUE(hands.sees("lane/yaw"));
}

TEST(Findings, KeysGoFromOneToTheNextAndBack) {
  Hands hands(small_rig(), hurried_show());
  ASSERT_EQ(count(hands), 2u);
  hands.press(GLFW_KEY_N);
  EXPECT_EQ(hands.stage.now.time, from_seconds(1));
  hands.press(GLFW_KEY_N);
  EXPECT_EQ(hands.stage.now.time, from_seconds(3));
  hands.press(GLFW_KEY_N);
  EXPECT_EQ(hands.stage.now.time, from_seconds(3));
  hands.press(GLFW_KEY_N, kShift);
  EXPECT_EQ(hands.stage.now.time, from_seconds(1));
}

TEST(FindingList, OpensFromTheCountAndARowGoesThere) {
  Hands hands(small_rig(), hurried_show());
  ASSERT_EQ(count(hands), 2u);
  EXPECT_FALSE(hands.sees("row/0"));
  hands.click("button/findings");
  ASSERT_TRUE(hands.sees("row/1"));
  const auto box = hands.probe.boxes["row/1"];
  hands.click(ImVec2{box.min.x + 40, box.min.y + 20});
  EXPECT_EQ(hands.stage.now.time, from_seconds(3));
  EXPECT_EQ(hands.studio->view().control, "yaw");
}

TEST(FindingList, MakesOneArriveInOneStep) {
  Hands hands(small_rig(), hurried_show());
  ASSERT_EQ(count(hands), 2u);
  hands.press(GLFW_KEY_I);
  hands.click("row/0/arrive");
  ASSERT_TRUE(frames_until(hands, [&] { return hands.document().can_undo(); }));
  EXPECT_EQ(hands.document().undo_name(), "Make it arrive");
  EXPECT_EQ(hands.document().steps(), 2u);
  EXPECT_EQ(count(hands), 1u);
  hands.press(GLFW_KEY_Z, kCtrl);
  EXPECT_EQ(count(hands), 2u);
}

TEST(FindingList, MakesAllArriveInOneStepAndUndoBringsThemBack) {
  Hands hands(small_rig(), hurried_show());
  ASSERT_EQ(count(hands), 2u);
  const show::ShowPtr before = hands.document().shared_show();
  hands.press(GLFW_KEY_I);
  hands.click("button/Make all arrive");
  ASSERT_TRUE(frames_until(hands, [&] { return hands.document().can_undo(); }));
  EXPECT_EQ(hands.document().undo_name(), "Make all arrive");
  EXPECT_EQ(count(hands), 0u);
  EXPECT_FALSE(hands.studio->arriving().word.empty());
  EXPECT_FALSE(hands.studio->act("arrive_all"));
  hands.press(GLFW_KEY_Z, kCtrl);
  EXPECT_EQ(hands.document().shared_show(), before);
  EXPECT_EQ(count(hands), 2u);
  EXPECT_TRUE(hands.studio->arriving().word.empty());
}

TEST(FindingList, TheKeyMendsTheFindingAtThePlayhead) {
  Hands hands(small_rig(), hurried_show());
  ASSERT_EQ(count(hands), 2u);
  EXPECT_FALSE(hands.studio->act("arrive"));
  hands.press(GLFW_KEY_N);
  hands.press(GLFW_KEY_A);
  ASSERT_TRUE(frames_until(hands, [&] { return hands.document().can_undo(); }));
  EXPECT_EQ(count(hands), 1u);
}

// What an edit in the meantime makes stands; what was being made of the show before it is dropped.
TEST(FindingList, AnEditWhileItWorksGoesFirst) {
  Hands hands(small_rig(), hurried_show());
  ASSERT_EQ(count(hands), 2u);
  hands.studio->act("arrive_all");
  hands.studio->apply(editor::Change{editor::SetKey{"blink", {from_seconds(0.2), 0.5}}});
  ASSERT_TRUE(studied(hands));
  EXPECT_EQ(hands.document().undo_name(), "Set key");
  EXPECT_EQ(hands.document().steps(), 2u);
  EXPECT_EQ(count(hands), 2u);
}

TEST(FindingList, CancelChangesNothing) {
  Hands hands(small_rig(), hurried_show());
  ASSERT_EQ(count(hands), 2u);
  hands.studio->act("arrive_all");
  hands.studio->apply(editor::StopArriving{});
  ASSERT_TRUE(studied(hands));
  // It may have been done before it was told; then undo is one step away.
  EXPECT_EQ(hands.document().can_undo(), hands.studio->arriving().word.find("Cancelled") == std::string::npos);
}

// A closure seen too late by the servo's own response can't be mended by keys, and the row says so instead of offering it.
TEST(FindingList, WhatKeysCantMendSaysWhy) {
  show::Rig rig = small_rig();
  rig.actuators[1].servo_response_ms = 300;  // the others stand at once, so lids are seen 150 ms early
  show::Show show = small_show();
  Hands hands(rig, show);
  EXPECT_TRUE(studied(hands));
  hands.press(GLFW_KEY_I);
  const auto f = hands.studio->feasibility();
  ASSERT_EQ(f->study.shortfalls.size(), 1u);
  ASSERT_EQ(f->study.shortfalls[0].cause, perform::Cause::out_of_sync);
  ASSERT_TRUE(hands.sees("row/0"));
  EXPECT_FALSE(hands.sees("row/0/arrive"));
}

TEST(Findings, OfAnotherRigAreNotShown) {
  Hands hands(small_rig(), hurried_show());
  ASSERT_EQ(count(hands), 2u);
  show::Rig other = small_rig();
  other.name = "Pop";
  hands.studio->take_document(editor::Document(std::make_shared<const show::Rig>(other), std::make_shared<const show::Show>(small_show()), {}, false), {});
  const auto f = hands.studio->feasibility();
  EXPECT_TRUE(!f || f->show == hands.document().shared_show());
}

}  // namespace
}  // namespace mien::tests
