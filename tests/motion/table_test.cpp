#include "motion/table.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <math.h>  // boost 1.74's pchip names isnan without std
#include <boost/math/interpolators/pchip.hpp>

#include <cmath>
#include <random>

#include "support/numbers.hpp"

using namespace mien::motion;

namespace {

using mien::support::kInf;
using mien::support::kNan;

struct Rows { std::vector<double> x, y; };

// The data of Fritsch & Carlson 1980 (RPN 14), as in public test suites.
const Rows kRpn{{7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20},
                {0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994}};
// The data of Akima 1970, J. ACM 17(4).
const Rows kAkima{{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10}, {10, 10, 10, 10, 10, 10, 10.5, 15, 50, 60, 85}};

std::vector<std::string> table_words(const Rows& rows) {
  std::vector<std::string> all;
  for (const auto& f : check(rows.x, rows.y)) all.push_back(f.what);
  return all;
}

Rows rising(std::mt19937& random, int rows) {
  std::uniform_real_distribution<double> step(0.01, 10);
  Rows r;
  double x = -30, y = step(random);
  for (int k = 0; k < rows; ++k) r.x.push_back(x += step(random)), r.y.push_back(y += step(random) * step(random));
  return r;
}

}  // namespace

TEST(Table, HasTheSlopesAndValuesOfThePublishedData) {
  // Boost.Math 1.74 pchip.
  const Table rpn(kRpn.x, kRpn.y);
  for (const auto& [x, y] : {std::pair{8.0, 2.51581828631869e-06},
                             {8.1, 0.000954049467975585},
                             {8.4, 0.0966688056076651},
                             {9.0, 0.337534326846198},
                             {9.6, 0.760247639340382},
                             {11.0, 0.98604336253505},
                             {13.5, 0.999603364012177},
                             {18.0, 0.999971883848143}})
    EXPECT_NEAR(rpn.value(x), y, 1e-14) << x;
  const double slopes[] = {2.76429e-4,        5.52508681868e-4,   0.33587683460835,
                           0.349449167685967, 0.596958238926787,  0.0603218455229705,
                           9.00395382769e-4,  3.1424683630445e-5, 1.5e-5};
  EXPECT_THAT(rpn.slopes(), testing::Pointwise(testing::DoubleNear(1e-12), slopes));

  const Table akima(kAkima.x, kAkima.y);
  for (const auto& [x, y] : {std::pair{0.5, 10.0},
                             {3.5, 10.0},
                             {5.5, 10.1375},
                             {6.5, 11.865664556962},
                             {7.5, 31.5523909985935},
                             {8.5, 55.1587301587302},
                             {9.5, 71.1607142857143}})
    EXPECT_NEAR(akima.value(x), y, 1e-12) << x;

  const Table blink(std::vector{-.1, 0., .08, .2, .5, .7}, std::vector{0., 0., 1., 1., 0., 0.});
  for (const auto& [x, y] : {std::pair{.04, .5}, {.06, .84375}, {.14, 1.}, {.25, 25. / 27}, {.35, .5}, {.45, 2. / 27}})
    EXPECT_NEAR(blink.value(x), y, 1e-14) << x;
}

TEST(Table, NeverOvershootsOnTheData) {
  const Table rpn(kRpn.x, kRpn.y);
  double last = 0;
  for (int k = 0; k <= 20000; ++k) {
    const double y = rpn.value(7.99 + (20 - 7.99) * k / 20000);
    ASSERT_GE(y, last - 1e-16);
    last = y;
  }
  EXPECT_EQ(last, 0.999994);
}

TEST(Table, IsBoostsPchipOnRandomData) {
  std::mt19937 random(1);
  std::uniform_real_distribution<double> y(-50, 50), share(0, 1);
  std::uniform_int_distribution<int> size(4, 30);
  for (int run = 0; run < 500; ++run) {
    Rows rows = rising(random, size(random));
    if (run % 2 == 0)
      for (double& v : rows.y) v = y(random);
    const Table table(rows.x, rows.y);
    auto x_copy = rows.x, y_copy = rows.y;
    const boost::math::interpolators::pchip<std::vector<double>> peer{std::move(x_copy), std::move(y_copy)};
    for (int k = 0; k < 40; ++k) {
      const double x = std::lerp(rows.x.front(), rows.x.back(), share(random));
      ASSERT_NEAR(table.value(x), peer(x), 1e-10 * (1 + std::abs(peer(x)))) << run;
      ASSERT_NEAR(table.slope(x), peer.prime(x), 1e-9 * (1 + std::abs(peer.prime(x)))) << run;
    }
  }
}

