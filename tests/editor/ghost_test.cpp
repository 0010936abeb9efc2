// Where simulated servos are, by what the stage reports.
#include "editor/ghost.hpp"

#include <GLFW/glfw3.h>
#include <gtest/gtest.h>

#include "editor/hands.hpp"

namespace mien::tests {
namespace {

perform::Report report(std::uint64_t tick, double setpoint_deg) {
  perform::Report r;
  r.actuators = 3;
  r.time = show::Time{10'000'000} * static_cast<std::int64_t>(tick);
  r.playing = true;
  r.lateness.ticks = tick;
  r.setpoint_deg.fill(setpoint_deg);
  return r;
}

editor::Ghost ghost() {
  editor::Ghost g;
  g.set_rig(std::make_shared<const show::Rig>(small_rig()));
  return g;
}

TEST(Ghost, StandsOnTheFirstSetpoints) {
  editor::Ghost g = ghost();
  EXPECT_TRUE(g.position_deg().empty());
  g.follow(report(100, 12));
  EXPECT_EQ(g.position_deg(), std::vector<double>(3, 12));
}

TEST(Ghost, LagsBehindAMoveAndComesNearInTheEnd) {
  editor::Ghost g = ghost();
  g.follow(report(100, 0));
  g.follow(report(102, 20));
  EXPECT_GT(g.position_deg()[0], 0);
  EXPECT_LT(g.position_deg()[0], 19);
  g.follow(report(180, 20));
  EXPECT_NEAR(g.position_deg()[0], 20, 2);
}

TEST(Ghost, TakesManyTicksAtOnceAsOneByOne) {
  editor::Ghost one = ghost(), many = ghost();
  one.follow(report(0, 0)), many.follow(report(0, 0));
  for (std::uint64_t n = 1; n <= 20; ++n) one.follow(report(n, static_cast<double>(n)));
  many.follow(report(20, 20));
  EXPECT_NEAR(one.position_deg()[0], many.position_deg()[0], 1e-9);
}

TEST(Ghost, StandsAnewWhereShowTimeJumps) {
  editor::Ghost g = ghost();
  g.follow(report(100, 0));
  perform::Report sought = report(102, 30);
  sought.time = show::from_seconds(7);
  g.follow(sought);
  EXPECT_EQ(g.position_deg()[0], 30);
  sought.lateness.ticks += 2;
  sought.time = show::from_seconds(1);
  sought.setpoint_deg.fill(-10);
  g.follow(sought);
  EXPECT_EQ(g.position_deg()[0], -10);
}

TEST(Ghost, StandsAnewAfterALongWhile) {
  editor::Ghost g = ghost();
  g.follow(report(0, 0));
  g.follow(report(1000, 30));
  EXPECT_EQ(g.position_deg()[0], 30);
}

TEST(Ghost, IsOnTheHeadWhenItIsWanted) {
  Hands hands;
  const show::FacePose* seen = nullptr;
  hands.studio->set_draw_head([&](const editor::Scene& scene, float, float, float, float) { seen = scene.as_built; });
  hands.stage.now.actuators = 3;
  hands.stage.now.controls = 3;
  for (int i = 0; i < 2000 && !seen; ++i) {
    if (!hands.studio->view().as_built) hands.click("button/as_built");
    hands.frame();
  }
  ASSERT_TRUE(seen);
  EXPECT_TRUE((*seen)[show::Role::lid_upper].present);
  hands.press(GLFW_KEY_G);
  EXPECT_FALSE(seen);
}

}  // namespace
}  // namespace mien::tests
