#include "perform/bench.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>

#include "perform/heads.hpp"
#include "perform/tick.hpp"
#include "show/validate.hpp"

namespace mien::perform {
namespace {

constexpr double kTick_s = 0.01;

Seen armed(double position_deg = 0) { return {kTick_s, Contact::armed, position_deg, {}}; }

Bench holding(const show::Rig& rig, int actuator = 0) {
  Bench bench(rig, actuator);
  bench.acknowledge();
  bench.tick({kTick_s, Contact::silent, 0, {}});
  for (int i = 0; i < 300; ++i) bench.tick(armed(bench.setpoint_deg()));
  EXPECT_EQ(bench.doing(), Doing::holding);
  return bench;
}

void run(Bench& bench, int ticks = 20'000) {
  for (int i = 0; i < ticks && bench.moving(); ++i) bench.tick(armed());
}

TEST(Bench, StopsWhateverIsArmedBeforeTheChecklist) {
  Bench bench(*testing::small_rig(), 0);
  EXPECT_FALSE(bench.jog(1));
  EXPECT_FALSE(bench.identify());
  EXPECT_TRUE(bench.tick(armed()));
  EXPECT_FALSE(bench.driven());
  bench.acknowledge();
  EXPECT_FALSE(bench.tick(armed()));
  EXPECT_EQ(bench.doing(), Doing::silent) << "what was armed before the checklist has to be armed anew";
}

TEST(Bench, RigHasOneActuatorAndIsValid) {
  const auto rig = testing::small_rig();
  for (int a = 0; a < 3; ++a) {
    const show::Rig bench = bench_rig(*rig, a);
    EXPECT_FALSE(show::has_errors(show::validate(bench, ""))) << show::to_text(show::validate(bench, "").front());
    ASSERT_EQ(bench.actuators.size(), 1u);
    EXPECT_EQ(bench.actuators[0].name, rig->actuators[static_cast<std::size_t>(a)].name);
    // Angles keep their pulses.
    for (const double angle : {-10.0, 0.0, 25.0})
      EXPECT_NEAR(show::pulse_us(bench.actuators[0], angle), show::pulse_us(rig->actuators[static_cast<std::size_t>(a)], angle), 1e-9);
  }
}

TEST(Bench, KnownLimitsAreTheGuardBand) {
  auto rig = testing::small_rig();
  rig->actuators[0].commissioned = true;
  Bench bench = holding(*rig);
  EXPECT_EQ(bench.low_deg(), -40);
  EXPECT_EQ(bench.high_deg(), 40);
  EXPECT_TRUE(bench.jog(500));
  run(bench);
  EXPECT_EQ(bench.setpoint_deg(), 40);
  EXPECT_FALSE(bench.jog(1));
  EXPECT_FALSE(bench.widen(1));
}

TEST(Bench, UnknownLimitsAreANarrowBandAboutTheMiddleThatWidensOnlyFromItsEdge) {
  const auto rig = testing::small_rig();  // 1500 us are 0 deg
  Bench bench = holding(*rig);
  EXPECT_NEAR(bench.low_deg(), -5, 1e-9);
  EXPECT_NEAR(bench.high_deg(), 5, 1e-9);
  EXPECT_FALSE(bench.widen(1)) << "from the middle";
  bench.jog(5);
  run(bench);
  EXPECT_NEAR(bench.setpoint_deg(), 5, 1e-9);
  EXPECT_FALSE(bench.widen(-1));
  EXPECT_TRUE(bench.widen(1));
  EXPECT_NEAR(bench.high_deg(), 10, 1e-9);
  EXPECT_FALSE(bench.widen(1)) << "a step at a time";
  EXPECT_NEAR(bench.low_deg(), -5, 1e-9);
}

TEST(Bench, IdentifyWigglesAndComesBack) {
  Bench bench = holding(*testing::small_rig());
  bench.jog(1);
  run(bench);
  ASSERT_TRUE(bench.identify());
  double low = 1, high = 1;
  for (int i = 0; i < 2000 && bench.moving(); ++i) {
    const double before = bench.setpoint_deg();
    bench.tick(armed());
    EXPECT_LE(std::abs(bench.setpoint_deg() - before), kWiggle_deg_s * kTick_s + 1e-12);
    low = std::min(low, bench.setpoint_deg()), high = std::max(high, bench.setpoint_deg());
  }
  EXPECT_NEAR(low, -1, 1e-9);
  EXPECT_NEAR(high, 3, 1e-9);
  EXPECT_NEAR(bench.setpoint_deg(), 1, 1e-9);
}

TEST(Bench, TravelGoesFromEndToEndAndToRest) {
  auto rig = testing::small_rig();
  rig->actuators[0].commissioned = true;
  Bench bench = holding(*rig);
  EXPECT_FALSE(bench.travel(-41, 40, 20));
  EXPECT_FALSE(bench.travel(std::nan(""), 40, 20));
  ASSERT_TRUE(bench.travel(-40, 40, 20));
  EXPECT_FALSE(bench.jog(1)) << "one thing at a time";
  double low = 0, high = 0;
  int ticks = 0;
  for (; bench.moving() && ticks < 10'000; ++ticks) {
    bench.tick(armed());
    low = std::min(low, bench.setpoint_deg()), high = std::max(high, bench.setpoint_deg());
  }
  EXPECT_EQ(low, -40);
  EXPECT_EQ(high, 40);
  EXPECT_EQ(bench.setpoint_deg(), 20);
  EXPECT_TRUE(bench.travelled());
  EXPECT_NEAR(ticks, (60 + 80 + 20) / (kBenchCreep_deg_s * kTick_s), 6);
  EXPECT_NEAR(bench.progress(), 1, 1e-9);
}

struct Ending { const char* name; Seen seen; Halt why; };

TEST(Bench, TravelEndsWithinATickOfAKeyOfCurrentAndOfLoss) {
  auto rig = testing::small_rig();
  rig->actuators[0].commissioned = true;
  for (const Ending& ending : {Ending{"key", armed(), Halt::person}, Ending{"current", {kTick_s, Contact::armed, 0, 0.9}, Halt::current},
                               Ending{"loss", {kTick_s, Contact::lost, 0, {}}, Halt::link}}) {
    SCOPED_TRACE(ending.name);
    Bench bench = holding(*rig);
    bench.set_most_current(0.8);
    bench.set_most_current(std::nan(""));
    EXPECT_EQ(bench.most_current_a(), 0.8);
    ASSERT_TRUE(bench.travel(-40, 40, 20));
    for (int i = 0; i < 100; ++i) bench.tick({kTick_s, Contact::armed, 0, 0.8});
    const double before = bench.setpoint_deg();
    EXPECT_TRUE(bench.moving());
    if (ending.why == Halt::person) bench.halt();
    EXPECT_EQ(bench.tick(ending.seen), ending.why != Halt::person) << "pulses end";
    EXPECT_EQ(bench.setpoint_deg(), before);
    EXPECT_EQ(bench.halted(), ending.why);
    EXPECT_FALSE(bench.moving());
    EXPECT_FALSE(bench.travelled());
    // And it does not begin again by itself.
    for (int i = 0; i < 50; ++i) bench.tick(armed());
    EXPECT_EQ(bench.setpoint_deg(), before);
    EXPECT_EQ(bench.driven(), ending.why == Halt::person);
  }
}

TEST(Bench, ComesBackIntoTheBandFromBeyondIt) {
  Bench bench(*testing::small_rig(), 0);
  bench.acknowledge();
  bench.tick({kTick_s, Contact::silent, 0, {}});
  bench.tick(armed(30));
  EXPECT_EQ(bench.setpoint_deg(), 30);
  double before = 30;
  for (int i = 0; i < 1000; ++i) {
    bench.tick(armed(30));
    EXPECT_LE(bench.setpoint_deg(), before);
    before = bench.setpoint_deg();
  }
  EXPECT_NEAR(bench.setpoint_deg(), 5, 1e-9);
}

// Whatever a person presses and a link does: within the band, no faster than the creep, and through the tick no other actuator.
TEST(Bench, NeverLeavesTheBandNorTheCreepWhateverIsPressed) {
  std::mt19937 random(20);
  const auto pick = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  for (int round = 0; round < 24; ++round) {
    auto rig = testing::small_rig();
    const int actuator = pick(3);
    for (auto& a : rig->actuators) a.commissioned = pick(2), a.reversed = pick(2);
    const auto benched = std::make_shared<const show::Rig>(bench_rig(*rig, actuator));
    Bench bench(*rig, actuator);
    bench.acknowledge();
    PlanPtr plan = compile(benched, bench_show(bench.setpoint_deg()));
    Head head;
    stand_at(head, *plan, show::Time{0});
    Tick out;
    ASSERT_EQ(plan->actuators(), 1);
    for (int i = 0; i < 800; ++i) {
      const double big = std::numeric_limits<double>::infinity();
      switch (pick(40)) {
        case 0: bench.jog((pick(3) == 0 ? 5 : pick(2) ? 1 : 0.1) * (pick(2) ? 1 : -1)); break;
        case 1: bench.jog(pick(2) ? big : std::nan("")); break;
        case 2: bench.identify(); break;
        case 3: bench.travel(bench.low_deg(), bench.high_deg(), bench.low_deg()); break;
        case 4: bench.halt(); break;
        case 5: bench.widen(pick(3) - 1); break;
        default: break;
      }
      Seen seen{pick(5) == 0 ? 10.0 : kTick_s, Contact::armed, head.limiter.position_deg[0], {}};
      if (pick(200) == 0) seen.link = pick(2) ? Contact::lost : Contact::silent;
      if (pick(200) == 0) seen.current_a = 99;
      if (pick(100) == 0) seen.passed_s = pick(2) ? std::nan("") : -5;
      const double before = bench.setpoint_deg();
      const bool was_driven = bench.driven();
      const bool stop = bench.tick(seen);
      const bool must_stop = was_driven && (seen.link == Contact::lost || (seen.link == Contact::armed && seen.current_a));
      ASSERT_EQ(stop, must_stop);
      const double passed = seen.passed_s > 0 ? std::min(seen.passed_s, kLongestStep_s) : 0;
      if (was_driven) { ASSERT_LE(std::abs(bench.setpoint_deg() - before), kBenchCreep_deg_s * passed + 1e-9); }
      if (stop) { ASSERT_EQ(bench.setpoint_deg(), before); }
      ASSERT_GE(bench.setpoint_deg(), bench.low_deg() - 1e-9);
      ASSERT_LE(bench.setpoint_deg(), bench.high_deg() + 1e-9);
      plan = compile(benched, bench_show(bench.setpoint_deg()), plan.get());
      load(head, *plan);
      const double stood = head.limiter.position_deg[0];
      tick(*plan, head, show::Time{0}, 1, out);
      ASSERT_LE(std::abs(out.setpoint_deg[0] - stood), kBenchCreep_deg_s * kTick_s + 1e-9);
      ASSERT_GE(out.setpoint_deg[0], bench.low_deg() - 1e-9);
      ASSERT_LE(out.setpoint_deg[0], bench.high_deg() + 1e-9);
    }
  }
}

}  // namespace
}  // namespace mien::perform
