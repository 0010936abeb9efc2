#include "perform/transport.hpp"

#include <gtest/gtest.h>

#include "perform/lateness.hpp"
#include "support/time.hpp"

namespace mien::perform {
namespace {

using show::Time;
using std::chrono::milliseconds;
using std::chrono::seconds;

using support::kMs;
const sound::ClockLine kQuiet{};
const sound::ClockLine kStarting = [] {
  sound::ClockLine line;
  line.starting = true;
  return line;
}();

sound::ClockLine heard(std::int64_t steady_ns, Time show) {
  sound::ClockLine line;
  line.running = true;
  line.steady_ns = steady_ns;
  line.show_ns = show.count();
  return line;
}

TEST(Transport, IsWhereAnotherMachineSays_WithinTheShow_AndPastItsLoop) {
  Transport t;
  t.set_loop({seconds(1), seconds(2)}, 0);
  const auto at = [&](Time where, bool running, std::int64_t ms) {
    t.follow(where, running, ms * kMs, seconds(10));
    return t.advance(ms * kMs, kQuiet, seconds(10));
  };
  EXPECT_EQ(at(seconds(-3), true, 10), seconds(0));
  EXPECT_FALSE(t.playing()) << "the code is before the show";
  EXPECT_EQ(at(seconds(5), true, 20), seconds(5)) << "a loop is a person's; whoever follows follows";
  EXPECT_TRUE(t.playing());
  EXPECT_EQ(t.ahead(milliseconds(50)), milliseconds(5050));
  EXPECT_EQ(at(seconds(4), true, 30), seconds(4)) << "a locate";
  EXPECT_EQ(at(seconds(4), false, 40), seconds(4));
  EXPECT_FALSE(t.playing());
  EXPECT_EQ(at(seconds(12), true, 50), seconds(10));
  EXPECT_FALSE(t.playing()) << "the code is beyond the show";
  at(seconds(5), true, 60);
  t.pause();
  EXPECT_EQ(t.advance(1000 * kMs, kQuiet, seconds(10)), seconds(1)) << "nobody is followed any more: the loop is a loop again";
  t.play(milliseconds(1500), 2000 * kMs, false);
  EXPECT_EQ(t.advance(2700 * kMs, kQuiet, seconds(10)), milliseconds(1200));
}

TEST(Transport, StandsUntilPlayedAndThenRunsWithTheSteadyClock) {
  Transport t;
  t.seek(milliseconds(700), 0);
  EXPECT_EQ(t.advance(5000 * kMs, kQuiet, seconds(10)), milliseconds(700));
  t.play(milliseconds(700), 6000 * kMs, false);
  EXPECT_EQ(t.advance(6000 * kMs, kQuiet, seconds(10)), milliseconds(700));
  EXPECT_EQ(t.advance(6250 * kMs, kQuiet, seconds(10)), milliseconds(950));
  t.pause();
  EXPECT_EQ(t.advance(9000 * kMs, kQuiet, seconds(10)), milliseconds(950));
}

TEST(Transport, StopsAtTheEndByItself) {
  Transport t;
  t.play(milliseconds(900), 0, false);
  EXPECT_EQ(t.advance(200 * kMs, kQuiet, seconds(1)), seconds(1));
  EXPECT_FALSE(t.playing());
}

TEST(Transport, WrapsInsideItsLoop) {
  Transport t;
  t.set_loop({milliseconds(200), milliseconds(500)}, 0);
  t.play(milliseconds(0), 0, false);
  EXPECT_EQ(t.advance(499 * kMs, kQuiet, seconds(1)), milliseconds(499));
  EXPECT_EQ(t.advance(500 * kMs, kQuiet, seconds(1)), milliseconds(200));
  EXPECT_EQ(t.advance(1130 * kMs, kQuiet, seconds(1)), milliseconds(230));
  EXPECT_TRUE(t.playing());
  t.set_loop({}, 1130 * kMs);
  EXPECT_EQ(t.advance(1140 * kMs, kQuiet, seconds(1)), milliseconds(240));
}

TEST(Transport, LooksAheadWhilePlayingAndRoundItsLoop) {
  Transport t;
  t.seek(milliseconds(100), 0);
  EXPECT_EQ(t.ahead(milliseconds(60)), milliseconds(100));
  t.set_loop({milliseconds(200), milliseconds(500)}, 0);
  t.play(milliseconds(100), 0, false);
  t.advance(50 * kMs, kQuiet, seconds(1));
  EXPECT_EQ(t.ahead(milliseconds(60)), milliseconds(210));
  t.advance(380 * kMs, kQuiet, seconds(1));
  EXPECT_EQ(t.ahead(milliseconds(60)), milliseconds(240));
}

TEST(Transport, WaitsForTheSoundAndThenFollowsIt) {
  Transport t;
  t.play(seconds(1), 0, true);
  EXPECT_EQ(t.advance(150 * kMs, kStarting, seconds(10)), seconds(1));
  EXPECT_FALSE(t.follows_sound());
  EXPECT_EQ(t.advance(200 * kMs, heard(200 * kMs, milliseconds(1020)), seconds(10)), milliseconds(1020));
  EXPECT_TRUE(t.follows_sound());
  EXPECT_EQ(t.advance(210 * kMs, heard(200 * kMs, milliseconds(1020)), seconds(10)), milliseconds(1030));
}

TEST(Transport, NeverRunsBackwardWithTheSound) {
  Transport t;
  t.play(Time{0}, 0, true);
  t.advance(100 * kMs, heard(100 * kMs, milliseconds(100)), seconds(10));
  EXPECT_EQ(t.advance(110 * kMs, heard(110 * kMs, milliseconds(60)), seconds(10)), milliseconds(100));
}

TEST(Transport, GoesOnWithTheSteadyClockWhenTheSoundDies) {
  Transport t;
  t.play(Time{0}, 0, true);
  t.advance(100 * kMs, heard(100 * kMs, milliseconds(80)), seconds(10));
  EXPECT_EQ(t.advance(110 * kMs, kQuiet, seconds(10)), milliseconds(90));
  EXPECT_EQ(t.advance(300 * kMs, kQuiet, seconds(10)), milliseconds(280));
  EXPECT_FALSE(t.follows_sound());
}

TEST(Transport, DoesWithoutASoundThatNeverStarts) {
  Transport t;
  t.play(Time{0}, 0, true);
  EXPECT_EQ(t.advance(Transport::kSoundWait, kStarting, seconds(10)), Time{0});
  t.advance(Transport::kSoundWait + 10 * kMs, kStarting, seconds(10));
  EXPECT_EQ(t.advance(Transport::kSoundWait + 30 * kMs, kStarting, seconds(10)), milliseconds(30));
}

TEST(Lateness, GivesPercentilesToOnePartInEight) {
  LatenessMeter meter;
  for (int us = 1; us <= 1000; ++us) meter.add(us, false);
  meter.add(5000, true);
  const auto r = meter.result(true);
  EXPECT_NEAR(r.p50_us, 500, 500 / 8.0);
  EXPECT_NEAR(r.p99_us, 990, 990 / 8.0);
  EXPECT_EQ(r.max_us, 5000);
  EXPECT_EQ(r.ticks, 1001u);
  EXPECT_EQ(r.missed, 1u);
}

TEST(Lateness, ForgetsAfterTenSecondsButNotTheWorst) {
  LatenessMeter meter;
  meter.add(4000, false);
  for (int s = 0; s < 10; ++s) meter.next_second(), meter.add(10, false);
  EXPECT_LT(meter.result(false).p99_us, 20);
  EXPECT_EQ(meter.result(false).max_us, 4000);
}

}  // namespace
}  // namespace mien::perform
