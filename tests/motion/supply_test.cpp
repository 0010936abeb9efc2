#include "motion/supply.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <deque>
#include <limits>
#include <random>

using namespace mien::motion;

namespace {

std::vector<std::string> supply_words(const mien::show::Findings& findings) {
  std::vector<std::string> all;
  for (const auto& f : findings) all.push_back(f.what);
  return all;
}

}  // namespace

TEST(Wire, HasTheDiameterAreaAndResistanceOfTheGaugeTable) {
  // Diameter mm, area mm2, ohm per km of solid copper at 20 C: ASTM B258's formula with IEC 60028's copper.
  struct Case { int awg; double diameter, area, ohm_km; };
  for (const Case& c : {Case{10, 2.5882, 5.26115, 3.277},
                        {12, 2.0525, 3.30877, 5.211},
                        {14, 1.6277, 2.08091, 8.285},
                        {16, 1.2908, 1.30870, 13.174},
                        {18, 1.0237, .82305, 20.948},
                        {20, .8118, .51762, 33.308},
                        {22, .6438, .32553, 52.962},
                        {24, .5106, .20473, 84.213},
                        {26, .4049, .12876, 133.904},
                        {28, .3211, .08098, 212.916},
                        {30, .2546, .05093, 338.550},
                        {36, .1270, .01267, 1361.022}}) {
    EXPECT_NEAR(awg_diameter_mm(c.awg), c.diameter, 5.1e-5) << c.awg;
    EXPECT_NEAR(awg_area_mm2(c.awg), c.area, 5.1e-6) << c.awg;
    // The table was made with 1/58 rounded to 0.017241.
    EXPECT_NEAR(1000 * ohm_per_m(awg_area_mm2(c.awg), 20) * (58 * 0.017241), c.ohm_km, 5.1e-4) << c.awg;
  }
  EXPECT_NEAR(ohm_per_m(awg_area_mm2(22), 50) * (58 * 0.017241), .05920647, 5e-8);
}

TEST(Wire, LosesVoltageThereAndBack) {
  struct Case { int awg; double length, current, drop; };
  for (const Case& c : {Case{22, 1.5, 2.5, .3972}, {18, 2, 10, .8379}, {28, .5, 1, .2129}, {26, .3, .8, .0643}})
    EXPECT_NEAR(drop_v({awg_area_mm2(c.awg), c.length}, c.current), c.drop, 5.1e-5) << c.awg;
}

TEST(HoldUp, IsTheCapacitorsArithmetic) {
  EXPECT_NEAR(hold_up_farad(5, 0.002, 0.5), 0.020, 1e-12);
  EXPECT_NEAR(hold_up_s(4700e-6, 3, 0.8), 1.2533e-3, 5e-8);
  EXPECT_NEAR(hold_up_farad(10, 0.005, 6, 5), 9.0909e-3, 5e-8);
}

TEST(SlidingRms, IsThatOfTheLastWindow) {
  std::mt19937 random(1);
  std::uniform_real_distribution<double> amperes(0, 20);
  SlidingRms rms(100);
  std::deque<double> window;
  for (int k = 0; k < 5000; ++k) {
    const double a = k > 3000 && k < 3300 ? 0 : amperes(random);
    window.push_back(a);
    if (window.size() > 100) window.pop_front();
    double sum = 0;
    for (double w : window) sum += w * w;
    ASSERT_NEAR(rms.add(a), std::sqrt(sum / static_cast<double>(window.size())), 1e-5) << k;
  }
}

TEST(SlidingRms, OfAConstantIsTheConstantAndOfNothingIsZero) {
  SlidingRms rms(100);
  for (int k = 0; k < 300; ++k) EXPECT_NEAR(rms.add(3), 3, 1e-12);
  double last = 1;
  for (int k = 0; k < 300; ++k) last = rms.add(k == 150 ? std::numeric_limits<double>::quiet_NaN() : 0);
  EXPECT_EQ(last, 0);
  SlidingRms huge(1 << 30), none(-5);
  EXPECT_EQ(huge.add(2), 2);
  EXPECT_EQ(none.add(2), 2);
  EXPECT_EQ(none.add(0), 0);
}