TEST(Table, PassesThroughItsRowsAndInverts) {
  std::mt19937 random(2);
  std::uniform_real_distribution<double> share(0, 1);
  for (int run = 0; run < 1000; ++run) {
    Rows rows = rising(random, 2 + run % 12);
    if (run % 2 == 0)
      for (double& v : rows.y) v = -v;
    const Table table(rows.x, rows.y);
    ASSERT_TRUE(table_words(rows).empty());
    EXPECT_EQ(table.value(rows.x.front()), rows.y.front());
    EXPECT_EQ(table.value(rows.x.back()), rows.y.back());
    for (std::size_t k = 0; k < rows.x.size(); ++k) ASSERT_NEAR(table.inverse(rows.y[k]).value, rows.x[k], 1e-9);
    for (int k = 0; k < 30; ++k) {
      const double y = std::lerp(rows.y.front(), rows.y.back(), share(random));
      const Solved x = table.inverse(y);
      ASSERT_TRUE(x.reached);
      ASSERT_NEAR(table.value(x.value), y, 1e-10) << run;
    }
  }
}

TEST(Table, HoldsItsEndRowsOutside) {
  const Table table(std::vector{0., 10., 30.}, std::vector{5., 8., 20.});
  EXPECT_EQ(table.value(-1), 5);
  EXPECT_EQ(table.value(31), 20);
  EXPECT_EQ(table.value(kInf), 20);
  EXPECT_EQ(table.value(-kInf), 5);
  EXPECT_EQ(table.value(kNan), 5);
  EXPECT_EQ(table.slope(-1), 0);
  EXPECT_EQ(table.slope(kNan), 0);
  EXPECT_NEAR(table.slope(0), 0.3, 1e-15);
  EXPECT_EQ(table.inverse(4).value, 0);
  EXPECT_FALSE(table.inverse(4).reached);
  EXPECT_EQ(table.inverse(21).value, 30);
  EXPECT_FALSE(table.inverse(21).reached);
  EXPECT_EQ(table.inverse(kNan).value, 0);
  EXPECT_FALSE(table.inverse(kNan).reached);
  EXPECT_TRUE(table.inverse(20).reached);
  EXPECT_EQ(Table().value(3), 0);
  EXPECT_EQ(Table().inverse(3).value, 0);
}

TEST(Table, SaysWhichRowIsWrong) {
  EXPECT_THAT(table_words({{}, {}}), testing::ElementsAre("the table has 0 rows; at least 2 are needed"));
  EXPECT_THAT(table_words({{1}, {1}}), testing::ElementsAre("the table has 1 row; at least 2 are needed"));
  EXPECT_THAT(table_words({{1, 2}, {1}}), testing::ElementsAre("the table has 2 values of x and 1 of y"));
  EXPECT_THAT(table_words({{1, kNan}, {1, 2}}), testing::ElementsAre("row 2 holds something that is no number"));
  EXPECT_THAT(table_words({{1, 2, 2, 3}, {1, 2, 3, 4}}), testing::ElementsAre("x does not rise from row 2 (2) to row 3 (2)"));
  EXPECT_THAT(table_words({{1, 2, 3, 4}, {1, 5, 4, 6}}), testing::ElementsAre("y turns back from row 2 (5) to row 3 (4)"));
  EXPECT_THAT(table_words({{1, 2, 3}, {6, 6, 4}}),
              testing::ElementsAre("y stands still from row 1 to row 2 (6), so no x can be found for it"));
  EXPECT_THAT(table_words(kRpn), testing::IsEmpty());
}

TEST(Table, GoesOnStraightBeyondItsRowsWhereAsked) {
  const Table table(std::vector{0., 2., 5.}, std::vector{1., 3., 4.});
  for (double x = 0; x <= 5; x += 0.125) EXPECT_EQ(table.beyond(x), table.value(x));
  EXPECT_DOUBLE_EQ(table.beyond(-3), 1 - 3 * table.slope(0));
  EXPECT_DOUBLE_EQ(table.beyond(8), 4 + 3 * table.slope(5));
  EXPECT_EQ(Table().beyond(7), 0);
}

// Known slopes give the cubic Hermite's error, h^4 / 384 of the fourth derivative; those that would make the curve turn are drawn in.
TEST(Table, TakesKnownSlopesAndNeverTurns) {
  std::vector<double> x, y, slope;
  for (int k = 0; k <= 32; ++k) x.push_back(k / 32.0), y.push_back(std::exp(x.back())), slope.push_back(y.back());
  const Table exact(x, y, slope);
  for (double at = 0; at <= 1; at += 0.001) EXPECT_NEAR(exact.value(at), std::exp(at), std::exp(1) / (384 * std::pow(32, 4)) + 1e-15);
  std::mt19937 random(9);
  for (int round = 0; round < 200; ++round) {
    const Rows rows = rising(random, 12);
    std::vector<double> wild;
    for (std::size_t k = 0; k < rows.x.size(); ++k) wild.push_back(round % 5 == 0 ? kInf : round % 5 == 1 ? kNan : std::uniform_real_distribution(-90.0, 90.0)(random));
    const Table table(rows.x, rows.y, wild);
    for (double at = rows.x.front(), last = rows.y.front(); at < rows.x.back(); at += 0.01) {
      const double now = table.value(at);
      ASSERT_GE(now, last - 1e-9);
      last = now;
    }
  }
}
