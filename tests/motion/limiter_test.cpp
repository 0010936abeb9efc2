#include "motion/limiter.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <kdl/velocityprofile_trap.hpp>
#include <limits>
#include <random>

namespace mien::motion {
namespace {

show::Actuator servo(double velocity, double acceleration, double low = -180, double high = 180) {
  show::Actuator a;
  a.min_deg = low, a.max_deg = high, a.velocity_deg_s = velocity, a.acceleration_deg_s2 = acceleration;
  return a;
}

// One actuator on its own, with its whole history checked against the promise on every tick.
struct Rig {
  std::vector<show::Actuator> actuators;
  double tick_s;
  Limits limits;
  LimiterState state;
  std::vector<double> x, v;

  Rig(show::Actuator a, double tick, double from, double speed = 0) : actuators{a}, tick_s(tick), limits(limits_of(actuators, tick)) {
    seed(state, limits, 0, from, speed, a.rest_deg);
    x.push_back(state.position_deg[0]);
    v.push_back(state.velocity_deg_s(limits, 0));
  }
  double step_to(double target, double share = 1) {
    step(state, limits, std::array{target}, share);
    x.push_back(state.position_deg[0]);
    v.push_back((x.back() - x[x.size() - 2]) / tick_s);
    const auto& a = actuators[0];
    EXPECT_GE(x.back(), a.min_deg);
    EXPECT_LE(x.back(), a.max_deg);
    EXPECT_LE(std::abs(v.back()), a.velocity_deg_s * (1 + 1e-9));
    EXPECT_LE(std::abs(v.back() - v[v.size() - 2]) / tick_s, a.acceleration_deg_s2 * (1 + 1e-9));
    return x.back();
  }
  int ticks_to(double target, int most = 100000) {
    for (int n = 1; n <= most; ++n)
      if (std::abs(step_to(target) - target) < 1e-9) return n - 1;  // the first call is the tick at whose time the target jumps
    return most;
  }
};

// Rest to rest, closed form: h >= v^2/a: T = h/v + v/a, else T = 2 sqrt(h/a).
double closed_form_s(double h, double v, double a) { return h >= v * v / a ? h / v + v / a : 2 * std::sqrt(h / a); }

TEST(Limiter, ArrivesWithinATickOfTheClosedForm) {
  EXPECT_NEAR(closed_form_s(60, 300, 4000), 0.275, 1e-12);
  std::mt19937 random(17);
  std::uniform_real_distribution<double> velocity(50, 800), acceleration(500, 20000), angle(-170, 170);
  for (int n = 0; n < 5000; ++n) {
    const double v = velocity(random), a = acceleration(random), from = angle(random), to = angle(random);
    Rig rig(servo(v, a), 0.01, from);
    const double ideal = closed_form_s(std::abs(to - from), v, a) / 0.01;
    rig.step_to(from);
    const int ticks = rig.ticks_to(to);
    if (std::abs(to - from) <= v * 0.01) continue;  // no jump: what the velocity limit allows in a tick is set out for at once
    EXPECT_GE(ticks, ideal - 1.01) << from << " -> " << to << " at " << v << ", " << a;
    EXPECT_LE(ticks, ideal + 1.01) << from << " -> " << to << " at " << v << ", " << a;
  }
}

// orocos KDL 1.5.1's trapezoidal profile, beside ours on a fine tick, where the two must agree everywhere and not only at the end.
TEST(Limiter, FollowsTheTrapezoidOfAReferenceLibrary) {
  const struct { double v, a, from, to; } moves[] = {{100, 400, 0, 90}, {100, 400, 0, 10}, {100, 400, 0, 25}, {60, 300, 30, -30}, {500, 4000, 0, 60}};
  for (const auto& m : moves) {
    KDL::VelocityProfile_Trap peer(m.v, m.a);
    peer.SetProfile(m.from, m.to);
    Rig rig(servo(m.v, m.a), 0.0005, m.from);
    for (int n = 0; n * 0.0005 <= peer.Duration(); ++n) ASSERT_NEAR(rig.step_to(m.to), peer.Pos(n * 0.0005), 2 * m.v * 0.0005) << m.to << " at tick " << n;
  }
}

TEST(Limiter, NeverOvershootsATargetThatStandsStill) {
  std::mt19937 random(23);
  std::uniform_real_distribution<double> velocity(5, 900), acceleration(100, 30000), angle(-170, 170);
  for (int n = 0; n < 3000; ++n) {
    const double v = velocity(random), a = acceleration(random), from = angle(random), to = angle(random);
    Rig rig(servo(v, a), 0.01, from);
    for (int k = 0; k < 400; ++k) {
      const double x = rig.step_to(to);
      ASSERT_LE(to > from ? x - to : to - x, 1e-9);
    }
  }
}

// Ruckig 0.17.3, velocity and acceleration limits only, target at rest: durations from moving starts.
TEST(Limiter, ArrivesInMinimumTimeFromAMovingStart) {
  const struct { double x0, v0, to, seconds; } rows[] = {{0, 50, 90, 1.05625}, {0, -50, 90, 1.30625}, {0, 100, 10, 0.408113883008}, {0, 100, 12.5, 0.25}};
  for (const auto& r : rows) {
    Rig rig(servo(100, 400), 0.001, r.x0, r.v0);
    // Seeded in motion, it sets out at once: the first call counts. Each of up to three changes of speed may gain half a tick.
    EXPECT_NEAR((rig.ticks_to(r.to) + 1) * 0.001, r.seconds, 0.0025) << r.v0 << " -> " << r.to;
  }
}

TEST(Limiter, FollowsATargetWithinTheLimitsWithNoLagOnceCaught) {
  Rig rig(servo(300, 4000), 0.01, 0);
  double worst = 0;
  for (int n = 0; n < 2000; ++n) {
    const double target = 30 * std::sin(2 * M_PI * 0.8 * n * 0.01);  // at most 151 deg/s and 758 deg/s^2
    const double x = rig.step_to(target);
    if (n > 50) worst = std::max(worst, std::abs(x - target));
  }
  EXPECT_LT(worst, 1e-9);
}

TEST(Limiter, BrakesInTimeForTheEndsOfTravel) {
  Rig rig(servo(300, 4000, -20, 20), 0.01, -20);
  for (int n = 0; n < 100; ++n) rig.step_to(-20 + n * 2.9);  // a target that runs at nearly full speed through the end
  EXPECT_EQ(rig.state.position_deg[0], 20);
  EXPECT_EQ(rig.state.step_deg[0], 0);
}

TEST(Limiter, HoldsTheLastTargetForNaNAndTakesInfinityForTheEndOfTravel) {
  Rig rig(servo(300, 4000, -20, 25), 0.01, 0);
  rig.step_to(7);
  for (int n = 0; n < 100; ++n) rig.step_to(std::nan(""));
  EXPECT_EQ(rig.state.position_deg[0], 7);
  for (int n = 0; n < 100; ++n) rig.step_to(std::numeric_limits<double>::infinity());
  EXPECT_EQ(rig.state.position_deg[0], 25);
  for (int n = 0; n < 100; ++n) rig.step_to(-std::numeric_limits<double>::infinity());
  EXPECT_EQ(rig.state.position_deg[0], -20);
}

TEST(Limiter, SeedsOnlyStatesThatCanStillStop) {
  Rig at_the_end(servo(300, 4000, -20, 20), 0.01, 20, 300);
  for (int n = 0; n < 50; ++n) at_the_end.step_to(20);
  Rig nowhere(servo(300, 4000, -20, 20), 0.01, std::nan(""), std::nan(""));
  EXPECT_EQ(nowhere.x[0], 0);
  EXPECT_EQ(nowhere.v[0], 0);
  Rig beyond(servo(300, 4000, -20, 20), 0.01, 500, -1e9);
  EXPECT_EQ(beyond.x[0], 20);
  for (int n = 0; n < 50; ++n) beyond.step_to(-20);
}

TEST(Limiter, CreepsAtItsShareOfTheVelocity) {
  Rig rig(servo(300, 4000), 0.01, 0);
  for (int n = 0; n < 30; ++n) rig.step_to(90);
  for (int n = 0; n < 10; ++n) rig.step_to(90, 0.1);  // braking to the share takes no more than the acceleration limit, as step_to checks
  for (int n = 0; n < 20; ++n) {
    rig.step_to(150, 0.1);
    EXPECT_LE(std::abs(rig.v.back()), 30 * (1 + 1e-9));
  }
}

// Any limits, any state, any series of targets: 10^6 ticks, every one of them checked by step_to; more with MIEN_ROUNDS, which counts
// series of 200.
TEST(Limiter, BreaksNoLimitFromAnyStateForAnyTargetSeries) {
  std::mt19937 random(31);
  std::uniform_real_distribution<double> share(0, 1), angle(-200, 200);
  const int rounds = std::max(5000, std::getenv("MIEN_ROUNDS") ? std::atoi(std::getenv("MIEN_ROUNDS")) : 0);
  for (int n = 0; n < rounds && !::testing::Test::HasFailure(); ++n) {
    const double low = -90 * share(random) - 1, high = 90 * share(random) + 1;
    Rig rig(servo(5 + 900 * share(random), 50 + 30000 * share(random), low, high), n % 3 ? 0.01 : 0.002, angle(random), 2000 * (share(random) - 0.5));
    double target = angle(random), drift = 0;
    for (int k = 0; k < 200; ++k) {
      const double what = share(random);
      if (what < 0.05) target = angle(random);
      else if (what < 0.08) drift = 10 * (share(random) - 0.5);
      else if (what < 0.09) target = std::nan("");
      else if (what < 0.10) target = std::numeric_limits<double>::infinity() * (share(random) - 0.5);
      if (std::isfinite(target)) target += drift;
      rig.step_to(target, what < 0.5 ? 1 : share(random) + 0.01);
      if (!std::isfinite(target)) target = 0;
    }
  }
}

TEST(BrakingStep, IsTheInverseOfTheBrakingWay) {
  std::mt19937 random(2);
  std::uniform_real_distribution<double> change(0.001, 5), distance(0, 300);
  for (int n = 0; n < 10000; ++n) {
    const double d = change(random), way = distance(random), s = braking_step(way, d);
    ASSERT_NEAR(braking_way(s, d), way, 1e-9 * (1 + way));
    // Brute force: brake at the limit, tick by tick.
    double sum = 0;
    for (double left = s; left > 0; left -= d) sum += left;
    ASSERT_NEAR(sum, way, 1e-7 * (1 + way));
  }
}

}  // namespace
}  // namespace mien::motion
