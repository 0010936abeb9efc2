#include "motion/servo.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>

using namespace mien::motion;

namespace {

constexpr double kTick = 0.01;

ServoState settled(const Servo& servo, double setpoint, int ticks = 500) {
  ServoState s;
  for (int k = 0; k < ticks; ++k) servo.follow(s, setpoint);
  return s;
}

}  // namespace

TEST(Servo, RunsFreeAtItsNoLoadSpeed) {
  const ServoFigures figures;
  const Servo servo(figures, 0, kTick);
  ServoState s;
  for (int k = 0; k < 100; ++k) servo.follow(s, 10000);
  EXPECT_NEAR(s.velocity_deg_s, 500, 0.5);
  // Free-running current of 9 g servos: 50..200 mA, as makers print.
  EXPECT_GT(s.current_a, 0.05);
  EXPECT_LT(s.current_a, 0.2);
}

TEST(Servo, TakesAboutItsPrintedTimeForSixtyDegrees) {
  // 0.12 s at no-load speed, plus getting up to it and down.
  const Servo servo(ServoFigures{}, 0, kTick);
  ServoState s;
  int ticks = 0;
  for (; ticks < 100 && s.position_deg < 59; ++ticks) servo.follow(s, 60);
  EXPECT_GE(ticks, 12);
  EXPECT_LE(ticks, 19);
}

TEST(Servo, SettlesWithinItsDeadBandAndDrawsNextToNothing) {
  const Servo servo(ServoFigures{}, 0, kTick);
  const ServoState s = settled(servo, 30);
  // Dry friction holds it a little before the dead band: friction / (stall + friction) of the error for full drive.
  EXPECT_NEAR(s.position_deg, 30, 0.4 + 8 * 0.02 / 0.18);
  EXPECT_EQ(s.velocity_deg_s, 0);
  EXPECT_LT(s.current_a, 0.02);
}

TEST(Servo, StallsAgainstAStiffSkinAtItsStallCurrent) {
  ServoFigures figures;
  figures.skin_n_m_per_deg = 0.16 / 10;  // the whole stall torque at 10 degrees
  figures.friction_n_m = 0;
  const ServoState s = settled(Servo(figures, 0, kTick), 40);
  EXPECT_NEAR(s.position_deg, 10, 1e-6);
  EXPECT_NEAR(s.current_a, figures.stall_current_a, 1e-9);
}

TEST(Servo, YieldsToTheSkinAsTheSpringsBalanceSays) {
  ServoFigures figures;
  figures.skin_n_m_per_deg = 0.002;
  figures.friction_n_m = 0;
  figures.dead_band_deg = 0;
  // stall * (30 - x) / 8 = 0.002 * (x - 5): x = (0.02 * 30 + 0.002 * 5) / 0.022.
  const ServoState s = settled(Servo(figures, 5, kTick), 30);
  EXPECT_NEAR(s.position_deg, (0.02 * 30 + 0.002 * 5) / 0.022, 1e-6);
}

TEST(Servo, WithoutPulsesTheSkinPullsItHomeAtIdleCurrent) {
  ServoFigures figures;
  figures.skin_n_m_per_deg = 0.01;
  figures.friction_n_m = 0.001;
  const Servo servo(figures, 0, kTick);
  ServoState s;
  s.position_deg = 20;
  for (int k = 0; k < 300; ++k) {
    servo.follow(s, std::numeric_limits<double>::quiet_NaN());
    ASSERT_EQ(s.current_a, figures.idle_current_a);
  }
  EXPECT_NEAR(s.position_deg, 0, 0.2);
}

TEST(Servo, AgreesWithMuchFinerSteps) {
  const Servo coarse(ServoFigures{}, 0, kTick), fine(ServoFigures{}, 0, 0.0002);
  ServoState a, b;
  for (int k = 0; k < 60; ++k) {
    const double setpoint = k < 30 ? 40 : -20;
    coarse.follow(a, setpoint);
    for (int m = 0; m < 50; ++m) fine.follow(b, setpoint);
    ASSERT_NEAR(a.position_deg, b.position_deg, 1.0) << k;
  }
}

TEST(Servo, StaysWithinItsCurrentsAndSettlesForAnyFigures) {
  std::mt19937 random(1);
  std::uniform_real_distribution<double> share(0, 1), angle(-60, 60);
  const auto magnitude = [&](double low, double high) { return low * std::pow(high / low, share(random)); };
  for (int run = 0; run < 400; ++run) {
    ServoFigures f{magnitude(50, 3000),
                   magnitude(1e-3, 10),
                   magnitude(0.1, 10),
                   0.01 * share(random),
                   0,
                   0,
                   magnitude(1e-9, 1),
                   magnitude(0.1, 30),
                   share(random),
                   6};
    f.friction_n_m = share(random) * 0.3 * f.stall_torque_n_m;
    f.skin_n_m_per_deg = run % 2 == 0 ? 0 : share(random) * f.stall_torque_n_m;
    const Servo servo(f, angle(random), run % 3 == 0 ? 0.02 : kTick);
    ServoState s;
    double setpoint = 0;
    for (int k = 0; k < 300; ++k) {
      if (share(random) < 0.1) setpoint = angle(random);
      const double energy = s.energy_j;
      servo.follow(s, setpoint);
      ASSERT_TRUE(std::isfinite(s.position_deg) && std::isfinite(s.velocity_deg_s));
      ASSERT_GE(s.current_a, f.idle_current_a);
      ASSERT_LE(s.current_a, f.stall_current_a * (1 + 1e-12));
      ASSERT_GE(s.energy_j, energy);
    }
    if (f.inertia_kg_m2 * f.no_load_deg_s / f.stall_torque_n_m > 1) continue;  // a flywheel swings for longer than we wait
    for (int k = 0; k < 1000; ++k) servo.follow(s, setpoint);
    EXPECT_LT(std::abs(s.velocity_deg_s), 1e-3) << run;
    EXPECT_LT(std::abs(s.position_deg), 120) << run;
  }
}

TEST(Servo, IsFasterStrongerAndHungrierOnMoreVolts) {
  mien::show::Rig rig;
  rig.boards.push_back({"face", 0, 8, {{"servos", 5}}});
  rig.servos.push_back({"micro", {.no_load_deg_s = 600, .stall_torque_n_m = 0.12, .stall_current_a = 0.708, .voltage_v = 4.8}});
  mien::show::Actuator lip;
  lip.board = "face", lip.rail = "servos", lip.servo = "micro", lip.skin_n_m_per_deg = 0.003, lip.load_kg_m2 = 1e-4;
  ServoFigures f = figures_of(rig, lip);  // a rail of unknown voltage: as the data sheet has it
  EXPECT_EQ(f.no_load_deg_s, 600);
  EXPECT_EQ(f.skin_n_m_per_deg, 0.003);
  EXPECT_DOUBLE_EQ(f.inertia_kg_m2, 3e-4);
  rig.boards[0].rails[0].voltage_v = 6;
  f = figures_of(rig, lip);
  EXPECT_DOUBLE_EQ(f.no_load_deg_s, 750);
  EXPECT_DOUBLE_EQ(f.stall_torque_n_m, 0.15);
  EXPECT_DOUBLE_EQ(f.stall_current_a, 0.008 + 0.7 * 1.25);
  EXPECT_EQ(f.idle_current_a, 0.008);
  EXPECT_EQ(f.voltage_v, 6);
  lip.servo = "";
  EXPECT_EQ(figures_of(rig, lip).no_load_deg_s, 600) << "a usual one, 500 deg/s at 5 V";
}
