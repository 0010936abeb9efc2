#include "sound/clock.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "sound/posted.hpp"
#include "support/time.hpp"
#include "threads/steady.hpp"

#include <thread>

namespace mien::sound {
namespace {

using support::kMs;

/// A device that plays at `rate` of steady time, looked at every 10 ms through jitter. Every look also reads the line the way
/// a performing thread does, a little later than it was published, and holds it against the truth.
struct Device {
  StreamClock clock;
  std::mt19937 random{11};
  double steady_ns = 5e12, heard_ns = 0, rate = 1.0;
  double jitter_ns = 0;     // looks are wrong by up to this much, either way
  double worst_ns = 0;      // largest |line - truth| while running
  double backward_ns = 0;   // largest step back between two readings
  double last_read_ns = -1e18;
  int running = 0, looks = 0;

  void look(bool moving = true) {
    std::uniform_real_distribution<double> wrong(-1, 1), gap(8, 12);
    const double dt = gap(random) * kMs;
    steady_ns += dt;
    if (moving) heard_ns += dt * rate;
    clock.observe(static_cast<std::int64_t>(steady_ns), static_cast<std::int64_t>(heard_ns + wrong(random) * jitter_ns));
    ++looks;
    if (!clock.line().running) return;
    ++running;
    for (const double later : {0.0, 3.0 * kMs, 7.9 * kMs}) {
      const auto read = static_cast<double>(clock.line().at(static_cast<std::int64_t>(steady_ns + later)));
      backward_ns = std::max(backward_ns, last_read_ns - read);
      last_read_ns = read;
      if (later == 0) worst_ns = std::max(worst_ns, std::abs(read - heard_ns));
    }
    EXPECT_LE(std::abs(clock.line().rate - 1), 0.1);
  }
  void run(double seconds, bool moving = true) {
    for (const double end = steady_ns + seconds * 1e9; steady_ns < end;) look(moving);
  }
  void forget() { worst_ns = 0, running = 0, looks = 0; }
};

TEST(StreamClock, IsNotBelievedAtFirstAndThenRuns) {
  Device device;
  device.run(0.4);
  EXPECT_EQ(device.running, 0);
  device.run(0.2);
  EXPECT_GT(device.running, 0);
}

TEST(StreamClock, StaysWithinAMillisecondOfTheTruthThroughJitterAndDrift) {
  // Jitter of 7 and of 13 ms between the earliest and the latest look.
  for (const double jitter_ms : {0.0, 3.5, 6.5}) {
    for (const double drift_ppm : {0.0, 300.0, -300.0}) {
      Device device;
      device.jitter_ns = jitter_ms * kMs;
      device.rate = 1 + drift_ppm * 1e-6;
      device.run(3);
      device.forget();
      device.run(120);
      EXPECT_LT(device.worst_ns, 1 * kMs) << jitter_ms << " ms, " << drift_ppm << " ppm";
      EXPECT_EQ(device.running, device.looks);
      EXPECT_LE(device.backward_ns, 0);
    }
  }
}

TEST(StreamClock, LearnsTheRateOfTheDevice) {
  Device device;
  device.rate = 1.0003;
  device.jitter_ns = 0.1 * kMs;
  device.run(60);
  EXPECT_NEAR(device.clock.line().rate, 1.0003, 5e-5);
}

TEST(StreamClock, StopsRunningWhenThePositionStandsStillAndComesBackWithoutGoingBackward) {
  Device device;
  device.run(5);
  device.run(0.2, false);
  device.forget();
  device.run(1.0, false);
  EXPECT_LT(device.running, 15);  // at most 0.15 s more
  EXPECT_FALSE(device.clock.line().running);
  device.run(0.4);
  EXPECT_FALSE(device.clock.line().running);
  device.run(10);
  EXPECT_TRUE(device.clock.line().running);
  EXPECT_LE(device.backward_ns, 0);
  device.forget();
  device.run(5);
  EXPECT_LT(device.worst_ns, 1 * kMs);
}

TEST(StreamClock, FollowsALastingStepAndNeverGoesBackward) {
  for (const double step_ms : {8.0, -8.0, 30.0, -30.0}) {
    Device device;
    device.jitter_ns = 0.3 * kMs;
    device.run(5);
    device.forget();
    device.heard_ns += step_ms * kMs;
    device.run(1.5);
    EXPECT_EQ(device.running, device.looks) << "the line breaks at a small step";
    device.forget();
    device.run(5);
    EXPECT_LT(device.worst_ns, 1 * kMs) << step_ms;
    EXPECT_LE(device.backward_ns, 0) << step_ms;
  }
}

TEST(StreamClock, IgnoresSingleWildLooks) {
  Device device;
  device.jitter_ns = 0.1 * kMs;
  device.run(5);
  device.forget();
  for (int i = 0; i < 50; ++i) {
    device.run(0.2);
    device.steady_ns += 1 * kMs;
    device.heard_ns += 1 * kMs;
    device.clock.observe(static_cast<std::int64_t>(device.steady_ns), static_cast<std::int64_t>(device.heard_ns + (i % 2 ? 45 : -45) * kMs));
  }
  EXPECT_EQ(device.running, device.looks);
  EXPECT_LT(device.worst_ns, 0.5 * kMs);
  EXPECT_LE(device.backward_ns, 0);
}

TEST(StreamClock, ALeapIsNotBelievedUntilItHasLockedAgain) {
  for (const double leap_ms : {400.0, -400.0, 1e7}) {
    Device device;
    device.run(5);
    device.heard_ns += leap_ms * kMs;
    device.run(0.4);
    EXPECT_FALSE(device.clock.line().running) << leap_ms;
    device.run(leap_ms < 0 ? 12 : 3);
    device.forget();
    device.run(2);
    EXPECT_EQ(device.running, device.looks);
    EXPECT_LT(device.worst_ns, 1 * kMs) << leap_ms;
    EXPECT_LE(device.backward_ns, 0) << leap_ms;
  }
}

TEST(StreamClock, RefusesARateBeyondTenPercent) {
  for (const double rate : {0.85, 1.15, 0.0, 2.0, -1.0}) {
    Device device;
    device.rate = rate;
    device.run(20);
    EXPECT_EQ(device.running, 0) << rate;
  }
  for (const double rate : {0.92, 1.08}) {
    Device device;
    device.rate = rate;
    device.run(20);
    EXPECT_TRUE(device.clock.line().running) << rate;
  }
}

TEST(StreamClock, IgnoresTimesOutOfOrderAndStartsOverAfterAGap) {
  Device device;
  device.run(5);
  const auto before = device.clock.line();
  device.clock.observe(before.steady_ns, 0);
  device.clock.observe(before.steady_ns - 1000, 123456789);
  EXPECT_EQ(device.clock.line().heard_ns, before.heard_ns);
  EXPECT_TRUE(device.clock.line().running);
  device.steady_ns += 2e9;
  device.heard_ns += 2e9;
  device.look();
  EXPECT_FALSE(device.clock.line().running);
  device.run(1);
  EXPECT_TRUE(device.clock.line().running);
  EXPECT_LE(device.backward_ns, 0);
}

StreamClock::Line heard(std::int64_t heard_ns) { return {true, 1000, heard_ns, 1.0}; }

TEST(ShowLine, CountsFromWhereThePlayBegan) {
  const Anchor anchor{7, true, 48000, show::Time{250'000'000}};
  const ClockLine line = show_line(heard(1'500'000'000), anchor, 1000);
  EXPECT_TRUE(line.running);
  EXPECT_EQ(line.at(1000), 750'000'000);
  EXPECT_EQ(line.at(2000), 750'001'000);
}

TEST(ShowLine, DoesNotRunBeforeThePlayIsHeardNorWhenNothingPlays) {
  const Anchor anchor{7, true, 48000, show::Time{0}};
  EXPECT_FALSE(show_line(heard(999'999'000), anchor, 1000).running);
  EXPECT_TRUE(show_line(heard(999'999'000), anchor, 2000).running);
  EXPECT_FALSE(show_line(heard(2'000'000'000), Anchor{7, false, 48000, show::Time{0}}, 1000).running);
  EXPECT_FALSE(show_line(StreamClock::Line{}, anchor, 1000).running);
}

TEST(Posted, ReadersSeeWholeValuesAndNeverAnOlderOne) {
  struct Value {
    std::uint64_t a, b, c;
  };
  Posted<Value> posted;
  std::atomic<bool> done{false};
  std::vector<std::thread> readers;
  for (int i = 0; i < 2; ++i) {
    readers.emplace_back([&] {
      std::uint64_t last = 0;
      while (!done.load()) {
        const Value value = posted.read();
        ASSERT_TRUE(value.b == 3 * value.a && value.c == 7 * value.a);
        ASSERT_GE(value.a, last);
        last = value.a;
      }
    });
  }
  for (std::uint64_t i = 1; i <= 200000; ++i) posted.write({i, 3 * i, 7 * i});
  done = true;
  for (auto& reader : readers) reader.join();
  EXPECT_EQ(posted.read().a, 200000u);
}

}  // namespace
}  // namespace mien::sound
