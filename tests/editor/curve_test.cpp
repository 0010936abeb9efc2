// The curve view by hand: several channels, handles, speeds, scaling.
#include <GLFW/glfw3.h>
#include <gtest/gtest.h>

#include <thread>

#include "editor/curve_parts.hpp"
#include "editor/hands.hpp"
#include "motion/limiter.hpp"

namespace mien::tests {
namespace {
using editor::kAlt;
using editor::kCtrl;
using editor::kShift;
using editor::Lie;
using show::from_seconds;

void choose_keys(Hands& hands, std::vector<show::KeyRef> refs) {
  hands.studio->apply(editor::Select{editor::Selection::from(std::move(refs))});
  hands.settle();
}

void await_setpoints(Hands& hands) {
  for (int i = 0; i < 5000 && !(hands.studio->feasibility() && hands.studio->feasibility()->show == hands.document().shared_show()); ++i) {
    hands.frame();
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  hands.settle();
}

TEST(Curves, ChannelsThatAreKeptStandBehindTheChosenOne) {
  Hands hands;
  hands.click("lane/yaw/name");
  EXPECT_FALSE(hands.sees("curve/behind/blink"));
  hands.click(hands.middle("lane/blink/name"), kShift);
  EXPECT_EQ(hands.studio->view().kept, std::vector<std::string>{"blink"});
  EXPECT_EQ(hands.studio->view().control, "yaw") << "keeping one doesn't choose it";
  ASSERT_TRUE(hands.sees("curve/blink/key/1"));
  hands.click("curve/behind/blink");
  EXPECT_EQ(hands.studio->view().control, "blink");
  EXPECT_FALSE(hands.sees("curve/behind/blink")) << "it is in front now";
  hands.choose("Keep the channel in the curve, or not");
  EXPECT_TRUE(hands.studio->view().kept.empty());
  hands.press(GLFW_KEY_C, kAlt);
  EXPECT_EQ(hands.studio->view().kept.size(), 1u);
  hands.choose("The chosen channel alone in the curve");
  EXPECT_TRUE(hands.studio->view().kept.empty());
}

TEST(Curves, ThoseWithChosenKeysShowToo) {
  Hands hands;
  hands.click("lane/blink/name");
  choose_keys(hands, {{"yaw", from_seconds(2)}});
  EXPECT_TRUE(hands.sees("curve/yaw/key/0"));
  choose_keys(hands, {});
  EXPECT_FALSE(hands.sees("curve/yaw/key/0"));
}

TEST(Curves, AClickOnALineBehindBringsItToTheFront) {
  Hands hands;
  hands.studio->apply(editor::KeepInCurve{"yaw"});
  hands.click("lane/blink/name");
  const ImVec2 key = hands.middle("curve/yaw/key/0");
  hands.click(ImVec2{key.x + 60, key.y});  // the only key: the line is level
  EXPECT_EQ(hands.studio->view().control, "yaw");
  EXPECT_TRUE(hands.document().selection().empty());
}

TEST(Curves, AKeyBehindIsTakenAndMovedWithThoseOfOtherUnitsAlike) {
  Hands hands;
  hands.studio->apply(editor::KeepInCurve{"yaw"});
  hands.click("lane/blink/name");
  choose_keys(hands, {{"blink", from_seconds(0.5)}, {"yaw", from_seconds(2)}});
  const ImVec2 key = hands.middle("curve/yaw/key/0");
  hands.drag(key, {key.x, key.y - 20});
  EXPECT_EQ(hands.studio->view().control, "yaw");
  const double yaw = hands.keys("yaw")[0].value - 10, blink = hands.keys("blink")[0].value;
  EXPECT_GT(yaw, 1);
  EXPECT_NEAR(blink, yaw / 60, 1e-9) << "the same share of its range";
  EXPECT_EQ(hands.document().undo_name(), "Move 2 keys");
}

TEST(Curves, ABoxChoosesKeysOfAllThatIsShown) {
  Hands hands;
  hands.studio->apply(editor::KeepInCurve{"yaw"});
  hands.click("lane/blink/name");
  const auto plot = hands.probe.boxes.at("curve/plot");
  hands.drag({plot.min.x + 2, plot.min.y + 2}, {plot.max.x - 2, plot.max.y - 2});
  EXPECT_EQ(hands.document().selection().size(), 4u);
}

TEST(Curves, HandlesAreLaidByTheirNames) {
  Hands hands;
  hands.click("lane/blink/name");
  choose_keys(hands, {{"blink", from_seconds(1)}});
  const auto lie = [&] { return editor::sides_of(show::Channel{"blink", hands.keys("blink")}, 1); };
  hands.choose("Handles: free, a corner");
  EXPECT_EQ(lie().in.lie, Lie::free);
  EXPECT_NEAR(lie().in.dv / show::to_seconds(lie().in.dt), 2, 1e-4);
  hands.choose("Handles: flat");
  EXPECT_EQ(lie().out.lie, Lie::flat);
  hands.press(GLFW_KEY_3, kAlt);
  hands.press(GLFW_KEY_2, kAlt);
  EXPECT_EQ(lie().out.lie, Lie::flat) << "the mean of 2 and -2 a second";
  hands.choose("Handles: aligned");
  EXPECT_EQ(hands.document().undo_name(), "Align the handles of key");
}

TEST(Curves, AnAlignedHandleTurnsTheOtherAndAltFreesIt) {
  show::Show show = small_show();
  show.channels = {std::make_shared<const show::Channel>(show::Channel{"blink", {{from_seconds(0.5), 0, show::kLinear}, {from_seconds(1.5), 0.5, show::kLinear}, {from_seconds(2.5), 1}}})};
  Hands hands(small_rig(), show);
  hands.click("lane/blink/name");
  choose_keys(hands, {{"blink", from_seconds(1.5)}});
  hands.press(GLFW_KEY_2, kAlt);
  const auto sides = [&] { return editor::sides_of(show::Channel{"blink", hands.keys("blink")}, 1); };
  ASSERT_EQ(sides().out.lie, Lie::aligned);
  ImVec2 handle = hands.middle("curve/handle_out/1");
  hands.drag(handle, {handle.x, handle.y - 15});
  EXPECT_GT(sides().out.dv, 0.2);
  EXPECT_EQ(sides().in.lie, Lie::aligned);
  EXPECT_LT(sides().in.dv, -0.2);
  const double kept = sides().in.dv;
  handle = hands.middle("curve/handle_out/1");
  hands.drag(handle, {handle.x, handle.y + 25}, kAlt);
  EXPECT_EQ(sides().out.lie, Lie::free);
  EXPECT_NEAR(sides().in.dv, kept, 1e-6);
  handle = hands.middle("curve/handle_in/1");
  hands.drag(handle, {handle.x - 5, handle.y + 10}, kShift);
  EXPECT_EQ(sides().in.lie, Lie::flat) << "Shift keeps it level";
  EXPECT_EQ(hands.document().undo_name(), "Turn a handle of key");
}

TEST(Curves, HandlesAndTimesOfSeveralKeysAreTyped) {
  Hands hands;
  hands.click("lane/blink/name");
  choose_keys(hands, {{"blink", from_seconds(0.5)}, {"blink", from_seconds(1)}});
  hands.press(GLFW_KEY_2, 0);
  hands.choose("Numbers of handles, or not");
  ASSERT_TRUE(hands.sees("field/out_time"));
  hands.click("field/out_time");
  hands.type("0.2");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_NEAR(hands.keys("blink")[0].easing.x1, 0.4, 1e-6);
  EXPECT_NEAR(hands.keys("blink")[1].easing.x1, 0.4, 1e-6);
  hands.click("field/in_value");
  hands.type("-0.5");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_NEAR(hands.keys("blink")[0].easing.y2, 0.5, 1e-6);
  hands.click("button/Flat##out");
  EXPECT_EQ(hands.keys("blink")[1].easing.y1, 0);
  hands.click("field/time");
  hands.type("0.7");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.keys("blink")[0].time, from_seconds(0.7)) << "the first goes there";
  EXPECT_EQ(hands.keys("blink")[1].time, from_seconds(1.2)) << "the others keep their distance";
  hands.click("field/value");
  hands.type("0.25");
  hands.press(GLFW_KEY_ENTER);
  EXPECT_EQ(hands.keys("blink")[0].value, 0.25);
  EXPECT_EQ(hands.keys("blink")[1].value, 0.25);
}

TEST(Curves, ValuesAreNudgedByHundredthsOfTheRange) {
  Hands hands;
  choose_keys(hands, {{"yaw", from_seconds(2)}});
  hands.press(GLFW_KEY_EQUAL, kAlt);
  EXPECT_NEAR(hands.keys("yaw")[0].value, 10.6, 1e-9);
  hands.choose("Value a hundredth down");
  EXPECT_NEAR(hands.keys("yaw")[0].value, 10, 1e-9);
}

TEST(Curves, GripsScaleTimesAndValuesAboutTheOtherEnd) {
  Hands hands;
  hands.click("lane/blink/name");
  choose_keys(hands, {{"blink", from_seconds(0.5)}, {"blink", from_seconds(1)}, {"blink", from_seconds(1.5)}});
  const ImVec2 end = hands.middle("curve/scale_end");
  const float half_s = hands.middle("curve/key/1").x - hands.middle("curve/key/0").x;
  hands.drag(end, {end.x + 2 * half_s, end.y});
  EXPECT_EQ(hands.keys("blink")[0].time, from_seconds(0.5));
  EXPECT_NEAR(show::to_seconds(hands.keys("blink")[2].time), 2.5, 0.02);
  EXPECT_NEAR(show::to_seconds(hands.keys("blink")[1].time), 1.5, 0.02);
  hands.press(GLFW_KEY_Z, kCtrl);
  const ImVec2 high = hands.middle("curve/scale_high");
  const float whole = hands.middle("curve/key/0").y - hands.middle("curve/key/1").y;
  hands.drag(high, {high.x, high.y + whole * 0.5f});
  EXPECT_NEAR(hands.keys("blink")[1].value, 0.5, 0.02);
  EXPECT_EQ(hands.keys("blink")[0].value, 0);
  EXPECT_EQ(hands.document().undo_name(), "Scale 3 keys");
}

TEST(Curves, FindingsOfAllThatIsShownAreMarkedAndASecondClickMends) {
  show::Show show = small_show();
  show.channels = {
      std::make_shared<const show::Channel>(show::Channel{"smile", {{from_seconds(0.5), 0}, {from_seconds(0.96), 0}, {from_seconds(1), 1}}}),
      std::make_shared<const show::Channel>(show::Channel{"yaw", {{from_seconds(2), 0}, {from_seconds(2.96), 0}, {from_seconds(3), 25}}}),
  };
  Hands hands(small_rig(), show);
  await_setpoints(hands);
  hands.click("lane/smile/name");
  EXPECT_FALSE(hands.sees("curve/finding/1"));
  hands.click(hands.middle("lane/yaw/name"), kShift);
  ASSERT_TRUE(hands.sees("curve/finding/1"));
  const std::size_t before = hands.studio->feasibility()->study.shortfalls.size();
  hands.double_click(hands.middle("curve/finding/1"));
  for (int i = 0; i < 5000 && (hands.studio->arriving().running || !hands.document().can_undo()); ++i) {
    hands.frame();
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  EXPECT_EQ(hands.document().undo_name(), "Make it arrive");
  await_setpoints(hands);
  EXPECT_LT(hands.studio->feasibility()->study.shortfalls.size(), before);
}

TEST(Speeds, StandBelowTheCurveWhereThereIsRoom) {
  Hands hands(small_rig(), small_show(), {1366, 900});
  EXPECT_FALSE(hands.sees("curve/velocity"));
  hands.press(GLFW_KEY_V, kAlt);
  await_setpoints(hands);
  ASSERT_TRUE(hands.sees("curve/velocity"));
  ASSERT_TRUE(hands.sees("curve/acceleration"));
  EXPECT_GT(hands.probe.boxes["curve/velocity"].min.y, hands.probe.boxes["curve/plot"].max.y);
  hands.click("curve/speeds");
  EXPECT_FALSE(hands.sees("curve/velocity"));
}

TEST(Speeds, BandsAreWhatTheTightestActuatorCanDo) {
  show::Rig rig = small_rig();
  rig.actuators[0].velocity_deg_s = 400, rig.actuators[0].acceleration_deg_s2 = 8000;  // 40 deg for the whole of blink
  auto limit = editor::limit_of(perform::map_of(rig), rig, 0);
  EXPECT_EQ(limit.velocity.actuator, 0);
  EXPECT_NEAR(limit.velocity.most, 10, 1e-9);
  EXPECT_NEAR(limit.acceleration.most, 200, 1e-9);
  EXPECT_FALSE(limit.velocity.about);
  // A second servo that blink moves by twice as much allows half as much.
  rig.mappings[1].axes[0].terms.push_back({"blink", 80});
  rig.actuators[1].velocity_deg_s = 400, rig.actuators[1].acceleration_deg_s2 = 8000, rig.actuators[1].min_deg = -90, rig.actuators[1].max_deg = 90;
  limit = editor::limit_of(perform::map_of(rig), rig, 0);
  EXPECT_EQ(limit.velocity.actuator, 1);
  EXPECT_NEAR(limit.velocity.most, 5, 1e-9);
  // One with a closing is worth what it is between open and shut only on the whole.
  rig.mappings[0].axes[0].closing = show::Closing{"smile", -80};
  limit = editor::limit_of(perform::map_of(rig), rig, 2);
  EXPECT_EQ(limit.velocity.actuator, 0);
  EXPECT_TRUE(limit.velocity.about);
  rig.mappings.clear();
  EXPECT_EQ(editor::limit_of(perform::map_of(rig), rig, 0).velocity.actuator, -1);
}

// A ramp of v units a second asks for v on every tick; a parabola of acceleration a asks for a (finite differences of a quadratic are exact).
TEST(Speeds, AreThoseOfTheCurveOnItsTicks) {
  const show::Control control{"yaw", "eyes", "deg", -1000, 1000, 0};
  const show::Time tick = from_seconds(0.01);
  const show::Channel ramp{"yaw", {{from_seconds(0), 0, show::kLinear}, {from_seconds(2), 100, show::kLinear}}};
  EXPECT_NEAR(editor::speed_at(ramp, control, from_seconds(1), tick).per_s, 50, 1e-9);
  EXPECT_NEAR(editor::speed_at(ramp, control, from_seconds(1), tick).per_s2, 0, 1e-6);
  // x = 25 t^2 over 2 s as a Bezier: inner points (1/3, 0) and (2/3, 1/3).
  const show::Channel parabola{"yaw", {{from_seconds(0), 0, {show::Easing::Kind::bezier, 1.0f / 3, 0, 2.0f / 3, 1.0f / 3}}, {from_seconds(2), 100}}};
  EXPECT_NEAR(editor::speed_at(parabola, control, from_seconds(1), tick).per_s2, 50, 0.05);
  EXPECT_EQ(editor::speed_at({}, control, from_seconds(1), tick).per_s, 0);
}

}  // namespace
}  // namespace mien::tests
