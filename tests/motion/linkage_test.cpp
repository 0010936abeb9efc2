#include "motion/linkage.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <random>

#include "support/numbers.hpp"

using namespace mien::motion;
using mien::show::Severity;

namespace {

using mien::support::kDeg;
using mien::support::kInf;
using mien::support::kNan;

std::vector<std::string> linkage_words(const mien::show::Findings& findings) {
  std::vector<std::string> all;
  for (const auto& f : findings) {
    all.push_back(f.what);
    EXPECT_FALSE(f.cure.empty()) << f.what;
  }
  return all;
}

double wrapped(double deg) { return std::remainder(deg, 360); }

}  // namespace

// ---- slider-crank. Positions: computed in 50 digits from the closed form.

TEST(SliderCrank, PutsTheSlideWhereTheWorkedExamplesSay) {
  struct Case { double horn, rod, offset, angle, x; };
  for (const Case& c : {Case{12, 40, 0, 0, 52},
                        {12, 40, 0, 30, 49.939744712},
                        {12, 40, 0, 45, 47.574921946},
                        {12, 40, 0, 60, 44.626415832},
                        {12, 40, 0, 90, 38.157568057},
                        {12, 40, 0, 180, 28},
                        {10, 35, 5, 0, 44.641016151},
                        {10, 35, 5, 30, 43.660254038},
                        {10, 35, 5, 60, 39.808081538},
                        {10, 35, 5, 90, 34.641016151},
                        {10, 35, 5, 180, 24.641016151},
                        // Norton's form, offset -20: open and, behind, crossed.
                        {40, 120, -20, 60, 126.838005195}})
    EXPECT_NEAR(position_mm({c.horn, c.rod, c.offset}, c.angle).value, c.x, 1e-9) << c.horn << " " << c.angle;
  EXPECT_NEAR(position_mm({40, 120, -20, true}, 60).value, -86.838005195, 1e-9);
  EXPECT_NEAR(servo_deg(SliderCrank{12, 40, 0}, 44, {0, 180}).value, 62.964308211, 1e-9);
}

TEST(SliderCrank, InverseOfForwardIsTheAngle) {
  std::mt19937 random(1);
  std::uniform_real_distribution<double> length(5, 50), angle(-180, 180), offset(-4, 4);
  int tried = 0;
  for (int k = 0; k < 20000; ++k) {
    const SliderCrank s{length(random), length(random), offset(random), k % 2 == 0};
    const double a = angle(random);
    const Travel travel{a - 1, a + 1.3};  // a side of the singular angles is chosen by the travel
    const Solved x = position_mm(s, a);
    if (!x.reached || !check(s, {a - 40, a + 40}).empty()) continue;
    ++tried;
    const Solved back = servo_deg(s, x.value, travel);
    ASSERT_TRUE(back.reached);
    ASSERT_NEAR(back.value, a, 1e-6) << s.horn_mm << " " << s.rod_mm << " " << s.offset_mm << " " << s.behind;
  }
  EXPECT_GT(tried, 1000);
}

TEST(SliderCrank, RateIsThatOfSmallDifferences) {
  std::mt19937 random(2);
  std::uniform_real_distribution<double> length(5, 30), angle(-180, 180), offset(-4, 4);
  for (int k = 0; k < 5000; ++k) {
    const SliderCrank s{length(random), 40 + length(random), offset(random), k % 2 == 0};
    const double a = angle(random), h = 1e-4;
    ASSERT_NEAR(rate_mm_per_deg(s, a), (position_mm(s, a + h).value - position_mm(s, a - h).value) / (2 * h), 1e-8);
  }
}

TEST(SliderCrank, SaysWhereTheRodCanNotReach) {
  // 20 sin t <= 12.0922: t <= 37.2 deg.
  EXPECT_THAT(linkage_words(check(SliderCrank{20, 12.092, 0}, {10, 60})), testing::ElementsAre("the rod can't reach beyond 37.2 deg"));
  EXPECT_THAT(linkage_words(check(SliderCrank{20, 12.092, 0}, {-60, -10})), testing::ElementsAre("the rod can't reach below -37.2 deg"));
  EXPECT_THAT(linkage_words(check(SliderCrank{20, 12.092, 0}, {50, 60})),
              testing::ElementsAre("the linkage can't close anywhere between 50.0 and 60.0 deg"));
  EXPECT_THAT(linkage_words(check(SliderCrank{20, 19.5, 0}, {30, 150})),
              testing::ElementsAre("the linkage can't close between 77.2 and 102.8 deg"));
}

