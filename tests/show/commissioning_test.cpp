#include "show/commissioning.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "show/validate.hpp"

namespace mien::show {
namespace {

Rig head(bool reversed = false) {
  Rig rig;
  rig.name = "Pip";
  rig.groups = {{"eyes"}};
  rig.boards = {{"face", 0, 16, {{"servos", 5}}}};
  rig.actuators = {{"lids", "eyes", "face", "servos", 0}, {"gaze", "eyes", "face", "servos", 1}};
  rig.actuators[0].reversed = reversed;
  rig.actuators[0].commissioned = true;
  rig.controls = {{"blink", "eyes", "1", 0, 1, 0}};
  rig.mappings = {{{{"lid_upper", 0, {{"blink", -40}}}}, Straight{}, {"lids"}}, {{{"eye_yaw_left", 0, {{"blink", 3}}}}, Straight{}, {"gaze"}}};
  return rig;
}

TEST(Commissioning, MovesAnEndAndLeavesEveryAngleItsPulse) {
  for (const bool reversed : {false, true})
    for (const Mark mark : {Mark::minimum, Mark::maximum}) {
      const Rig before = head(reversed);
      const auto after = marked(before, 0, mark, mark == Mark::minimum ? -21.5 : 30.25);
      ASSERT_TRUE(after) << to_text(after.problem());
      const Actuator& a = after->actuators[0];
      EXPECT_EQ(a.min_deg, mark == Mark::minimum ? -21.5 : -45);
      EXPECT_EQ(a.max_deg, mark == Mark::minimum ? 45 : 30.25);
      for (const double angle : {-45.0, -10.0, 0.0, 33.0}) EXPECT_NEAR(pulse_us(a, angle), pulse_us(before.actuators[0], angle), 0.01);
      EXPECT_LT(a.pulse_min_us, a.pulse_max_us);
      EXPECT_FALSE(a.commissioned);
      EXPECT_EQ(after->actuators[1], before.actuators[1]);
    }
}

TEST(Commissioning, TakesRestAlongWithAnEndAndRefusesWhatCannotBe) {
  auto after = marked(head(), 0, Mark::minimum, 10);
  ASSERT_TRUE(after);
  EXPECT_EQ(after->actuators[0].rest_deg, 10);
  EXPECT_FALSE(marked(head(), 0, Mark::minimum, 45));
  EXPECT_FALSE(marked(head(), 0, Mark::maximum, -45));
  EXPECT_FALSE(marked(head(), 0, Mark::rest, 46));
  EXPECT_FALSE(marked(head(), 0, Mark::rest, std::nan("")));
  ASSERT_TRUE(after = marked(head(), 0, Mark::rest, -7.123));
  EXPECT_EQ(after->actuators[0].rest_deg, -7.12);
}

TEST(Commissioning, TurningRoundKeepsPlacesAndTwiceIsNothing) {
  Rig before = head();
  before.actuators[0].min_deg = -4, before.actuators[0].max_deg = 36, before.actuators[0].rest_deg = 6;
  const auto once = turned_round(before, 0);
  ASSERT_TRUE(once);
  const Actuator &a = before.actuators[0], &b = once->actuators[0];
  EXPECT_EQ(b.min_deg, -36);
  EXPECT_EQ(b.max_deg, 4);
  for (const double angle : {-4.0, 6.0, 20.0, 36.0}) EXPECT_NEAR(pulse_us(b, -angle), pulse_us(a, angle), 1e-9);
  auto twice = turned_round(*once, 0);
  ASSERT_TRUE(twice);
  EXPECT_EQ(*twice, with_commissioned(before, 0, false));
}

TEST(Commissioning, PutsATableWhereAMappingDrivesTheActuatorAlone) {
  const auto with = with_table(head(), 0, {{1, -40}, {0, 0}, {0.5, -15}});
  ASSERT_TRUE(with) << to_text(with.problem());
  EXPECT_EQ(table_of(*with, 0), (std::vector<Measured::Row>{{0, 0}, {0.5, -15}, {1, -40}}));
  EXPECT_TRUE(table_of(head(), 0).empty());
  EXPECT_FALSE(with_table(head(), 0, {{1, -40}}));
  EXPECT_FALSE(with_table(head(), 0, {{1, -40}, {1, 3}}));
  Rig driven = head();
  driven.mappings[1].response = SliderCrank{};
  EXPECT_FALSE(with_table(driven, 1, {{0, 0}, {1, 3}})) << "a linkage drives it";
  driven.mappings.pop_back();
  EXPECT_FALSE(with_table(driven, 1, {{0, 0}, {1, 3}})) << "no mapping drives it";
  const auto turned = turned_round(*with, 0);
  ASSERT_TRUE(turned) << to_text(turned.problem());
  EXPECT_EQ(table_of(*turned, 0).back().angle_deg, 40);
}

}  // namespace
}  // namespace mien::show
