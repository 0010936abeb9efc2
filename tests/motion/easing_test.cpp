#include "motion/easing.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace mien::motion {
namespace {

using show::Easing;

struct Value { double x, y; };

// W3C CSS Easing Functions Level 1, section 2.2: the named curves. y(x) by bisection in 50-digit arithmetic; the npm package
// bezier-easing 3.2.0 gives the same to 1e-15.
TEST(BezierEase, GivesTheNamedCssCurves) {
  const struct { double x, ease, in, out, in_out; } rows[] = {
      {.05, 0.032951541305900, 0.004474615295892, 0.082242204042017, 0.004829749667859},
      {.10, 0.094796305716043, 0.017026609651563, 0.160572154237533, 0.019722453548311},
      {.25, 0.408510591355396, 0.093464650718825, 0.378138130825110, 0.129161931047320},
      {.50, 0.802403387584857, 0.315356812572539, 0.684643187427461, 0.5},
      {.70, 0.940764614297640, 0.554814032528663, 0.870423239154647, 0.812604093294687},
      {.75, 0.960458978348974, 0.621861869174890, 0.906535349281175, 0.870838068952680},
      {.90, 0.994316477484556, 0.839427845762467, 0.982973390348437, 0.980277546451689},
      {.95, 0.998624541450363, 0.917757795957983, 0.995525384704108, 0.995170250332141}};
  for (const auto& r : rows) {
    EXPECT_NEAR(bezier_ease(.25, .1, .25, 1, r.x), r.ease, 1e-14);
    EXPECT_NEAR(bezier_ease(.42, 0, 1, 1, r.x), r.in, 1e-14);
    EXPECT_NEAR(bezier_ease(0, 0, .58, 1, r.x), r.out, 1e-14);
    EXPECT_NEAR(bezier_ease(.42, 0, .58, 1, r.x), r.in_out, 1e-14);
  }
}

// The chromium project's published expectations for its cubic Bezier, ui/gfx/geometry/cubic_bezier_unittest.cc, tolerance 1.5e-4.
TEST(BezierEase, GivesThePublishedValuesOfABrowser) {
  const Value basic[] = {{.05, .01136}, {.1, .03978}, {.15, .07978}, {.2, .12803}, {.25, .18235}, {.3, .24115}, {.35, .30323}, {.4, .36761},
                         {.45, .43345}, {.5, .5}, {.6, .63238}, {.7, .75884}, {.8, .87196}, {.9, .96021}, {.95, .98863}};
  for (const auto& v : basic) EXPECT_NEAR(bezier_ease(.25, 0, .75, 1, v.x), v.y, 1.5e-4) << v.x;
  const Value overshoot[] = {{.05, -.08954}, {.1, -.15613}, {.15, -.19641}, {.2, -.20651}, {.25, -.18232}, {.3, -.11992}, {.35, -.01672},
                             {.4, .12660}, {.45, .30349}, {.55, .69651}, {.8, 1.20651}};
  for (const auto& v : overshoot) EXPECT_NEAR(bezier_ease(.5, -1, .5, 2, v.x), v.y, 1.5e-4) << v.x;
  const Value slopes[] = {{0, 0}, {.05, .42170}, {.1, .69778}, {.25, 1.13576}, {.5, 1.33333}, {1, 0}};
  for (const auto& v : slopes) EXPECT_NEAR(bezier_slope(.25, 0, .75, 1, v.x), v.y, 1.5e-4) << v.x;
}

// Outside [0, 1]: chromium's expectations, which are also the web platform tests' (csswg-drafts issue 4046).
TEST(BezierEase, GoesOnAlongItsEndTangents) {
  const struct { double x1, y1, x2, y2, before, after; } rows[] = {
      {.5, 1, .5, 1, -2, 1}, {0, 0, 1, 1, -1, 2}, {0, 1, 1, 0, 0, 1}, {.5, 0, 1, .5, 0, 1}, {.1, .2, .8, .8, -2, 2},
      {0, 0, .5, 1, -2, 1},  {1, .5, 1, 1, -.5, 1}, {0, 0, 0, 0, -1, 2}, {1, 1, 1, 1, -1, 2}};
  for (const auto& r : rows) {
    EXPECT_NEAR(bezier_ease(r.x1, r.y1, r.x2, r.y2, -1), r.before, 1e-12) << r.x1 << ' ' << r.y1;
    EXPECT_NEAR(bezier_ease(r.x1, r.y1, r.x2, r.y2, 2), r.after, 1e-12) << r.x1 << ' ' << r.y1;
  }
}

// Chained as in the web platform tests for nested effects (outer effect, then key), numbers by 50-digit arithmetic.
TEST(BezierEase, ChainsAsTheWebPlatformTestsDo) {
  const Value rows[] = {{.23, 0.988706655}, {.24, 1.019006798}, {.7, 1.598036444}, {.99, 1.165891931}, {1, 1}};
  for (const auto& v : rows) EXPECT_NEAR(bezier_ease(.5, 1, .5, 0, bezier_ease(0, 1.5, 1, 1.5, v.x)), v.y, 2e-9) << v.x;
}

TEST(BezierEase, BearsVerticalTangents) {
  EXPECT_NEAR(bezier_ease(1, 0, 0, 1, .25), 0.029724605512, 1e-12);
  EXPECT_NEAR(bezier_ease(1, 0, 0, 1, .75), 0.970275394488, 1e-12);
  EXPECT_NEAR(bezier_ease(0, 1.5, 1, 1.5, .7), 1.299018222136, 1e-12);
  EXPECT_TRUE(std::isinf(bezier_slope(1, 0, 0, 1, .5)));
  EXPECT_TRUE(std::isnan(bezier_ease(.25, .1, .25, 1, std::nan(""))));
}

TEST(Shape, StaysWithinItsErrorOfTheExactCurve) {
  std::mt19937 random(11);
  std::uniform_real_distribution<float> x(0.02f, 0.98f), y(-1, 2);
  int fitted = 0;
  for (int n = 0; n < 300; ++n) {
    const Easing e = n == 0 ? show::kEase : n == 1 ? show::kEaseIn : n == 2 ? show::kEaseOut : n == 3 ? show::kEaseInOut
                                                                  : Easing{Easing::Kind::bezier, x(random), y(random), x(random), y(random)};
    const auto shape = Shape::fit(e);
    EXPECT_TRUE(shape.has_value() || n >= 4) << "named curve " << n;
    if (!shape) continue;
    ++fitted;
    for (int i = 0; i <= 4000; ++i) {
      const double at = i / 4000.0;
      const int piece = std::min(static_cast<int>(at * shape->pieces()), shape->pieces() - 1);
      const double u = at * shape->pieces() - piece, *c = shape->table() + Shape::kTerms * piece;
      double value = 0;
      for (int k = Shape::kTerms - 1; k >= 0; --k) value = c[k] + u * value;
      ASSERT_NEAR(value, bezier_ease(e, at), 1e-6) << e.x1 << ' ' << e.y1 << ' ' << e.x2 << ' ' << e.y2 << " at " << at;
    }
  }
  EXPECT_GE(fitted, 285);
}

TEST(Shapes, AreSharedAndBounded) {
  show::Channel channel;
  for (int k = 0; k < 3000; ++k) channel.keys.push_back({show::Time{k}, 0.0, {Easing::Kind::bezier, 0.4f, 0.001f * static_cast<float>(k % 1500), 0.6f, 1}});
  Shapes shapes;
  shapes.add(channel);
  EXPECT_EQ(shapes.size(), Shapes::kMost);
  EXPECT_NE(shapes.find(channel.keys[3].easing), nullptr);
  EXPECT_EQ(shapes.find(channel.keys[3].easing), shapes.find(channel.keys[1503].easing));
  EXPECT_EQ(shapes.find(show::kEase), nullptr);
}

}  // namespace
}  // namespace mien::motion