TEST(SliderCrank, SaysWhereTheLeverArmIsZero) {
  EXPECT_THAT(
      linkage_words(check(SliderCrank{12, 40, 0}, {-30, 45})),
      testing::ElementsAre("at 0.0 deg the linkage is singular: the lever arm is zero, and beyond it the motion turns back"));
  EXPECT_THAT(linkage_words(check(SliderCrank{12, 40, 5}, {-160, -20})), testing::IsEmpty());
  const auto at_end = check(SliderCrank{12, 40, 0}, {0, 90});
  ASSERT_THAT(linkage_words(at_end),
              testing::ElementsAre("at 0.0 deg the linkage is singular: the lever arm is zero, at the end of the travel"));
  EXPECT_EQ(at_end[0].severity, Severity::warning);
  // Offset: in line where sin t = e / (l + r) = 5 / 45, and folded at 180 + asin(5 / 25).
  EXPECT_THAT(linkage_words(check(SliderCrank{10, 35, 5}, {0, 200})),
              testing::ElementsAre(testing::StartsWith("at 6.4 deg"), testing::StartsWith("at 191.5 deg")));
  EXPECT_TRUE(check(SliderCrank{12, 40, 0}, {20, 160}).empty());
}

TEST(SliderCrank, AnswersWithTheNearestForWhatItCanNotDo) {
  const SliderCrank s{12, 40, 0};
  EXPECT_FALSE(servo_deg(s, 60, {0, 180}).reached);
  EXPECT_EQ(servo_deg(s, 60, {0, 180}).value, 0);
  EXPECT_NEAR(servo_deg(s, 10, {0, 180}).value, 180, 1e-9);
  EXPECT_EQ(servo_deg(s, 28, {20, 100}).value, 100);  // beyond the travel
  EXPECT_FALSE(servo_deg(s, 28, {20, 100}).reached);
  for (double bad : {kNan, kInf, -kInf}) {
    EXPECT_FALSE(servo_deg(s, bad, {20, 100}).reached);
    EXPECT_TRUE(std::isfinite(servo_deg(s, bad, {20, 100}).value));
  }
  EXPECT_FALSE(position_mm(s, kNan).reached);
  EXPECT_EQ(position_mm(s, kNan).value, 52);
  EXPECT_FALSE(position_mm({20, 12, 0}, 90).reached);
  EXPECT_EQ(rate_mm_per_deg({20, 12, 0}, 90), 0);
}

TEST(Linkage, LengthsAndTravelsThatAreNoneAreFindings) {
  for (double bad : {0.0, -1.0, kNan, kInf}) {
    EXPECT_EQ(check(SliderCrank{bad, 40, 0}, {10, 20}).size(), 1u);
    EXPECT_EQ(check(SliderCrank{10, bad, 0}, {10, 20}).size(), 1u);
    EXPECT_EQ(check(FourBar{20, 50, bad, 55}, {10, 20}).size(), 1u);
  }
  EXPECT_EQ(check(SliderCrank{10, 40, kNan}, {10, 20}).size(), 1u);
  EXPECT_EQ(check(SliderCrank{10, 40, 0}, {20, 10}).size(), 1u);
  EXPECT_EQ(check(FourBar{}, {kNan, 10}).size(), 1u);
  EXPECT_EQ(check(FourBar{}, {-1e9, 1e9}).size(), 1u);
  EXPECT_EQ(check(Differential{0, 1}).size(), 1u);
  EXPECT_EQ(check(Differential{1, kNan}).size(), 1u);
  EXPECT_TRUE(check(Differential{}).empty());
}

// ---- four-bar

TEST(FourBar, TurnsTheRockerAsTheWorkedExamplesSay) {
  // Computed in 50 digits; 40/120/80/100 at 40 deg is Norton's example (57.33, -98.01 there, from memory).
  EXPECT_NEAR(rocker_deg({40, 120, 80, 100}, 40).value, 57.3248800704, 1e-9);
  EXPECT_NEAR(rocker_deg({40, 120, 80, 100, true}, 40).value, -98.0049640780, 1e-9);
  EXPECT_NEAR(transmission_deg({40, 120, 80, 100}, 40), 37.026997, 1e-6);
  EXPECT_NEAR(rocker_deg({20, 50, 25, 55}, 60).value, 79.7056978922, 1e-9);
  EXPECT_NEAR(rocker_deg({20, 50, 25, 55}, 90).value, 102.0021988209, 1e-9);
}

TEST(FourBar, SatisfiesFreudensteinsEquation) {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> length(10, 100), angle(-180, 180);
  int tried = 0;
  for (int k = 0; k < 20000; ++k) {
    const FourBar f{length(random), length(random), length(random), length(random), k % 2 == 0};
    const double a = angle(random);
    const Solved r = rocker_deg(f, a);
    if (!r.reached) continue;
    ++tried;
    const double k1 = f.ground_mm / f.crank_mm, k2 = f.ground_mm / f.rocker_mm;
    const double k3 =
        (f.crank_mm * f.crank_mm - f.coupler_mm * f.coupler_mm + f.rocker_mm * f.rocker_mm + f.ground_mm * f.ground_mm) /
        (2 * f.crank_mm * f.rocker_mm);
    ASSERT_NEAR(k1 * std::cos(r.value * kDeg) - k2 * std::cos(a * kDeg) + k3, std::cos((a - r.value) * kDeg), 1e-10);
  }
  EXPECT_GT(tried, 3000);
}

