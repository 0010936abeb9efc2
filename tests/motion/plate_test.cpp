#include "motion/plate.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <kdl/frames.hpp>

#include <cmath>
#include <random>

#include "support/numbers.hpp"

namespace mien::motion {
namespace {

using show::Severity;
using support::kDeg;
using support::kInf;
using support::kNan;
using testing::ElementsAre;
using testing::IsEmpty;

PlateServos neck(Travel travel, double rest_deg = 0) { return {PlateServo{"right", travel, rest_deg}, PlateServo{"left", travel, rest_deg}}; }

// Severity's first letter, then what.
std::vector<std::string> plate_words(const show::Findings& findings) {
  std::vector<std::string> all;
  for (const auto& f : findings) {
    all.push_back((f.severity == Severity::error ? "e: " : "w: ") + f.what);
    EXPECT_FALSE(f.cure.empty()) << f.what;
  }
  return all;
}

TEST(TwoRodPlate, PutsTheRodsWhereTheWorkedExamplesSay) {
  const TwoRodPlate plate{30, 40};
  struct Case { double pitch, roll, right, left; };
  for (const Case& c : {Case{10, 0, -6.945927, -6.945927}, {0, 8, -4.175193, 4.175193}, {10, 8, -11.057690, -2.834165}}) {
    const LeftRight h = heights_mm(plate, {c.pitch, c.roll});
    EXPECT_NEAR(h.right, c.right, 1e-6);
    EXPECT_NEAR(h.left, c.left, 1e-6);
  }
}

// Where the rod's length closes between pin and tip: found by scanning the horn's turn and halving, in a program of a few lines of Python that knows rotation
// matrices and no formula of ours.
TEST(TwoRodPlate, TurnsTheHornsAsABruteSearchSays) {
  struct Case { TwoRodPlate plate; double pitch, roll, first, second; };
  const TwoRodPlate usual{30, 40, 20, 60}, ahead{30, 40, 20, 60, true}, before{30, -40, 20, 60}, small{22, 35, 14, 48};
  for (const Case& c : {Case{usual, 10, 0, -20.311740968923, -20.311740968923}, {usual, 0, 8, 12.056506469309, -12.042864205013}, {usual, 10, 8, -8.142197536982, -33.450403484064},
                        {usual, -15, 12, 56.515943862179, 12.520947012374}, {ahead, 10, 8, -8.144478879682, -32.969797096158}, {ahead, -15, 12, 65.601027828044, 12.509239998517},
                        {before, 10, 8, 34.230516782560, 8.148934727480}, {before, -15, 12, -12.485799497467, -50.717732171370}, {small, 10, 8, -12.628167297242, -40.218746316056}}) {
    const SolvedServos servos = servos_deg(c.plate, {c.pitch, c.roll});
    EXPECT_TRUE(servos.reached);
    EXPECT_NEAR(servos.deg.left, c.first, 1e-9) << c.pitch << ", " << c.roll;
    EXPECT_NEAR(servos.deg.right, c.second, 1e-9) << c.pitch << ", " << c.roll;
  }
  EXPECT_FALSE(servos_deg(small, {-15, 12}).reached) << "14 mm of horn don't get there, says the search";
}

// Against the rotations of a kinematics library: Orocos KDL 1.5.1, package liborocos-kdl-dev. The rod between the horn's tip and the turned pin has its length, and back
// from the servos' angles comes the pose.
TEST(TwoRodPlate, KeepsTheRodsLengthBetweenHornAndTurnedPin) {
  std::mt19937 random(6);
  const auto real = [&](double low, double high) { return std::uniform_real_distribution<double>(low, high)(random); };
  int reached = 0;
  for (int k = 0; k < 4000; ++k) {
    const double span = real(10, 60), arm = real(10, 60);
    const TwoRodPlate plate{span, k % 3 ? arm : -arm, real(0.4, 1) * std::min(span, arm), real(40, 120), k % 2 == 0, real(-40, 40)};
    const PitchRoll pose{real(-25, 25), real(-25, 25)};
    const KDL::Rotation turn = KDL::Rotation::RotX(pose.pitch_deg * kDeg) * KDL::Rotation::RotY(pose.roll_deg * kDeg);
    const LeftRight h = heights_mm(plate, pose);
    const SolvedServos servos = servos_deg(plate, pose);
    const SolvedPose there = pose_at_heights(plate, h);
    ASSERT_TRUE(there.reached);
    ASSERT_NEAR(there.pose.pitch_deg, pose.pitch_deg, 1e-9);
    ASSERT_NEAR(there.pose.roll_deg, pose.roll_deg, 1e-9);
    const auto off = [&](double side, double servo_deg, double height) {
      const KDL::Vector pin = turn * KDL::Vector(side * span, -plate.arm_mm, 0);
      EXPECT_NEAR(pin.z(), height, 1e-12);
      const double u = plate.horns_ahead ? 1 : -1, t = (servo_deg + plate.horn_at_zero_deg) * kDeg;
      const KDL::Vector tip(side * span, -plate.arm_mm - u * plate.horn_mm + u * plate.horn_mm * std::cos(t), -plate.rod_mm + plate.horn_mm * std::sin(t));
      return std::abs((pin - tip).Norm() - plate.rod_mm);
    };
    if (!servos.reached || std::abs(servos.deg.left + plate.horn_at_zero_deg) > 75 || std::abs(servos.deg.right + plate.horn_at_zero_deg) > 75) continue;
    ++reached;
    ASSERT_LT(off(-1, servos.deg.left, h.left), 1e-10);
    ASSERT_LT(off(1, servos.deg.right, h.right), 1e-10);
    const SolvedPose back = pose_deg(plate, servos.deg);
    ASSERT_TRUE(back.reached) << pose.pitch_deg << ", " << pose.roll_deg;
    ASSERT_NEAR(back.pose.pitch_deg, pose.pitch_deg, 1e-9);
    ASSERT_NEAR(back.pose.roll_deg, pose.roll_deg, 1e-9);
  }
  EXPECT_GT(reached, 1500);
}

TEST(TwoRodPlate, IsLevelWhereItsHornsAre) {
  for (const TwoRodPlate& plate : {TwoRodPlate{}, TwoRodPlate{30, -40, 20, 60, true, 12}, TwoRodPlate{12, 55, 9, 80, false, -30}}) {
    EXPECT_NEAR(servos_deg(plate, {}).deg.left, -plate.horn_at_zero_deg, 1e-12);
    EXPECT_NEAR(servos_deg(plate, {}).deg.right, -plate.horn_at_zero_deg, 1e-12);
  }
}

// What is left where everything is small: a millimetre up is what the horn's arc gives, and pitch and roll add up as in a differential.
TEST(TwoRodPlate, IsADifferentialWhereItIsTiltedLittle) {
  const TwoRodPlate plate{30, 40, 20, 60};
  const LeftRight one = servos_deg(plate, {0.01, 0.02}).deg, sum = servos_deg(show::Differential{-40.0 / 20, 30.0 / 20}, {0.01, 0.02});
  EXPECT_NEAR(one.left, sum.left, 1e-5);
  EXPECT_NEAR(one.right, sum.right, 1e-5);
}

TEST(TwoRodPlate, AnswersForWhatIsOutOfReach) {
  const TwoRodPlate plate{30, 40};
  const SolvedPose far = pose_at_heights(plate, {100, 100});
  EXPECT_FALSE(far.reached);
  EXPECT_NEAR(far.pose.pitch_deg, -90, 1e-9);
  for (double bad : {kNan, kInf, -kInf}) {
    const SolvedPose p = pose_at_heights(plate, {bad, 1});
    EXPECT_FALSE(p.reached);
    EXPECT_TRUE(std::isfinite(p.pose.pitch_deg) && std::isfinite(p.pose.roll_deg));
    const SolvedServos s = servos_deg(plate, {bad, 0});
    EXPECT_FALSE(s.reached);
    EXPECT_NEAR(s.deg.left, 0, 1e-12);
    const SolvedPose q = pose_deg(plate, {0, bad});
    EXPECT_FALSE(q.reached);
    EXPECT_NEAR(q.pose.pitch_deg, 0, 1e-9);
  }
  // Beyond, the horn points to where the pin would be, and farther for more, until it is in line with the rod.
  double before = 0;
  for (double pitch = 0; pitch >= -60; pitch -= 1) {
    const double t = servos_deg(plate, {pitch, 0}).deg.left;
    EXPECT_TRUE(std::isfinite(t));
    if (servos_deg(plate, {pitch, 0}).reached) { EXPECT_GE(t, before); }
    before = t;
  }
  EXPECT_FALSE(pose_deg({30, 40, 200, 60}, {80, -80}).reached) << "no plate is so wide";
}

// Limits in degrees: the same brute search, halved on the pose.
TEST(TwoRodPlateCheck, NamesTheReachWithTheServoWhoseTravelEnds) {
  const TwoRodPlate plate{30, 40, 20, 60};
  EXPECT_THAT(plate_words(check(plate, neck({-40, 40}), {{-10, -10}, {10, 10}})), IsEmpty());
  EXPECT_THAT(plate_words(check(plate, neck({-40, 40}), {{-10, -10}, {25, 0}})), ElementsAre("w: the rods can't reach beyond pitch 11.3 deg with roll -10 deg: the travel of 'right' ends there"));
  EXPECT_THAT(plate_words(check(plate, neck({-40, 40}), {{-25, 0}, {10, 10}})), ElementsAre("w: the rods can't reach beyond pitch -11.1 deg with roll 10 deg: the travel of 'right' ends there"));
  EXPECT_THAT(plate_words(check(plate, neck({-40, 40}), {{-25, 0}, {25, 0}})), ElementsAre("w: the rods can't reach beyond pitch -18.7 deg with roll 0 deg: the travel of 'right' ends there",
                                                                                    "w: the rods can't reach beyond pitch 18.8 deg with roll 0 deg: the travel of 'right' ends there"));
  EXPECT_THAT(plate_words(check(plate, neck({-30, 30}), {{0, 0}, {0, 20}})), ElementsAre("w: the rods can't reach beyond roll 19.3 deg with pitch 0 deg: the travel of 'right' ends there"));
}

// Horn and rod in line: with the pin straight above the axis's rear, where |axis to pin| = horn + rod. Brute: the search finds no angle from there on.
TEST(TwoRodPlateCheck, NamesWhereItIsSingular) {
  const auto found = check({30, 40, 12, 60}, neck({-90, 90}), {{-25, 0}, {0, 0}});
  ASSERT_FALSE(found.empty());
  EXPECT_EQ(found[0].severity, Severity::error);
  EXPECT_THAT(found[0].what, testing::MatchesRegex("the rods can't reach beyond pitch -1[0-9.]+ deg with roll 0 deg: horn and rod of 'right' come into line, and the linkage is singular"));
  const double limit = std::stod(found[0].what.substr(found[0].what.find("pitch") + 6));
  EXPECT_TRUE(servos_deg({30, 40, 12, 60}, {limit + 0.1, 0}).reached);
  EXPECT_FALSE(servos_deg({30, 40, 12, 60}, {limit - 0.1, 0}).reached);
  // Long horns, and a plate that stands on edge.
  const auto edge = check({30, 40, 60, 90}, neck({-90, 90}), {{-100, 0}, {0, 0}});
  ASSERT_FALSE(edge.empty());
  EXPECT_EQ(edge[0].severity, Severity::error);
  EXPECT_THAT(edge[0].what, testing::HasSubstr("the rods are left with less than a tenth of their leverage on the plate, near a singularity"));
}

TEST(TwoRodPlateCheck, CountsPosesFromTheRest) {
  const TwoRodPlate plate{30, 40, 20, 60};
  const double rest = servos_deg(plate, {5, 0}).deg.left;
  EXPECT_THAT(plate_words(check(plate, neck({-40, 40}, rest), {{0, 0}, {20, 0}})), ElementsAre("w: the rods can't reach beyond pitch 13.8 deg with roll 0 deg: the travel of 'right' ends there"));
  const PoseRange room = reach_deg(plate, neck({-40, 40}, rest));
  EXPECT_NEAR(room.max.pitch_deg, 18.828532248850 - 5, 1e-6);
  EXPECT_NEAR(room.min.pitch_deg, -18.663594695647 - 5, 1e-6);
}

TEST(TwoRodPlateCheck, WarnsOfWeakLeversAndOfWhereThePlateJams) {
  EXPECT_THAT(plate_words(check({30, 40, 14, 60}, neck({-80, 80}), {{-17, 0}, {0, 0}})),
              ElementsAre(testing::MatchesRegex("w: at pitch -1[0-9.]+ deg with roll 0 deg horn and rod of 'right' are only 2[0-9.]+ deg from being in line")));
  EXPECT_THAT(plate_words(check({30, 40, 60, 200}, neck({-80, 80}), {{-65, 0}, {0, 0}})), testing::Contains(testing::HasSubstr("% of the leverage on the plate")));
  // Each pose by itself is there, but with one servo where the one needs it and the other where the other does the pins would be farther apart than they are.
  EXPECT_THAT(plate_words(check({12, 40, 30, 60}, neck({-60, 60}), {{-30, -20}, {30, 20}})), testing::Contains(testing::HasSubstr("where they may meet on the way from one pose to another, the plate jams")));
}

TEST(TwoRodPlateCheck, LengthsAndTravelsThatAreNoneAreFindings) {
  for (double bad : {0.0, -1.0, kNan, kInf, 1e300}) {
    EXPECT_EQ(check(TwoRodPlate{bad, 40}).size(), 1u);
    EXPECT_EQ(check(TwoRodPlate{30, 40, bad}).size(), 1u);
    EXPECT_EQ(check(TwoRodPlate{30, 40, 20, bad}).size(), 1u);
    EXPECT_EQ(check(TwoRodPlate{30, 40, 20, bad}, neck({-40, 40}), {}).size(), 1u);
  }
  for (double bad : {0.0, kNan, kInf}) EXPECT_EQ(check(TwoRodPlate{30, bad}).size(), 1u);
  EXPECT_TRUE(check(TwoRodPlate{30, -40}).empty()) << "rods before the joint";
  EXPECT_EQ(check(TwoRodPlate{30, 40, 20, 60, false, kNan}).size(), 1u);
  EXPECT_EQ(check(TwoRodPlate{}, neck({40, -40}), {}).size(), 1u);
  EXPECT_EQ(check(TwoRodPlate{}, neck({kNan, 40}), {}).size(), 1u);
  EXPECT_THAT(plate_words(check(TwoRodPlate{30, 40, 20, 60, false, 90}, neck({-40, 40}), {})), ElementsAre(testing::StartsWith("e: with both servos at rest the rods can't hold the plate")));
  for (double bad : {kNan, kInf}) EXPECT_TRUE(check(TwoRodPlate{}, neck({-40, 40}), {{-bad, 0}, {bad, 0}}).empty()) << "what is asked is validate()'s to say";
}

}  // namespace
}  // namespace mien::motion
