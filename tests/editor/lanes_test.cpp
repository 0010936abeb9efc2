// Lanes by hand: their order, keys by time, grips, and what drags land on.
#include <GLFW/glfw3.h>
#include <gtest/gtest.h>

#include <cmath>
#include <thread>

#include "editor/hands.hpp"
#include "editor/lanes.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {
using editor::kAlt;
using editor::kCtrl;
using editor::kShift;
using show::from_seconds;

// The lanes as they stand, groups left out.
std::vector<std::string> lanes(const Hands& hands) {
  std::vector<std::string> names;
  for (const auto& lane : editor::gather_lanes(hands.document().rig(), hands.show(), {}))
    if (lane.kind == editor::Lane::Kind::control) names.push_back(lane.name);
  return names;
}

using Names = std::vector<std::string>;

TEST(LaneOrder, ALaneIsDraggedToAnotherPlaceOfItsGroup) {
  Hands hands;
  ASSERT_EQ(lanes(hands), (Names{"blink", "yaw", "smile"}));
  const ImVec2 yaw = hands.middle("lane/yaw/name"), blink = hands.middle("lane/blink/name");
  hands.drag(yaw, {yaw.x, blink.y - 10});
  EXPECT_EQ(lanes(hands), (Names{"yaw", "blink", "smile"}));
  EXPECT_EQ(hands.document().undo_name(), "Move lane yaw");
  EXPECT_EQ(hands.studio->view().control, "yaw");
  EXPECT_LT(hands.middle("lane/yaw/name").y, hands.middle("lane/blink/name").y);
  hands.press(GLFW_KEY_Z, kCtrl);
  EXPECT_EQ(lanes(hands), (Names{"blink", "yaw", "smile"}));
  const ImVec2 far = hands.middle("lane/smile/name");
  hands.drag(hands.middle("lane/blink/name"), {far.x, far.y + 60});
  EXPECT_EQ(lanes(hands), (Names{"blink", "yaw", "smile"})) << "not out of its group";
  EXPECT_FALSE(hands.document().can_undo());
}

TEST(LaneOrder, MovesByCommandAndLastsInTheFile) {
  support::Folder folder;
  ASSERT_FALSE(store::save_rig(folder / "pip.rig.json", small_rig()));
  Hands hands;
  hands.click("lane/blink/name");
  EXPECT_FALSE(hands.studio->act("lane_up")) << "it is the first";
  hands.choose("Lane down");
  EXPECT_EQ(lanes(hands), (Names{"yaw", "blink", "smile"}));
  EXPECT_FALSE(hands.studio->act("lane_down"));
  ASSERT_FALSE(store::save_show(folder / "a.show.json", hands.show()));
  const auto loaded = store::load_show(folder / "a.show.json");
  ASSERT_TRUE(loaded);
  hands.studio->take_document(editor::Document(loaded->rig, loaded->show, folder / "a.show.json", false), {});
  EXPECT_EQ(lanes(hands), (Names{"yaw", "blink", "smile"}));
  hands.settle();
  hands.click("lane/blink/name");
  hands.press(GLFW_KEY_UP, kAlt | kShift);
  EXPECT_EQ(lanes(hands), (Names{"blink", "yaw", "smile"}));
}

TEST(LaneOrder, AFirstKeyLeavesEveryLaneWhereItIs) {
  show::Rig rig = small_rig();
  rig.controls.push_back({"squint", "eyes", "1", 0, 1, 0});
  Hands hands(rig, small_show());
  hands.click("lane/squint/name");
  hands.choose("Lane up");
  ASSERT_EQ(lanes(hands), (Names{"blink", "squint", "yaw", "smile"}));
  EXPECT_TRUE(hands.keys("squint").empty());
  hands.studio->apply(editor::Change{editor::SetKey{"squint", {from_seconds(1), 1}}});
  hands.studio->apply(editor::Change{editor::SetKey{"smile", {from_seconds(1), 1}}});
  EXPECT_EQ(lanes(hands), (Names{"blink", "squint", "yaw", "smile"}));
}

TEST(LaneOrder, InAClipOnlyLanesWithKeysChangePlaces) {
  Hands hands;
  hands.studio->apply(editor::Change{editor::Composition{editor::MakeClip{{{"blink", from_seconds(0.5)}, {"blink", from_seconds(1)}}, "wink"}}});
  hands.studio->apply(editor::OpenKeys{{editor::KeysOf::Kind::clip, "wink"}});
  hands.settle();
  const ImVec2 yaw = hands.middle("lane/yaw/name"), blink = hands.middle("lane/blink/name");
  hands.drag(yaw, {yaw.x, blink.y - 10});
  ASSERT_EQ(hands.show().channels.size(), 1u) << "an empty channel in a clip would hold its control at rest";
}