TEST(FourBar, InverseOfForwardIsTheCrank) {
  std::mt19937 random(4);
  std::uniform_real_distribution<double> length(10, 100), angle(-180, 180);
  int tried = 0;
  for (int k = 0; k < 40000; ++k) {
    const FourBar f{length(random), length(random), length(random), length(random), k % 2 == 0};
    const double a = angle(random);
    const Travel travel{a - 10, a + 13};
    if (!check(f, travel).empty()) continue;
    ++tried;
    const Solved back = servo_deg(f, rocker_deg(f, a).value, travel);
    ASSERT_TRUE(back.reached);
    ASSERT_NEAR(back.value, a, 1e-6);
  }
  EXPECT_GT(tried, 1000);
}

TEST(FourBar, RateIsThatOfSmallDifferences) {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> length(10, 100), angle(-180, 180);
  for (int k = 0; k < 10000; ++k) {
    const FourBar f{length(random), length(random), length(random), length(random), k % 2 == 0};
    const double a = angle(random), h = 1e-5;
    if (!rocker_deg(f, a - 1).reached || !rocker_deg(f, a + 1).reached || transmission_deg(f, a) < 15) continue;
    ASSERT_NEAR(rate(f, a), wrapped(rocker_deg(f, a + h).value - rocker_deg(f, a - h).value) / (2 * h), 1e-5);
  }
}

TEST(FourBar, SaysWhereItCanNotClose) {
  // 40/30/30/60 closes while the diagonal is at most 60: cos t >= 40^2 / (2 40 60), t <= 70.5 deg.
  EXPECT_THAT(linkage_words(check(FourBar{40, 30, 30, 60}, {20, 90})), testing::ElementsAre("the coupler can't reach beyond 70.5 deg"));
  EXPECT_THAT(linkage_words(check(FourBar{40, 30, 30, 60}, {-90, -20})), testing::ElementsAre("the coupler can't reach below -70.5 deg"));
  EXPECT_THAT(linkage_words(check(FourBar{40, 30, 30, 60}, {60, 300})),
              testing::ElementsAre("the linkage can't close between 70.5 and 289.5 deg"));
  EXPECT_THAT(linkage_words(check(FourBar{10, 10, 10, 100}, {0, 20})),
              testing::ElementsAre("the linkage can't close anywhere between 0.0 and 20.0 deg"));
}

TEST(FourBar, SaysWhereTheLeverArmIsZero) {
  // 20/60/50/70: crank and coupler in line at acos((80^2 + 70^2 - 50^2) / (2 80 70)) = 38.2 deg.
  EXPECT_THAT(
      linkage_words(check(FourBar{20, 60, 50, 70}, {10, 60})),
      testing::ElementsAre("at 38.2 deg the linkage is singular: the lever arm is zero, and beyond it the motion turns back"));
  EXPECT_TRUE(check(FourBar{20, 60, 50, 70}, {45, 120}).empty());
}

TEST(FourBar, NamesTheChangePointOfAGrashofLinkageThatFoldsFlat) {
  EXPECT_THAT(linkage_words(check(FourBar{20, 50, 25, 55}, {100, 190})),
              testing::Contains(testing::StartsWith("at 180.0 deg all four bars lie in line (a change point)")));
  EXPECT_TRUE(check(FourBar{20, 50, 25, 55}, {60, 90}).empty());
}

TEST(FourBar, WarnsOfAWeakTransmissionAngle) {
  // At 0 the diagonal is 60: cos = (120^2 + 80^2 - 60^2) / (2 120 80), 26.4 deg.
  const auto findings = check(FourBar{40, 120, 80, 100}, {0, 20});
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].severity, Severity::warning);
  EXPECT_THAT(findings[0].what, testing::StartsWith("at 0.0 deg the transmission angle is only 26.4 deg"));
}

TEST(FourBar, AnswersForWhatItCanNotDo) {
  const FourBar f{40, 30, 30, 60};
  EXPECT_FALSE(rocker_deg(f, 120).reached);
  for (double bad : {kNan, kInf, 1e300}) {
    EXPECT_TRUE(std::isfinite(servo_deg(f, bad, {20, 60}).value)) << bad;
    EXPECT_GE(servo_deg(f, bad, {20, 60}).value, 20);
    EXPECT_LE(servo_deg(f, bad, {20, 60}).value, 60);
  }
  EXPECT_FALSE(rocker_deg(f, kNan).reached);
  EXPECT_FALSE(servo_deg(f, kNan, {20, 60}).reached);
  EXPECT_EQ(rate(f, 120), 0);
  EXPECT_EQ(rate(f, kNan), 0);
}

// ---- two servos, two motions

TEST(Differential, AddsAndSubtracts) {
  EXPECT_EQ(servos_deg(Differential{}, {10, 5}).left, 15);
  EXPECT_EQ(servos_deg(Differential{}, {10, 5}).right, 5);
  EXPECT_EQ(pose_deg(Differential{}, {8, 16}).pitch_deg, 12);
  EXPECT_EQ(pose_deg(Differential{}, {8, 16}).roll_deg, -4);
  const PitchRoll back = pose_deg(Differential{1.5, -0.7}, servos_deg(Differential{1.5, -0.7}, {3, 4}));
  EXPECT_NEAR(back.pitch_deg, 3, 1e-14);
  EXPECT_NEAR(back.roll_deg, 4, 1e-14);
}