TEST(Feed, WarnsWhereTheWorstCaseIsAboveEightyPerCent) {
  // 12 micro servos of 0.8 A and 4 of 2.5 A: 19.6 A, while 80 % of 20 A are 16 A.
  const Load load{16, 12 * .8 + 4 * 2.5, 9, 5};
  EXPECT_THAT(supply_words(check({6, 20, 0, 0, {}}, load)),
              testing::ElementsAre("the worst case, all 16 stalled, of 19.6 A is above 16 A, 80 % of the supply's 20 A"));
  EXPECT_TRUE(check({6, 25, 0, 0, {}}, load).empty());
  EXPECT_THAT(supply_words(check({6, 25, 6, 5, {}}, load)),
              testing::ElementsAre("the RMS over one second of 5 A is above 4.8 A, 80 % of the connector's 6 A",
                                   "the RMS over one second of 5 A is above 4 A, 80 % of the fuse's 5 A"));
  EXPECT_THAT(supply_words(check({6, 8, 0, 0, {}}, load)), testing::Contains("the expected peak of 9 A is more than the supply's 8 A"));
}

TEST(Feed, WithoutARatingIsAFinding) {
  for (double rating : {0.0, -1.0, std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity()})
    EXPECT_THAT(supply_words(check({6, rating, 0, 0, {}}, {1, 1, 1, 1})), testing::ElementsAre("the rail has no rating"));
  // What is known is judged: connector, fuse and wire.
  EXPECT_THAT(supply_words(check({6, 0, 6, 5, {awg_area_mm2(22), 0.1}}, {16, 19.6, 9, 5})),
              testing::ElementsAre("the rail has no rating", "the RMS over one second of 5 A is above 4.8 A, 80 % of the connector's 6 A", "the RMS over one second of 5 A is above 4 A, 80 % of the fuse's 5 A",
                                   "the fuse of 5 A doesn't protect the wire of 0.33 mm2, good for 1.63 A"));
}

TEST(Feed, NamesWiresThatAreTooThin) {
  // AWG 22, 1.5 m, 2.5 A: 0.3972 V, 6.62 % of 6 V.
  const Load load{3, 2.5, 2.5, 1};
  EXPECT_THAT(supply_words(check({6, 10, 0, 0, {awg_area_mm2(22), 1.5}}, load)),
              testing::ElementsAre("the wire loses 0.4 V at the expected peak, 6.62 % of 6 V"));
  EXPECT_THAT(supply_words(check({6, 10, 0, 5, {awg_area_mm2(22), 0.1}}, load)),
              testing::ElementsAre("the fuse of 5 A doesn't protect the wire of 0.33 mm2, good for 1.63 A"));
}

TEST(Advice, NamesSupplyFuseAndWireThatWouldDo) {
  const Load load{16, 19.6, 9, 5};
  const Advice a = advise(6, 1, load);
  EXPECT_EQ(a.supply_a, 25);
  EXPECT_EQ(a.fuse_a, 10);
  EXPECT_EQ(a.awg, 14);  // 16 loses 0.237 V and stands 6.5 A only
  EXPECT_LE(a.drop_v, 0.3);
  EXPECT_EQ(to_text(a), "a supply of 25 A would do, with a fuse of 10 A and AWG 14 wire (2.08 mm2, 0.15 V lost)");
}

TEST(Advice, LeavesTheFuseWholeWhenOneServoSticks) {
  EXPECT_EQ(advise(6, 1, {11, 10, 0.9, 0.6}).fuse_a, 1);
  EXPECT_EQ(advise(6, 1, {11, 10, 0.9, 0.6, 2.2}).fuse_a, 4);  // 3.1 A, and 3 is the next smaller one sold
}

TEST(Advice, IsGoodForTheFeedItDescribes) {
  std::mt19937 random(2);
  std::uniform_real_distribution<double> share(0, 1);
  for (int k = 0; k < 2000; ++k) {
    const double stall = 0.5 + 40 * share(random), peak = stall * share(random), rms = peak * share(random),
                 length = 0.05 + 3 * share(random);
    const Load load{10, stall, peak, rms};
    const Advice a = advise(6, length, load);
    if (a.supply_a == 0 || a.fuse_a == 0 || a.awg == 0) continue;
    EXPECT_TRUE(check({6, a.supply_a, 0, a.fuse_a, {a.area_mm2, length}}, load).empty())
        << supply_words(check({6, a.supply_a, 0, a.fuse_a, {a.area_mm2, length}}, load))[0];
  }
}

TEST(Advice, SaysToSplitWhatNothingUsualCarries) {
  EXPECT_EQ(to_text(advise(6, 1, {90, 90, 60, 50})),
            "no usual supply would do: split the rail, no usual fuse would do: split the rail");
  EXPECT_EQ(
      to_text(advise(6, 200, {2, 2, 2, 1})),
      "a supply of 3 A would do, with a fuse of 2 A; no usual wire would do at this length: shorten it or split the rail");
}
