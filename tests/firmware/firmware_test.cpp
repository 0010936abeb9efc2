// The firmware's own image on an emulated chip: every figure is measured on the emulated pins.
#include "firmware/desk.hpp"

#include <random>

namespace mien::firmware {
namespace {

const std::vector<double> kSixteen = {1000, 1001, 1063, 1127, 1190, 1254, 1317, 1381, 1444, 1508, 1571, 1635, 1698, 1762, 1825, 1999};

TEST_F(Firmware, DrivesSixteenServosEachAtItsExactWidth) {
  Host host;
  host.bring_up(0);
  host.perform(0, kSixteen, 300);
  const Events events = host.perform(0, kSixteen, 100);
  for (int n = 0; n < 16; ++n) {
    const auto pulses = events.of(0, n);
    ASSERT_GE(pulses.size(), 4u) << "output " << n;
    for (const Pulse& p : pulses) EXPECT_DOUBLE_EQ(p.width_us, kSixteen[static_cast<std::size_t>(n)]) << "output " << n;
    for (std::size_t i = 1; i < pulses.size(); ++i) EXPECT_NEAR(pulses[i].rise_us - pulses[i - 1].rise_us, 20'000, 2.0);
  }
}

TEST_F(Firmware, RoundsSixteenthsToTheNearestMicrosecond) {
  Host host;
  host.bring_up(0);
  const Events events = host.perform(0, {1500.4375, 1500.5, 1600.5625}, 200);
  EXPECT_DOUBLE_EQ(events.of(0, 0).back().width_us, 1500);
  EXPECT_DOUBLE_EQ(events.of(0, 1).back().width_us, 1501);
  EXPECT_DOUBLE_EQ(events.of(0, 2).back().width_us, 1601);
}

TEST_F(Firmware, KeepsSilentUntilItIsConfiguredAndArmed) {
  Host host;
  EXPECT_TRUE(host.bench.run(100'000).pulses.empty());
  EXPECT_EQ(host.greet(0).state, wire::State::unconfigured);
  EXPECT_TRUE(host.perform(0, {1500, 1500}, 100).pulses.empty());
  host.configure(0, 900, 2'100, 1'500, 100'000);
  EXPECT_TRUE(host.perform(0, {1500, 1500}, 100).pulses.empty());
  host.arm(0);
  EXPECT_TRUE(host.bench.run(100'000).pulses.empty());
  EXPECT_EQ(host.query(0).state, wire::State::waiting);
}

// The limit counts from one change to the next and saves up 20 ms while nothing changes (PROTOCOL.md, Slew): after it stood, a pulse may show
// that and the period's own 20 ms at once.
TEST_F(Firmware, NoPulseLeavesTheRangeAndNoneChangesFasterThanTheSlewLimit) {
  Host host;
  constexpr double kSlew_us_s = 2'000;
  host.bring_up(0, kSlew_us_s);
  Events events = host.perform(0, {2'500, 500}, 600);
  Host::append(events, host.perform(0, {500, 2'500}, 900));
  for (int output = 0; output < 2; ++output) {
    const auto pulses = events.of(0, output);
    ASSERT_GT(pulses.size(), 60u);
    double least = 9e9, most = 0;
    for (std::size_t i = 0; i < pulses.size(); ++i) {
      least = std::min(least, pulses[i].width_us), most = std::max(most, pulses[i].width_us);
      if (i == 0) continue;
      const bool stood = i > 1 && pulses[i - 1].width_us == pulses[i - 2].width_us;
      EXPECT_LE(std::abs(pulses[i].width_us - pulses[i - 1].width_us), kSlew_us_s * (stood ? 40.1e-3 : 20.1e-3) + 1) << "at " << pulses[i].rise_us << " us";
    }
    EXPECT_GE(least, 900) << "output " << output;
    EXPECT_LE(most, 2'100) << "output " << output;
  }
  EXPECT_DOUBLE_EQ(events.of(0, 0).back().width_us, 900);
  EXPECT_DOUBLE_EQ(events.of(0, 1).back().width_us, 2'100);
}

// The cable is cut in mid-move: hold at once where the frames ended, hold for ramp_ms, creep to rest at an eighth of the slew
// limit, then silence.
TEST_F(Firmware, HoldsThenCreepsToRestThenReleasesWhenTheCableIsCut) {
  Host host;
  constexpr double kSlew_us_s = 2'400;
  host.bring_up(0, kSlew_us_s, {50, 300, 1'200});
  host.perform(0, {1'500}, 100);
  host.perform(0, {2'000}, 80);  // under way: 80 ms of 208, and 50 more until it holds
  const double cut_us = host.bench.now_us();
  host.bench.tell("cut 0");
  const Events events = host.bench.run(1'800'000);
  const auto pulses = events.of(0, 0);
  ASSERT_FALSE(pulses.empty());

  double held = 0, held_until_us = 0, rest_since_us = 0;
  for (const Pulse& p : pulses) {
    const double since_us = p.rise_us - cut_us;
    if (since_us > 80'000 && since_us < 100'000) held = p.width_us;  // 50 ms after the last frame, and a pulse more
    if (since_us > 100'000 && p.width_us == held) held_until_us = since_us;
    if (p.width_us == 1'500 && rest_since_us == 0) rest_since_us = since_us;
    if (since_us > 100'000) { EXPECT_LE(p.width_us, held); }
  }
  EXPECT_GT(held, 1'600);
  EXPECT_LT(held, 2'000);
  EXPECT_NEAR(held_until_us, 340'000, 45'000);  // 50 + 300 ms after the last frame, seen by pulses 20 ms apart
  const double creep_us = (held - 1'500) / (kSlew_us_s / 8) * 1e6;
  EXPECT_NEAR(rest_since_us - held_until_us, creep_us, 45'000);
  EXPECT_NEAR(pulses.back().rise_us - cut_us, 1'540'000, 45'000);  // released
}

TEST_F(Firmware, StopEndsPulsesWithinOnePeriod) {
  Host host;
  host.bring_up(0);
  EXPECT_FALSE(host.perform(0, kSixteen, 100).pulses.empty());
  host.bench.send(host.order(wire::Type::stop, 0xFF));
  const double stop_us = host.bench.now_us();
  for (const Pulse& p : host.bench.run(200'000).pulses) EXPECT_LE(p.rise_us - stop_us, 20'500);
  EXPECT_EQ(host.query(0).state, wire::State::ready);
}

TEST_F(Firmware, IsResetByItsWatchdogWhenTheProcessorHangsAndComesBackSilent) {
  Host host;
  const auto before = host.greet(0);
  host.bring_up(0);
  host.perform(0, kSixteen, 100);
  const double hung_us = host.bench.now_us();
  host.bench.tell("hang 0");
  Events events = host.bench.run(500'000);
  ASSERT_EQ(events.resets.size(), 1u);
  EXPECT_NEAR(events.resets[0].at_us - hung_us, 200'000, 5'000);
  for (const Pulse& p : events.pulses) EXPECT_LE(p.rise_us, events.resets[0].at_us);
  const auto after = host.greet(0);
  EXPECT_EQ(after.state, wire::State::unconfigured);
  EXPECT_EQ(after.identity, before.identity);
}

TEST_F(Firmware, KeepsItsIdentityWithoutPowerAndDiffersFromOtherBoards) {
  Host host({"--boards", "2"});
  const auto first = host.greet(0), second = host.greet(1);
  EXPECT_NE(first.identity, second.identity);
  EXPECT_NE(first.identity, 0u);
  host.bench.tell("power 0");
  host.bench.run(10'000);
  EXPECT_EQ(host.greet(0).identity, first.identity);
}

// A third of a second of noise without a gap, between frames' worth of silence on either side: what was driven holds.
TEST_F(Firmware, RandomBytesAtFullRateDisturbNoPulse) {
  Host host;
  host.bring_up(0, 100'000, {1'000, 1'000, 4'000});
  host.perform(0, kSixteen, 200);
  std::mt19937 random(20);
  std::vector<std::uint8_t> noise(30'000);
  for (auto& byte : noise) byte = static_cast<std::uint8_t>(random());
  host.bench.send_bytes(noise);
  const Events events = host.bench.run(310'000);
  for (int n = 0; n < 16; ++n) {
    const auto pulses = events.of(0, n);
    ASSERT_GE(pulses.size(), 14u) << "output " << n;
    for (const Pulse& p : pulses) EXPECT_DOUBLE_EQ(p.width_us, kSixteen[static_cast<std::size_t>(n)]) << "output " << n;
    for (std::size_t i = 1; i < pulses.size(); ++i) EXPECT_NEAR(pulses[i].rise_us - pulses[i - 1].rise_us, 20'000, 2.0);
  }
  host.bench.send_bytes({0});
  EXPECT_EQ(host.query(0).state, wire::State::running);
  EXPECT_EQ(host.bench.stats(0).overruns_up, 0) << "bytes were lost in the chip";
}

// Two boards switched on 7 ms apart, whose crystals differ by 80 ppm: pulses of both start together.
TEST_F(Firmware, PulsesOfTwoBoardsStartTogether) {
  Host host({"--boards", "2", "--ppm", "40,-40", "--delay-us", "0,7123"});
  host.bench.run(20'000);
  host.bring_up(0);
  host.bring_up(1);
  Events events;
  for (int i = 0; i < 60; ++i) {
    if (i % 25 == 0) host.set_clock(0), host.set_clock(1);
    host.frame(0, {1'500}), host.frame(1, {1'500});
    Host::append(events, host.bench.run(10'000));
  }
  const auto first = events.of(0, 0), second = events.of(1, 0);
  ASSERT_GT(first.size(), 25u);
  ASSERT_GT(second.size(), 25u);
  double worst_us = 0;
  for (const Pulse& p : second) {
    if (p.rise_us < first.front().rise_us - 10'000 || p.rise_us > first.back().rise_us + 10'000) continue;
    double nearest_us = 1e9;
    for (const Pulse& q : first) nearest_us = std::min(nearest_us, std::abs(q.rise_us - p.rise_us));
    worst_us = std::max(worst_us, nearest_us);
  }
  EXPECT_LE(worst_us, 50);
}

}  // namespace
}  // namespace mien::firmware
