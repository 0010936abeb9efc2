#include "perform/governor.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "heads.hpp"
#include "perform/arrive.hpp"
#include "perform/power.hpp"
#include "perform/render.hpp"
#include "perform/study.hpp"
#include "support/sample.hpp"

namespace mien::perform {
namespace {

using namespace testing;
using std::chrono::milliseconds;

// Twelve micro servos on two rails of one board, a control each; all move by up to 60 deg.
std::shared_ptr<show::Rig> twelve_servos(double rating_a, bool governed) {
  auto rig = std::make_shared<show::Rig>();
  rig->name = "twelve";
  rig->groups = {{"all"}};
  rig->boards = {{"one", 0, 16, {{"lips", rating_a}, {"rest", 20}}}};
  rig->boards[0].rails[0].governed = governed;
  rig->servos = {{"micro", {}}};
  for (int i = 0; i < 12; ++i) {
    show::Actuator a;
    a.name = "a" + std::to_string(i), a.group = "all", a.board = "one", a.rail = i < 8 ? "lips" : "rest", a.output = i;
    a.min_deg = -40, a.max_deg = 40, a.velocity_deg_s = 450, a.acceleration_deg_s2 = 9000, a.servo = "micro";
    rig->actuators.push_back(a);
    rig->controls.push_back({"c" + std::to_string(i), "all", "deg", -30, 30, 0});
    rig->mappings.push_back({{{"", 0, {{rig->controls.back().name, 1}}}}, show::Straight{}, {a.name}});
  }
  return rig;
}

// Every control jumps at once, there and back.
std::shared_ptr<show::Show> all_at_once(const show::Rig& rig) {
  auto show = empty_show(std::chrono::seconds(6));
  for (const auto& control : rig.controls)
    add_channel(*show, control.name.c_str(), {{milliseconds(0), -30, show::kHold}, {milliseconds(1000), 30, show::kHold}, {milliseconds(3000), -30, show::kHold}});
  return show;
}

std::vector<Tick> ticks_of(const Plan& plan) {
  std::vector<Tick> ticks;
  render(plan, [&](const Tick& t) { return ticks.push_back(t), true; });
  return ticks;
}

double most_current(const std::vector<Tick>& ticks, std::size_t rail) {
  double most = 0;
  for (const Tick& t : ticks) most = std::max(most, static_cast<double>(t.rail[rail].current_a));
  return most;
}

TEST(Governor, LeavesAHeadAloneThatAsksForNone) {
  const auto plan = compile(twelve_servos(2, false), all_at_once(*twelve_servos(2, false)));
  EXPECT_TRUE(plan->governed.empty());
  // And one whose supply is ample: bit for bit the same.
  const auto ample = compile(twelve_servos(20, true), all_at_once(*twelve_servos(20, true)));
  ASSERT_EQ(ample->governed.size(), 1u);
  EXPECT_FALSE(ample->governed[0].can_exceed) << "8 * 0.7 A";
  const auto free = ticks_of(*plan), spared = ticks_of(*ample);
  for (std::size_t n = 0; n < free.size(); ++n) ASSERT_EQ(free[n].setpoint_deg, spared[n].setpoint_deg) << n;
}

TEST(Governor, ChangesNothingUntilTheRailIsAskedForMore) {
  const auto rig = twelve_servos(6, true);  // 4.8 A may flow, stalled 5.6 A, moving less
  const auto governed = compile(rig, all_at_once(*rig)), free = compile(twelve_servos(6, false), all_at_once(*rig));
  EXPECT_TRUE(governed->governed[0].can_exceed);
  const auto a = ticks_of(*governed), b = ticks_of(*free);
  ASSERT_LT(power(*free).rails[0].peak.current_a, 4.8 * 0.9);
  for (std::size_t n = 0; n < a.size(); ++n) {
    ASSERT_EQ(a[n].setpoint_deg, b[n].setpoint_deg) << n;
    ASSERT_EQ(a[n].rail[0].share, 1);
  }
}

TEST(Governor, KeepsItsRailUnderEightyPerCentAndSlowsNoOther) {
  const auto rig = twelve_servos(1.5, true);
  const auto free = compile(twelve_servos(1.5, false), all_at_once(*rig)), plan = compile(rig, all_at_once(*rig));
  ASSERT_GT(power(*free).rails[0].peak.current_a, 1.5) << "the free one asks for too much";
  const auto ticks = ticks_of(*plan), others = ticks_of(*free);
  EXPECT_LE(most_current(ticks, 0), 1.2 * (1 + 1e-6));
  EXPECT_GT(most_current(ticks, 0), 1.2 * 0.8) << "just enough, no more";
  double least = 1;
  for (std::size_t n = 0; n < ticks.size(); ++n) {
    least = std::min(least, static_cast<double>(ticks[n].rail[0].share));
    for (std::size_t a = 8; a < 12; ++a) ASSERT_EQ(ticks[n].setpoint_deg[a], others[n].setpoint_deg[a]) << n;
  }
  EXPECT_LT(least, 0.9);
  for (std::size_t a = 0; a < 8; ++a) {
    EXPECT_NEAR(ticks[290].setpoint_deg[a], 30, 1e-6) << "it arrives all the same";
    EXPECT_NEAR(ticks.back().setpoint_deg[a], -30, 1e-6);
  }
  // The power report performs the same ticks.
  EXPECT_NEAR(power(*plan).rails[0].peak.current_a, most_current(ticks, 0), 1e-6);
}

TEST(Governor, DoesNotSwing) {
  const auto rig = twelve_servos(1.5, true);
  const auto ticks = ticks_of(*compile(rig, all_at_once(*rig)));
  // On its way from end to end a jump is one move: it never turns back, and its speed doesn't swing by more than a fifth of the limit from tick to
  // tick and back again.
  int swings = 0;
  for (std::size_t n = 102; n + 1 < 290; ++n) {
    const double before = ticks[n - 1].setpoint_deg[0] - ticks[n - 2].setpoint_deg[0], now = ticks[n].setpoint_deg[0] - ticks[n - 1].setpoint_deg[0],
                 after = ticks[n + 1].setpoint_deg[0] - ticks[n].setpoint_deg[0];
    EXPECT_GE(now, -1e-9) << n;
    swings += (now - before) * (after - now) < 0 && std::min(std::abs(now - before), std::abs(after - now)) > 0.2 * 4.5;
  }
  EXPECT_LE(swings, 2);
}

TEST(Governor, LetsAHeadOutOfAPoseThatTheRailCannotHold) {
  auto rig = twelve_servos(0.5, true);
  for (auto& a : rig->actuators) a.skin_n_m_per_deg = 0.004;  // at 30 deg three quarters of the stall torque
  auto show = empty_show(std::chrono::seconds(8));
  for (const auto& control : rig->controls) add_channel(*show, control.name.c_str(), {{milliseconds(0), 30, show::kHold}, {milliseconds(500), 0, show::kHold}});
  const auto ticks = ticks_of(*compile(rig, show));
  EXPECT_GT(ticks[40].rail[0].current_a, 0.4F);
  for (std::size_t a = 0; a < 8; ++a) EXPECT_NEAR(ticks.back().setpoint_deg[a], 0, 1e-6);
}

// Any head, any show: the estimate stays under what the rail may give, limits hold, and what is asked for at the end is reached.
TEST(Governor, KeepsAnyRailUnderWhatItMayGive) {
  support::Random random(5);
  int slowed = 0;
  for (int round = 0; round < 40; ++round) {
    auto rig = std::make_shared<show::Rig>(*twelve_servos(1, true));
    rig->servos.clear();
    support::electrify(random, *rig);
    rig->tick_hz = support::whole(random, 0, 1) ? 100 : 50;
    for (auto& a : rig->actuators) {
      a.velocity_deg_s = support::real(random, 100, 900), a.acceleration_deg_s2 = support::real(random, 2000, 20000);
      a.skin_n_m_per_deg *= 0.2;
    }
    rig->constraints.clear();
    double stall = 0;
    for (std::size_t a = 0; a < 8; ++a) stall += motion::figures_of(*rig, rig->actuators[a]).stall_current_a;
    rig->boards[0].rails[0].rating_a = stall * support::real(random, 0.04, 0.2);
    auto show = empty_show(std::chrono::seconds(8));
    for (const auto& control : rig->controls) {
      std::vector<show::Keyframe> keys;
      for (show::Time t{0}; t < milliseconds(5000); t += milliseconds(support::whole(random, 60, 900)))
        keys.push_back({t, support::real(random, -30, 30), support::chance(random, 0.7) ? show::kHold : show::kLinear});
      add_channel(*show, control.name.c_str(), keys);
    }
    const auto plan = compile(rig, show);
    const auto ticks = ticks_of(*plan);
    const double most = plan->governed[0].most_a;
    for (std::size_t n = 0; n < ticks.size(); ++n) {
      ASSERT_LE(ticks[n].rail[0].current_a, most * (1 + 1e-5)) << "round " << round << ", tick " << n;
      slowed += ticks[n].rail[0].share < 1;
    }
    for (std::size_t a = 0; a < 12; ++a) ASSERT_NEAR(ticks.back().setpoint_deg[a], ticks.back().target_deg[a], 0.01) << round;
  }
  EXPECT_GT(slowed, 1000);
}

TEST(Study, TellsWhatTheGovernorSlows) {
  const auto rig = twelve_servos(0.3, true);
  auto show = empty_show();
  for (const auto& control : rig->controls) add_channel(*show, control.name.c_str(), {{milliseconds(1000), -30, show::kEaseInOut}, {milliseconds(1400), 30}});
  EXPECT_TRUE(study(*compile(twelve_servos(0.3, false), show)).shortfalls.empty());
  const auto plan = compile(rig, show);
  const auto found = study(*plan);
  ASSERT_FALSE(found.shortfalls.empty());
  for (const Shortfall& s : found.shortfalls) {
    EXPECT_EQ(s.cause, Cause::governed);
    EXPECT_LT(s.actuator, 8);
    EXPECT_EQ(s.control, s.actuator);
    EXPECT_THAT(finding_of(*plan, s).what, ::testing::HasSubstr("slowed to spare its rail"));
  }
}

// Held back a little on the way only: it is the rail's doing all the same, as with an ample rail there is nothing to tell of.
TEST(Study, BlamesARailForWhatIsInTimeWithoutIt) {
  int told = 0;
  const auto servos = twelve_servos(1, true);
  for (const double rating_a : {0.3, 0.5, 0.8, 1.2, 1.6, 2.0, 2.4})
    for (const int move_ms : {300, 350, 400, 500}) {
      auto show = empty_show();
      for (const auto& control : servos->controls) add_channel(*show, control.name.c_str(), {{milliseconds(1000), -30, show::kEaseInOut}, {milliseconds(1000 + move_ms), 30}});
      const bool in_time = study(*compile(twelve_servos(rating_a, false), show)).shortfalls.empty();
      for (const Shortfall& s : study(*compile(twelve_servos(rating_a, true), show)).shortfalls) {
        EXPECT_EQ(s.cause, in_time ? Cause::governed : Cause::late) << rating_a << " A, " << move_ms << " ms";
        ++told;
      }
    }
  EXPECT_GT(told, 0);
}

TEST(MakeItArrive, GivesAGovernedMoveMoreTimeAndIsInTime) {
  const auto rig = twelve_servos(0.3, true);
  auto show = empty_show();
  for (std::size_t c = 0; c < 8; ++c) add_channel(*show, rig->controls[c].name.c_str(), {{milliseconds(0), -30}, {milliseconds(1000), -30, show::kEaseInOut}, {milliseconds(1400), 30}, {milliseconds(4000), 30}});
  const auto plan = compile(rig, show);
  const auto found = study(*plan);
  ASSERT_FALSE(found.shortfalls.empty());
  const auto done = make_it_arrive(plan, found);
  EXPECT_FALSE(done.changes.empty());
  EXPECT_LT(done.study.shortfalls.size(), found.shortfalls.size());
  for (const auto& channel : done.show.channels) EXPECT_NE(channel->keys.front().value, channel->keys.back().value) << "no channel is flattened for it";
}

}  // namespace
}  // namespace mien::perform