TEST(Keys, OfAStretchAreChosenByAShiftDragInTheRuler) {
  Hands hands;
  const float y = hands.middle("timeline/ruler").y;
  const auto drag = [&](double from, double to, int mods) {
    for (int i = 0; i < 30; ++i) hands.frame();
    hands.push(editor::InputEvent::key(GLFW_KEY_LEFT_SHIFT, true, kShift));
    hands.move({hands.at("blink", from).x, y});
    hands.push(editor::InputEvent::button(0, true));
    hands.settle();
    if (mods) hands.push(editor::InputEvent::key(GLFW_KEY_LEFT_ALT, true, mods | kShift));
    hands.move({hands.at("blink", to).x, y});
    hands.settle();
    hands.push(editor::InputEvent::button(0, false));
    hands.settle();
    if (mods) hands.push(editor::InputEvent::key(GLFW_KEY_LEFT_ALT, false, kShift));
    hands.push(editor::InputEvent::key(GLFW_KEY_LEFT_SHIFT, false, 0));
    hands.settle();
  };
  drag(0.8, 2.2, 0);
  EXPECT_EQ(hands.document().selection(), editor::Selection::from({{"blink", from_seconds(1)}, {"blink", from_seconds(1.5)}, {"yaw", from_seconds(2)}}));
  EXPECT_EQ(hands.stage.now.time, show::Time{0}) << "the playhead stays";
  hands.click("lane/yaw/name");
  drag(0.8, 2.2, kAlt);
  EXPECT_EQ(hands.document().selection(), editor::Selection::from({{"yaw", from_seconds(2)}})) << "of the curve's channel alone";
}

TEST(Keys, OfTheLoopAndOfAChannelAreChosenByName) {
  Hands hands;
  EXPECT_FALSE(hands.studio->act("select_loop"));
  hands.studio->apply(editor::Change{editor::SetLoop{show::Range{from_seconds(1), from_seconds(2)}}});
  hands.choose("Choose the keys of the loop");
  EXPECT_EQ(hands.document().selection().size(), 3u) << "both ends count";
  hands.click("lane/blink/name");
  hands.choose("Choose the keys of the channel");
  EXPECT_EQ(hands.document().selection().size(), 3u);
  EXPECT_EQ(hands.document().selection().times.begin()->first, "blink");
}

TEST(Keys, AreScaledInTimeByTheGripsOfTheirBox) {
  Hands hands;
  hands.choose("Choose the keys of the channel");
  ASSERT_TRUE(hands.sees("timeline/scale_begin"));
  const ImVec2 begin = hands.middle("timeline/scale_begin");
  hands.drag(begin, {begin.x + hands.at("blink", 1).x - hands.at("blink", 0.5).x, begin.y});
  EXPECT_NEAR(show::to_seconds(hands.keys("blink")[0].time), 1, 0.02);
  EXPECT_NEAR(show::to_seconds(hands.keys("blink")[1].time), 1.25, 0.02);
  EXPECT_EQ(hands.keys("blink")[2].time, from_seconds(1.5));
  hands.studio->apply(editor::Select{editor::Selection::from({{"yaw", from_seconds(2)}})});
  hands.settle();
  EXPECT_FALSE(hands.sees("timeline/scale_begin")) << "one key has no ends";
}

TEST(Snapping, LandsWhereSomethingInTheSoundBegins) {
  support::Folder folder;
  // A sound of 16-bit samples at 8000 Hz with a click at 0.7 s, in a RIFF/WAVE file as its specification (IBM and Microsoft, 1991) has it.
  std::string pcm(16000, '\0');
  for (int i = 0; i < 40; ++i) pcm[static_cast<std::size_t>(2 * (5600 + i)) + 1] = static_cast<char>(i % 2 ? -60 : 60);
  const auto word = [](std::uint32_t v, int bytes) { std::string s; for (int i = 0; i < bytes; ++i) s.push_back(static_cast<char>(v >> (8 * i))); return s; };
  support::write(folder / "click.wav", "RIFF" + word(36 + static_cast<std::uint32_t>(pcm.size()), 4) + "WAVEfmt " + word(16, 4) + word(1, 2) + word(1, 2) + word(8000, 4) + word(16000, 4) + word(2, 2) + word(16, 2) + "data" + word(static_cast<std::uint32_t>(pcm.size()), 4) + pcm);
  show::Show show = small_show();
  show.sounds = {{"click.wav", from_seconds(2), from_seconds(0.2), 0}};  // heard at 2.5 s
  ASSERT_FALSE(store::save_rig(folder / "pip.rig.json", small_rig()));
  ASSERT_FALSE(store::save_show(folder / "a.show.json", show));
  Hands hands;
  hands.studio->open(folder / "a.show.json");
  for (int i = 0; i < 5000 && hands.studio->lively(); ++i) {
    hands.frame();
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  hands.settle();
  hands.drag(hands.at("blink", 1.5), hands.at("blink", 2.496));
  EXPECT_NEAR(show::to_seconds(hands.keys("blink").back().time), 2.5, 0.0011);
  hands.press(GLFW_KEY_Z, kCtrl);
  hands.choose("Snap to where sounds begin, or not");
  hands.drag(hands.at("blink", 1.5), hands.at("blink", 2.488));
  EXPECT_EQ(hands.keys("blink").back().time.count() % 10'000'000, 0) << "a tick again";
  EXPECT_NE(hands.keys("blink").back().time, from_seconds(2.5));
}

}  // namespace
}  // namespace mien::tests
