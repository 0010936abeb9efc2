#include "motion/simplify.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "motion/curve.hpp"

namespace mien::motion {
namespace {

using show::Time;
using std::chrono::milliseconds;

double worst(const std::vector<Sample>& samples, const std::vector<show::Keyframe>& keys) {
  const show::Channel channel{"x", keys};
  double most = 0;
  for (const auto& s : samples) most = std::max(most, std::abs(evaluate(channel, s.time) - s.value));
  return most;
}

template <class Curve>
std::vector<Sample> sampled(int count, Curve curve) {
  std::vector<Sample> samples;
  for (int n = 0; n < count; ++n) samples.push_back({milliseconds(10 * n), curve(0.01 * n)});
  return samples;
}

TEST(Simplify, GivesNoKeyForNothing_OneForAConstant_TwoForALine) {
  EXPECT_TRUE(simplified({}, 0.1).empty());
  EXPECT_EQ(simplified(sampled(100, [](double) { return 3.0; }), 0).size(), 1u);
  const auto line = simplified(sampled(100, [](double t) { return 2 * t; }), 1e-9);
  ASSERT_EQ(line.size(), 2u);
  EXPECT_EQ(line[0].easing, show::kLinear);
}

// A cubic is its own best fit. Its inner control points follow from its slopes at the ends (Bernstein form): y1 = y0 + m0/3, y2 = y3 - m1/3.
TEST(Simplify, FindsACubicAgain) {
  const auto cubic = [](double t) { return 1 + 2 * t - 5 * t * t + 4 * t * t * t; };  // over 1 s: 1 to 2, slopes 2 and 4
  const auto samples = sampled(101, cubic);
  const auto keys = simplified(samples, 1e-6);
  ASSERT_EQ(keys.size(), 2u);
  EXPECT_NEAR(keys[0].easing.y1, 2.0 / 3, 1e-6);
  EXPECT_NEAR(keys[0].easing.y2, 1 - 4.0 / 3, 1e-6);
  EXPECT_TRUE(is_cubic(keys[0].easing));
  EXPECT_LT(worst(samples, keys), 1e-6);
}

// Ramer 1972, Douglas & Peucker 1973 with the error in value: of these ten points (Rosetta Code's example of the task) eight are kept at 0.05.
// A fit of cubics through the same points must not need more.
TEST(Simplify, NeedsNoMoreKeysThanStraightLines) {
  const double values[] = {0, 0.1, -0.1, 5, 6, 7, 8.1, 9, 9, 9};
  std::vector<Sample> samples;
  for (int n = 0; n < 10; ++n) samples.push_back({std::chrono::seconds(n), values[n]});
  const auto keys = simplified(samples, 0.05);
  EXPECT_LE(keys.size(), 8u);
  EXPECT_LE(worst(samples, keys), 0.05 * (1 + 1e-6));
}

TEST(Simplify, KeepsTheBoundOnAnything) {
  std::mt19937_64 random(5);
  std::normal_distribution<double> step(0, 1);
  for (int round = 0; round < 60; ++round) {
    double x = 0, v = 0;
    const bool smooth = round % 3 != 0, jumps = round % 3 == 2;
    std::vector<Sample> samples;
    Time t{0};
    for (int n = 0; n < 400; ++n) {
      t += Time{1 + static_cast<std::int64_t>(random() % 20'000'000)};
      if (smooth) v = 0.9 * v + 0.1 * step(random), x += 0.1 * v;
      else x = step(random);
      if (jumps && random() % 40 == 0) x += 5 * step(random);
      samples.push_back({t, x});
    }
    for (const double error : {1e-4, 0.01, 0.3}) {
      const auto keys = simplified(samples, error);
      EXPECT_LE(worst(samples, keys), error * (1 + 1e-6)) << "round " << round << ", error " << error;
      EXPECT_EQ(keys.front().time, samples.front().time);
      for (std::size_t k = 1; k < keys.size(); ++k) EXPECT_LT(keys[k - 1].time, keys[k].time);
    }
  }
}

TEST(Simplify, MakesAFewKeysOfASmoothTake) {
  const auto samples = sampled(1001, [](double t) { return std::sin(2 * t) + 0.3 * std::sin(5 * t + 1); });  // ten seconds, eleven turns
  EXPECT_LE(simplified(samples, 0.005).size(), 36u);
  EXPECT_LE(simplified(samples, 0.05).size(), 22u);
}

// The tick reads the same curve: a cubic in time needs no solving and no shape.
TEST(Simplify, WritesCurvesThatTheCursorReadsAsTheyAre) {
  const auto samples = sampled(500, [](double t) { return std::exp(-t) * std::sin(9 * t); });
  const show::Channel channel{"x", simplified(samples, 0.002)};
  Shapes shapes;
  shapes.add(channel);
  EXPECT_EQ(shapes.size(), 0u);
  Cursor cursor(&channel, &shapes, 0);
  for (int n = 0; n < 5000; ++n) EXPECT_NEAR(cursor.at(milliseconds(n)), evaluate(channel, milliseconds(n)), 1e-6);
}

}  // namespace
}  // namespace mien::motion
