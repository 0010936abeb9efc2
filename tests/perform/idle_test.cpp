// Idle life held against what has been measured of people; the sources stand beside each check.
#include "perform/idle.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <array>
#include <numeric>
#include <random>

#include "heads.hpp"
#include "perform/rig_map.hpp"

namespace mien::perform {
namespace {

using show::IdleLife;
using show::Time;
using Manner = IdleLife::Manner;

std::shared_ptr<show::Rig> living_rig() {
  auto rig = testing::small_rig();
  rig->controls = {{"blink", "eyes", "1", 0, 1, 0}, {"yaw", "eyes", "deg", -40, 40, 0}, {"pitch", "eyes", "deg", -30, 30, 0}, {"brow", "mouth", "1", 0, 1, 0},
                   {"turn", "mouth", "deg", -40, 40, 0}, {"nod", "mouth", "deg", -20, 20, 0}, {"tilt", "mouth", "deg", -20, 20, 0}};
  const char* const roles[][2] = {{"lid_upper", "blink"}, {"eye_yaw_left", "yaw"}, {"eye_pitch", "pitch"}, {"brow_raise_left", "brow"}, {"neck_yaw", "turn"}, {"neck_pitch", "nod"}, {"neck_roll", "tilt"}};
  rig->mappings.clear();
  const show::Actuator usual = rig->actuators[1];
  rig->actuators.assign(7, usual);
  for (std::size_t n = 0; n < 7; ++n) {
    rig->actuators[n].name = roles[n][0], rig->actuators[n].output = static_cast<int>(n);
    rig->mappings.push_back({{{roles[n][0], 0, {{roles[n][1], n == 0 ? -40.0 : n == 3 ? 10.0 : 1.0}}}}, show::Straight{}, {roles[n][0]}});
  }
  return rig;
}

Idle idle(Manner manner, std::uint32_t seed = 1) { return idle_of(*living_rig(), {seed, manner}); }

std::vector<Beat> blinks(Manner manner, std::uint32_t seed, double for_s) {
  const IdleLife life{seed, manner};
  std::vector<Beat> all;
  for (Beat beat = blink_at(life, {}, Time{0}); beat.begin < show::from_seconds(for_s); beat = blink_at(life, beat, beat.end)) all.push_back(beat);
  return all;
}

std::vector<Glance> glances(const Idle& life, double for_s) {
  std::vector<Glance> all;
  for (Glance g = glance_at(life, {}, Time{0}); g.begin < show::from_seconds(for_s); g = glance_at(life, g, g.end)) all.push_back(g);
  return all;
}

// The published outputs for seed 1234567 (Rosetta Code, "Pseudo-random numbers/Splitmix64"; from memory).
TEST(Randomness, IsSplitMix64) {
  const std::uint64_t published[] = {6457827717110365317u, 3203168211198807973u, 9817491932198370423u, 4593380528125082431u, 16408922859458223821u};
  for (std::uint64_t n = 0; n < 5; ++n) EXPECT_EQ(splitmix(1234567, n + 1), published[n]);
}

// Bentivoglio et al. 1997, 150 subjects: 17 a minute at rest, 26 in conversation, 4.5 reading.
TEST(Blinks, ComeAtThePublishedRates) {
  for (const auto& [manner, per_min] : {std::pair{Manner::resting, 17.0}, {Manner::speaking, 26.0}, {Manner::reading, 4.5}}) {
    double count = 0;
    for (std::uint32_t seed = 0; seed < 12; ++seed) count += static_cast<double>(blinks(manner, seed, 3600).size());
    EXPECT_NEAR(count / 12 / 60, per_min, 0.03 * per_min) << show::name(manner);
  }
}

// Doughty 2001: 95 % of people blink 1.4 to 14.4 times a minute reading, 8 to 21 gazing, 10.5 to 32.5 talking. Each life of ten minutes.
TEST(Blinks, StayInTheBandsOfAPerson) {
  const struct { Manner manner; double low, high; } bands[] = {{Manner::reading, 1.4, 14.4}, {Manner::resting, 8, 21}, {Manner::speaking, 10.5, 32.5}};
  for (const auto& band : bands)
    for (std::uint32_t seed = 0; seed < 50; ++seed) {
      const double rate = static_cast<double>(blinks(band.manner, seed, 600).size()) / 10;
      EXPECT_GT(rate, band.low) << seed;
      EXPECT_LT(rate, band.high) << seed;
    }
}

// Bentivoglio et al. 1997: log-normal intervals with a mean of 3.53 s at rest. The logarithms are symmetric, the intervals are not, and
// Kolmogorov's distance from the normal distribution of the same moments is small.
// A file may ask for any share from 0 on.
TEST(Blinks, AreFoundAtAnyTime_HoweverFewAreAskedFor) {
  for (const double share : {1e-300, 1e-9, 1e-7, 1e-3}) {
    const IdleLife life{.seed = 3, .blinks = share};
    for (const double t_s : {0.0, 1.0, 86'400.0, 1e7}) {
      const Time t = show::from_seconds(t_s);
      const Beat beat = blink_at(life, {}, t);
      EXPECT_LE(beat.begin, t) << share;
      EXPECT_GT(beat.end, t) << share;
    }
  }
}

TEST(Blinks, HaveLogNormalIntervals) {
  std::vector<double> logs, plain;
  for (std::uint32_t seed = 0; seed < 8; ++seed)
    for (const Beat& beat : blinks(Manner::resting, seed, 3600)) plain.push_back(show::to_seconds(beat.end - beat.begin)), logs.push_back(std::log(plain.back()));
  const auto moments = [](const std::vector<double>& x) {
    const double n = static_cast<double>(x.size()), mean = std::accumulate(x.begin(), x.end(), 0.0) / n;
    double square = 0, cube = 0;
    for (const double v : x) square += (v - mean) * (v - mean), cube += std::pow(v - mean, 3);
    const double deviation = std::sqrt(square / n);
    return std::array{mean, deviation, cube / n / std::pow(deviation, 3)};
  };
  const auto [mean, deviation, skew] = moments(logs);
  EXPECT_NEAR(moments(plain)[0], 60 / 17.0, 0.05);
  EXPECT_GT(moments(plain)[2], 1.0);
  EXPECT_NEAR(skew, 0, 0.15);
  std::sort(logs.begin(), logs.end());
  double distance = 0;
  for (std::size_t i = 0; i < logs.size(); ++i) {
    const double normal = 0.5 * std::erfc(-(logs[i] - mean) / deviation / std::sqrt(2.0));
    distance = std::max(distance, std::abs(normal - (static_cast<double>(i) + 0.5) / static_cast<double>(logs.size())));
  }
  EXPECT_LT(distance, 0.03);
}

// Stern et al. 1984: 100 to 400 ms long. Sforza et al. 2008: closing 40 to 47 % faster than opening, by peak velocity.
TEST(Blinks, HaveThePublishedShape) {
  const Idle life = idle(Manner::resting, 3);
  for (const Beat& beat : blinks(Manner::resting, 3, 600)) {
    double shut_s = 0, most = 0, down = 0, up = 0, before = 0;
    constexpr double kStep_s = 1e-4;
    for (double s = 0; s < 0.5; s += kStep_s) {
      const double now = blink_shut(life, beat, beat.begin + show::from_seconds(s));
      shut_s += now > 0 ? kStep_s : 0, most = std::max(most, now);
      down = std::max(down, now - before), up = std::max(up, before - now);
      before = now;
    }
    EXPECT_DOUBLE_EQ(most, 1);
    EXPECT_GT(shut_s, 0.1);
    EXPECT_LT(shut_s, 0.4001);
    EXPECT_GT(down / up, 1.40);
    EXPECT_LT(down / up, 1.47);
  }
}

// Rayner 1998, 2009: 200 to 350 ms in general viewing, 200 to 250 reading. Means; single ones vary more.
TEST(Fixations, LastAsLongAsPeoples) {
  for (const auto& [manner, low, high] : {std::tuple{Manner::resting, 0.2, 0.35}, {Manner::listening, 0.2, 0.35}, {Manner::speaking, 0.2, 0.35}, {Manner::reading, 0.2, 0.25}}) {
    double sum_s = 0;
    const auto all = glances(idle(manner), 1200);
    for (const Glance& g : all) sum_s += show::to_seconds(g.end - g.begin) - g.duration_s;
    EXPECT_GT(sum_s / static_cast<double>(all.size()), low) << show::name(manner);
    EXPECT_LT(sum_s / static_cast<double>(all.size()), high) << show::name(manner);
  }
}

// D = 2.2 ms per degree and 21 ms (Carpenter 1988).
TEST(Saccades, LieOnTheMainSequence) {
  for (const Glance& g : glances(idle(Manner::speaking), 600))
    EXPECT_NEAR(g.duration_s, 0.021 + 0.0022 * std::hypot(g.yaw - g.from_yaw, g.pitch - g.from_pitch), 1e-12);
}

// PMC6143243: peaks of 213 +-29, 352 +-50 and 455 +-67 deg/s at 5, 15 and 30 degrees horizontally, 208 +-36, 303 +-50 and 391 +-71 at 5, 10 and 20
// vertically. Within one standard deviation of each.
TEST(Saccades, ReachThePeaksThatWereMeasured) {
  const struct { double yaw, pitch, peak, deviation; } measured[] = {{5, 0, 213, 29}, {15, 0, 352, 50}, {30, 0, 455, 67}, {0, 5, 208, 36}, {0, 10, 303, 50}, {0, 20, 391, 71}};
  for (const auto& m : measured) {
    Glance g;
    g.yaw = m.yaw, g.pitch = m.pitch, g.duration_s = 0.021 + 0.0022 * std::hypot(m.yaw, m.pitch);
    double peak = 0;
    for (double s = 0; s < g.duration_s; s += 1e-4) {
      const auto a = direction_at(g, show::from_seconds(s)), b = direction_at(g, show::from_seconds(s + 1e-4));
      peak = std::max(peak, std::hypot(b.yaw_deg - a.yaw_deg, b.pitch_deg - a.pitch_deg) / 1e-4);
    }
    EXPECT_NEAR(peak, m.peak, m.deviation) << m.yaw << " " << m.pitch;
  }
}

TEST(Saccades, ArriveWhereTheyAimAndStayInReach) {
  const Idle life = idle(Manner::resting, 9);
  for (const Glance& g : glances(life, 300)) {
    const auto first = direction_at(g, g.begin), there = direction_at(g, g.begin + show::from_seconds(g.duration_s));
    EXPECT_NEAR(first.yaw_deg, g.from_yaw, 1e-9);
    EXPECT_NEAR(there.yaw_deg, g.yaw, 1e-6);
    EXPECT_NEAR(there.pitch_deg, g.pitch, 1e-6);
    EXPECT_LE(std::abs(g.yaw), 0.75 * 40);
    EXPECT_LE(std::abs(g.pitch), 0.75 * 30);
  }
}

// Argyle & Cook 1976, from memory and so only the order: who listens looks at the other more than who speaks.
TEST(Glances, StayWithTheOtherWhileListening) {
  const auto share_home = [](Manner manner) {
    double home = 0, all = 0;
    for (const Glance& g : glances(idle(manner), 3000)) {
      const double s = show::to_seconds(g.end - g.begin);
      all += s, home += g.focus_yaw == 0 && g.focus_pitch == 0 ? s : 0;
    }
    return home / all;
  };
  EXPECT_GT(share_home(Manner::listening), 0.65);
  EXPECT_GT(share_home(Manner::listening), share_home(Manner::speaking) + 0.15);
}

TEST(Idle, IsTheSameToTheLastBitWhereverOneComesFrom) {
  for (const Manner manner : {Manner::resting, Manner::listening, Manner::speaking, Manner::reading}) {
    const Idle life = idle(manner, 42);
    std::vector<std::array<double, 7>> played;
    IdleState state;
    for (int n = -200; n < 6000; ++n) live(life, state, std::chrono::milliseconds(10 * n), played.emplace_back().data());
    std::mt19937 random(1);
    IdleState sought;
    for (int k = 0; k < 3000; ++k) {
      const int n = static_cast<int>(random() % 6200);
      if (k % 3 == 0) sought = {};
      std::array<double, 7> found;
      live(life, sought, std::chrono::milliseconds(10 * (n - 200)), found.data());
      ASSERT_EQ(found, played[static_cast<std::size_t>(n)]) << n;
    }
  }
}

TEST(Idle, DiffersFromSeedToSeedAndMovesEverythingThatHasARole) {
  const Idle life = idle(Manner::listening, 1), other = idle(Manner::listening, 2);
  ASSERT_EQ(life.controls.size(), 7u);
  std::array<double, 7> low, high, a, b;
  low.fill(1e9), high.fill(-1e9);
  IdleState s, t;
  bool differs = false;
  for (int n = 0; n < 6000; ++n) {
    live(life, s, std::chrono::milliseconds(10 * n), a.data()), live(other, t, std::chrono::milliseconds(10 * n), b.data());
    differs = differs || a != b;
    for (std::size_t c = 0; c < 7; ++c) low[c] = std::min(low[c], a[c]), high[c] = std::max(high[c], a[c]);
  }
  EXPECT_TRUE(differs);
  for (std::size_t c = 0; c < 7; ++c) EXPECT_GT(high[c] - low[c], 0.05) << c;
  EXPECT_LT(high[4], 5) << "small moves of the head";
}

TEST(Idle, StandsStillWhereItsAmountsAreZero) {
  const Idle life = idle_of(*living_rig(), {1, Manner::speaking, 0, 0, 0, 0});
  IdleState state;
  for (int n = 0; n < 3000; ++n) {
    std::array<double, 7> value;
    live(life, state, std::chrono::milliseconds(10 * n), value.data());
    EXPECT_EQ(value, (std::array<double, 7>{}));
  }
}

TEST(Idle, WaitsForServosThatAreSlowerThanAFace) {
  auto rig = living_rig();
  for (auto& a : rig->actuators) a.velocity_deg_s = 120, a.acceleration_deg_s2 = 1500;
  const auto map = map_of(*rig);
  const Idle slow = idle_of(*rig, {1, Manner::resting}, &map);
  EXPECT_GT(slow.close_s, 0.2);
  EXPECT_LT(slow.gaze_deg_s, 120);
}

}  // namespace
}  // namespace mien::perform
