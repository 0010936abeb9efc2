#include "link/clock_estimate.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace mien::link {
namespace {

/// A board whose clock runs slow by a share and starts anywhere; the line delays each way by chance, now and then by a lot.
struct Line {
  double drift_ppm = 0;
  double queue_us = 300;
  std::uint32_t offset = 0;
  std::mt19937 random{7};
  std::uint32_t board_us(double host_us) const {
    return static_cast<std::uint32_t>(static_cast<std::int64_t>(std::llround(host_us * (1 - drift_ppm * 1e-6)))) - offset;
  }
  double delay_us() {
    std::exponential_distribution<double> queue(1.0 / queue_us);
    return 60 + queue(random);
  }
  void round_trip(ClockEstimate& clock, std::int64_t at_us) {
    const double arrives = static_cast<double>(at_us) + delay_us(), leaves = arrives + 40;
    clock.add(at_us, board_us(arrives), board_us(leaves), std::llround(leaves + delay_us()));
  }
  double error_us(const ClockEstimate& clock, std::int64_t at_us) const {
    const auto truth = static_cast<std::uint32_t>(at_us) - board_us(static_cast<double>(at_us));
    return static_cast<std::int32_t>(clock.offset_us(at_us) - truth);
  }
};

TEST(ClockEstimate, IsUnknownUntilAFewRoundTripsAreIn) {
  ClockEstimate clock;
  Line line;
  for (int i = 0; i < 4; ++i) line.round_trip(clock, i * 1000);
  EXPECT_FALSE(clock.known());
  line.round_trip(clock, 4000);
  EXPECT_TRUE(clock.known());
}

TEST(ClockEstimate, IsExactOnALineWithEqualDelays) {
  ClockEstimate clock;
  clock.add(1'000'000, 500, 520, 1'000'220);
  EXPECT_EQ(clock.offset_us(1'000'220), 1'000'100u - 500u);
  EXPECT_EQ(clock.round_trip_us(), 200);
}

TEST(ClockEstimate, StaysWithinATenthOfAMillisecondOnAJitteryLineWithDrift) {
  for (const double drift_ppm : {0.0, 60.0, -90.0}) {
    ClockEstimate clock;
    Line line;
    line.drift_ppm = drift_ppm;
    line.offset = 0xFFFF'0000u;  // wraps on the way
    for (std::int64_t t = 0; t < 120'000'000; t += 50'000) {
      line.round_trip(clock, t);
      // An asymmetric delay can't be told from an offset: the bound is half of what the quickest round trip spent beyond the least.
      if (t > 20'000'000) {
        ASSERT_LT(std::abs(line.error_us(clock, t)), 100) << "at " << t << " us, drift " << drift_ppm;
      }
    }
    EXPECT_NEAR(clock.drift_ppm(), drift_ppm, 5);
  }
}

// A head that is armed as soon as the link stands performs with what its clocks know by then.
TEST(ClockEstimate, KnowsTheDriftWithinASecondOnAQuietLine) {
  for (const double drift_ppm : {40.0, -40.0}) {
    ClockEstimate clock;
    Line line;
    line.drift_ppm = drift_ppm, line.queue_us = 5;
    for (std::int64_t t = 0; t < 3'000'000; t += 40'000) {
      line.round_trip(clock, t);
      if (clock.known()) { ASSERT_LT(std::abs(line.error_us(clock, t)), 16) << "at " << t << " us"; }
      if (t > 600'000) { ASSERT_LT(std::abs(line.error_us(clock, t)), 5) << "at " << t << " us"; }
    }
    EXPECT_NEAR(clock.drift_ppm(), drift_ppm, 2);
  }
}

TEST(ClockEstimate, TakesNoDriftFromHalfASecondOfAJitteryLine) {
  ClockEstimate clock;
  Line line;
  for (std::int64_t t = 0; t < 1'900'000; t += 40'000) line.round_trip(clock, t);
  EXPECT_EQ(clock.drift_ppm(), 0);
}

TEST(ClockEstimate, IgnoresRoundTripsThatCanNotBe) {
  ClockEstimate clock;
  clock.add(1000, 500, 400, 2000);       // answered before it was received
  clock.add(2000, 500, 500, 1000);       // back before it left
  clock.add(0, 500, 500, 2'000'000);     // two seconds on the line
  EXPECT_EQ(clock.samples(), 0);
}

// A computer that slept, or a board whose clock jumped: either way, either direction, and never a false alarm on a line with jitter and drift.
TEST(ClockEstimate, BeginsAnewWhereAClockJumped) {
  for (const std::int32_t jump_us : {8'000, 150'000, 1'800'000'000, -8'000, -150'000, -1'800'000'000}) {
    ClockEstimate clock;
    Line line{.drift_ppm = 80};
    std::int64_t t = 0;
    for (int i = 0; i < 600; ++i) line.round_trip(clock, t += 100'000);
    ASSERT_EQ(clock.samples(), 600) << "nothing had jumped";
    line.offset -= static_cast<std::uint32_t>(jump_us);
    for (int i = 0; i < 40; ++i) line.round_trip(clock, t += 100'000);
    EXPECT_EQ(clock.samples(), 40) << jump_us;
    EXPECT_LT(std::abs(line.error_us(clock, t)), 300) << jump_us;
  }
}

}  // namespace
}  // namespace mien::link
