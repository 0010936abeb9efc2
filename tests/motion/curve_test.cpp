#include "motion/curve.hpp"

#include <gtest/gtest.h>
#include <math.h>  // before pchip.hpp, which in Boost 1.74 calls isnan without a namespace

#include <boost/math/interpolators/pchip.hpp>
#include <array>
#include <memory>
#include <random>

namespace mien::motion {
namespace {

using show::Channel;
using show::Easing;
using show::Time;
using std::chrono::milliseconds;

Channel smooth_through(const std::vector<double>& x_s, const std::vector<double>& y) {
  Channel c;
  for (std::size_t i = 0; i < x_s.size(); ++i) c.keys.push_back({show::from_seconds(x_s[i]), y[i], show::kSmooth});
  return c;
}

Channel random_channel(std::mt19937& random, int keys) {
  std::uniform_int_distribution<int> gap_ns(1, 300'000'000), kind(0, 3);
  std::uniform_real_distribution<double> value(-1, 1);
  std::uniform_real_distribution<float> x(0, 1), y(-0.5f, 1.5f);
  Channel c;
  Time t{gap_ns(random)};
  for (int k = 0; k < keys; ++k, t += Time{gap_ns(random)}) {
    Easing e{static_cast<Easing::Kind>(kind(random))};
    if (e.kind == Easing::Kind::bezier) e = {e.kind, x(random), y(random), x(random), y(random)};
    c.keys.push_back({t, value(random), e});
  }
  return c;
}

// Fritsch & Carlson 1980's data "RPN 15A"; values by Boost.Math 1.74 pchip, whose end tangents are one-sided secants, as ours are.
TEST(SmoothCurve, GoesThroughTheFritschCarlsonData) {
  const auto c = smooth_through({7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20},
                                {0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994});
  const double rows[][2] = {{8.0, 2.51581828631869e-06}, {8.1, 0.000954049467975585}, {8.4, 0.0966688056076651}, {9.0, 0.337534326846198},
                            {9.6, 0.760247639340382},    {11, 0.98604336253505},      {13.5, 0.999603364012177}, {18, 0.999971883848143}};
  for (const auto& r : rows) EXPECT_NEAR(evaluate(c, show::from_seconds(r[0])), r[1], 1e-12) << r[0];
}

// Akima's data, JACM 17(4) 1970; values by Boost.Math 1.74 pchip.
TEST(SmoothCurve, GoesThroughTheAkimaDataWithoutOvershoot) {
  const auto c = smooth_through({0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10}, {10, 10, 10, 10, 10, 10, 10.5, 15, 50, 60, 85});
  const double rows[][2] = {{.5, 10}, {3.5, 10}, {5.5, 10.1375}, {6.5, 11.865664556962}, {7.5, 31.5523909985935}, {8.5, 55.1587301587302}, {9.5, 71.1607142857143}};
  for (const auto& r : rows) EXPECT_NEAR(evaluate(c, show::from_seconds(r[0])), r[1], 1e-11) << r[0];
}

TEST(SmoothCurve, EqualsBoostPchipOnRandomData) {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> gap(0.01, 2), value(-10, 10);
  for (int n = 0; n < 200; ++n) {
    std::vector<double> x{1}, y{value(random)};
    for (int i = 0; i < 12; ++i) x.push_back(show::to_seconds(show::from_seconds(x.back() + gap(random)))), y.push_back(value(random));
    const auto c = smooth_through(x, y);
    const boost::math::interpolators::pchip<std::vector<double>> peer{std::vector<double>{x}, std::vector<double>{y}};
    for (double t = x.front(); t < x.back(); t += 0.037) {
      const Time at = show::from_seconds(t);
      ASSERT_NEAR(evaluate(c, at), peer(show::to_seconds(at)), 1e-7) << t;
      ASSERT_NEAR(slope_per_s(c, at), peer.prime(show::to_seconds(at)), 1e-4 * (1 + std::abs(peer.prime(show::to_seconds(at))))) << t;
    }
  }
}

TEST(Curve, StandsStillOutsideItsKeysAndMeetsThemExactly) {
  const Channel c{"c", {{milliseconds(100), 1.5, show::kEase}, {milliseconds(300), -2, show::kHold}, {milliseconds(400), 7, show::kLinear}}};
  EXPECT_EQ(evaluate(c, Time{-5}), 1.5);
  EXPECT_EQ(evaluate(c, milliseconds(100)), 1.5);
  EXPECT_EQ(evaluate(c, milliseconds(300)), -2);
  EXPECT_EQ(evaluate(c, milliseconds(399)), -2);
  EXPECT_EQ(evaluate(c, milliseconds(400)), 7);
  EXPECT_EQ(evaluate(c, milliseconds(900)), 7);
  EXPECT_EQ(evaluate(Channel{}, milliseconds(1), 0.25), 0.25);
}

TEST(SmoothCurve, LeavesAndEntersAHoldWithoutAJerk) {
  const Channel c{"c", {{milliseconds(0), 0, show::kHold}, {milliseconds(100), 0, show::kSmooth}, {milliseconds(200), 1, show::kHold}, {milliseconds(300), 1, show::kHold}}};
  EXPECT_EQ(slope_per_s(c, milliseconds(100)), 0);
  EXPECT_NEAR(evaluate(c, milliseconds(125)), 0.15625, 1e-12);  // smoothstep: 3 u^2 - 2 u^3 at u = 1/4
  EXPECT_NEAR(evaluate(c, milliseconds(150)), 0.5, 1e-12);
}

TEST(Curve, SlopeIsTheDerivative) {
  std::mt19937 random(21);
  const Channel c = random_channel(random, 200);
  for (Time t = c.keys.front().time; t < c.keys.back().time; t += Time{1'234'567}) {
    const double h = 1e-7, before = evaluate(c, t), after = evaluate(c, t + show::from_seconds(h));
    const double slope = slope_per_s(c, t);
    // A difference across a key, or where the curve stands upright, says nothing of the slope.
    if (!std::isfinite(slope) || std::abs(slope_per_s(c, t + show::from_seconds(h)) - slope) > 0.01 * (1 + std::abs(slope))) continue;
    ASSERT_NEAR((after - before) / h, slope, 0.02 * (1 + std::abs(slope))) << show::to_seconds(t);
  }
}

TEST(Cursor, IsWithinAMillionthOfTheExactCurveAtAnyTimeInAnyOrder) {
  std::mt19937 random(9);
  for (int n = 0; n < 40; ++n) {
    const Channel c = random_channel(random, 1 + n);
    Shapes shapes;
    if (n % 2) shapes.add(c);  // without shapes every Bezier is solved
    Cursor cursor(&c, &shapes, 0);
    const Time end = c.keys.back().time + milliseconds(50);
    for (Time t{0}; t < end; t += milliseconds(7)) ASSERT_NEAR(cursor.at(t), evaluate(c, t), 2e-6);
    std::uniform_int_distribution<std::int64_t> anywhere(-1'000'000, end.count());
    for (int i = 0; i < 500; ++i) {
      const Time t{anywhere(random)};
      ASSERT_NEAR(cursor.at(t), evaluate(c, t), 2e-6) << t.count();
    }
  }
}

TEST(Cursor, HitsEveryKeyAndStandsOnEmptyChannels) {
  std::mt19937 random(3);
  const Channel c = random_channel(random, 100), none;
  Cursor cursor(&c, nullptr, 0), copy = cursor, empty(&none, nullptr, 4.5), absent(nullptr, nullptr, -1);
  for (const auto& key : c.keys) EXPECT_EQ(cursor.at(key.time), key.value);
  for (auto key = c.keys.rbegin(); key != c.keys.rend(); ++key) EXPECT_EQ(copy.at(key->time), key->value);
  EXPECT_EQ(empty.at(milliseconds(3)), 4.5);
  EXPECT_EQ(absent.at(Time{-1}), -1);
}

TEST(Cursors, GiveWhatEachCursorGivesToTheLastBitAtAnyTimeInAnyOrder) {
  std::mt19937 random(4);
  std::vector<Channel> channels;
  for (int n = 0; n < 37; ++n) channels.push_back(n == 5 ? Channel{} : random_channel(random, 1 + 3 * n));
  Shapes shapes;
  for (std::size_t n = 0; n < channels.size(); n += 2) shapes.add(channels[n]);  // without shapes every Bezier is solved
  const auto together = std::make_unique<Cursors>();
  std::vector<Cursor> alone;
  for (std::size_t n = 0; n < channels.size(); ++n) {
    alone.emplace_back(n == 9 ? nullptr : &channels[n], &shapes, 0.25);
    together->put(static_cast<int>(n), alone.back());
  }
  std::array<double, 37> values;
  const auto expect_same = [&](Cursors& cursors, Time t) {
    cursors.at(t, 37, values.data());
    for (std::size_t n = 0; n < 37; ++n) ASSERT_EQ(values[n], alone[n].at(t)) << n << " at " << t.count();
  };
  const Time end = channels.back().keys.back().time + milliseconds(50);
  for (Time t{-50'000'000}; t < end; t += milliseconds(10)) expect_same(*together, t);
  std::uniform_int_distribution<std::int64_t> anywhere(-1'000'000, end.count());
  for (int i = 0; i < 2000; ++i) expect_same(*together, Time{anywhere(random)});
  for (const auto& key : channels.back().keys) expect_same(*together, key.time);

  const auto copy = std::make_unique<Cursors>(*together);
  expect_same(*copy, milliseconds(1234));
  *copy = *together;
  expect_same(*copy, milliseconds(777));
  expect_same(*together, milliseconds(777));
  copy->put(3, Cursor(nullptr, nullptr, 8));
  copy->at(milliseconds(777), 37, values.data());
  EXPECT_EQ(values[3], 8);
}

}  // namespace
}  // namespace mien::motion
