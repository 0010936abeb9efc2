// A gamepad's states as touches, and what it leads on a head. Numbers of axes and buttons are those of GLFW's documentation ("Gamepad input"), as live/gamepad.hpp names them.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>

#include "live/gamepad.hpp"
#include "live/hands.hpp"

namespace mien::live {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

std::vector<Touch> heard(Inlet& inlet) {
  std::vector<Touch> touches;
  inlet.drain([&](const Touch& t) { touches.push_back(t); });
  return touches;
}
Touch axis(int number, float value, std::int64_t at_ns = 5) { return {.at_ns = at_ns, .device = 3, .kind = Touch::Kind::axis, .number = static_cast<std::uint8_t>(number), .value = value}; }
Touch button(int number, float value) { return {.at_ns = 5, .device = 3, .kind = Touch::Kind::button, .number = static_cast<std::uint8_t>(number), .value = value}; }

TEST(Gamepad, SaysWhatChanged_AndNothingElse) {
  Inlet inlet;
  Gamepad pad(inlet, 3);
  PadState state;
  pad.see(state, 5);
  EXPECT_THAT(heard(inlet), IsEmpty()) << "let go of, as one is that is plugged in";
  state.axis[0] = 0.5f, state.axis[4] = 1, state.button[14] = true;
  pad.see(state, 5);
  EXPECT_THAT(heard(inlet), ElementsAre(axis(0, 0.5f), axis(4, 1), button(14, 1)));
  pad.see(state, 5);
  EXPECT_THAT(heard(inlet), IsEmpty());
  state.button[14] = false;
  pad.see(state, 5);
  EXPECT_THAT(heard(inlet), ElementsAre(button(14, 0)));
}

TEST(Gamepad, TremblesInSilence_ButComesBackToItsMiddle) {
  Inlet inlet;
  Gamepad pad(inlet, 3);
  PadState state;
  state.axis[1] = 0.005f;
  pad.see(state, 5);
  EXPECT_THAT(heard(inlet), IsEmpty());
  state.axis[1] = 0.02f;
  pad.see(state, 5);
  state.axis[1] = 0.015f;
  pad.see(state, 5);
  state.axis[1] = 0;
  pad.see(state, 5);
  EXPECT_THAT(heard(inlet), ElementsAre(axis(1, 0.02f), axis(1, 0)));
  state.axis[1] = std::numeric_limits<float>::quiet_NaN(), state.axis[2] = 7;
  pad.see(state, 5);
  EXPECT_THAT(heard(inlet), ElementsAre(axis(2, 1)));
}

TEST(Gamepad, LetsGoWhereItIsUnplugged_AndBeginsAnewAfterwards) {
  Inlet inlet;
  Gamepad pad(inlet, 3);
  PadState state;
  state.axis[0] = 1;
  pad.see(state, 5);
  heard(inlet);
  pad.gone(9);
  const auto touches = heard(inlet);
  ASSERT_EQ(touches.size(), 1u);
  EXPECT_EQ(touches[0].kind, Touch::Kind::gone);
  pad.see(state, 5);
  EXPECT_THAT(heard(inlet), ElementsAre(axis(0, 1)));
}

show::Rig face() {
  show::Rig rig;
  rig.groups = {{"face"}};
  for (const char* name : {"look_yaw", "look_pitch", "turn", "nod", "shut", "open"}) rig.controls.push_back({name, "face", "1", -10, 10, 0});
  rig.controls[4] = {"shut", "face", "1", 0, 1, 0}, rig.controls[5] = {"open", "face", "1", 0, 1, 0};
  rig.gaze = show::Gaze{"look_yaw", "look_pitch", ""};
  rig.mappings = {{{{"neck_yaw", 0, {{"turn", -3}}}}, show::Straight{}, {"a"}}, {{{"neck_pitch", 0, {{"nod", 2}, {"open", 0.1}}}}, show::Straight{}, {"b"}},
                  {{{"lid_upper_left", 0, {}, show::Closing{"shut", -20}}}, show::Straight{}, {"c"}}, {{{"jaw_open", 0, {{"open", 9}}}}, show::Straight{}, {"d"}}};
  return rig;
}

TEST(GamepadMap, LeadsGazeHeadLidsAndJaw_AsFarAsTheRigHasThem) {
  const auto knobs = pad_knobs(face());
  const auto led = [&](int number) {
    for (const auto& k : knobs)
      if (k.source.number == number) return std::tuple(k.control, k.low, k.high);
    return std::tuple(std::string(), 0.0, 0.0);
  };
  ASSERT_EQ(knobs.size(), 6u);
  EXPECT_EQ(led(0), std::tuple("look_yaw", -10, 10)) << "yaw is to the head's left, which is right for whoever faces it";
  EXPECT_EQ(led(1), std::tuple("look_pitch", 10, -10)) << "a stick's up is negative";
  EXPECT_EQ(led(2), std::tuple("turn", 10, -10)) << "its weight is negative";
  EXPECT_EQ(led(3), std::tuple("nod", 10, -10));
  EXPECT_EQ(led(4), std::tuple("shut", 0, 1));
  EXPECT_EQ(led(5), std::tuple("open", 0, 1));
  for (const auto& k : knobs) EXPECT_GT(k.spring_back_s, 0) << "one that lies about does nothing";
  HandMap map;
  map = with_pad(map, face());
  EXPECT_TRUE(validate(map, face(), "m").empty());
  EXPECT_EQ(with_pad(map, face()), map) << "once is enough";
  EXPECT_THAT(pad_knobs(show::Rig{}), IsEmpty());
}

// From a state of the pad to the control, by way of the inlet.
TEST(GamepadMap, MovesTheHead) {
  const auto rig = std::make_shared<const show::Rig>(face());
  const auto program = compile(with_pad({}, *rig), rig, std::make_shared<const show::Show>(), {});
  HandState hands;
  load(hands, program.get());
  Inlet inlet;
  Gamepad pad(inlet, 0);
  PadState state;
  state.axis[0] = 1, state.axis[5] = 0;
  pad.see(state, 0);
  inlet.drain([&](const Touch& t) { hear(*program, hands, t); });
  std::vector<double> control(6, 0);
  play(*program, hands, 0.01, control);
  EXPECT_DOUBLE_EQ(control[0], 10);
  EXPECT_DOUBLE_EQ(control[5], 0.5) << "the trigger is half in";
  pad.see({}, 1);
  inlet.drain([&](const Touch& t) { hear(*program, hands, t); });
  for (int n = 0; n < 40; ++n) control.assign(6, 0), play(*program, hands, 0.01, control);
  EXPECT_EQ(control, std::vector<double>(6, 0)) << "all is the show's again";
}

}  // namespace
}  // namespace mien::live
