// What a board does with frames, time and silence. The desk's clock wraps 300 ms into each test.
#include <algorithm>
#include <cstdlib>
#include <random>

#include "board/desk.hpp"

namespace mien::board {
namespace {

using wire::Order;
using wire::Reason;
using wire::State;
using wire::Type;

TEST(Board, KeepsSilentUntilArmedAndAFrameLatched) {
  const auto desk = armed_desk();
  desk->run_ms(50);
  EXPECT_EQ(desk->board().pulse(0), 0);
  desk->send(frame_for(0, 1, desk->now_us + 20'000, us(1500)));
  desk->run_ms(19);
  EXPECT_EQ(desk->board().pulse(0), 0);
  desk->run_ms(1);
  EXPECT_EQ(desk->board().pulse(0), us(1500));
  EXPECT_EQ(desk->board().pulse(1), 0);
  EXPECT_EQ(desk->board().state(), State::running);
}

TEST(Board, StartsAtRestAndGoesToTheFirstSetpointUnderTheSlewLimit) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 1, desk->now_us, us(1600)));
  desk->run_ms(1);
  EXPECT_LE(desk->board().pulse(0), us(1502));
  EXPECT_GE(desk->board().pulse(0), us(1500));
  desk->run_ms(48);
  EXPECT_LT(desk->board().pulse(0), us(1600)) << "100 us at 2000 us/s take 50 ms";
  desk->run_ms(3);
  EXPECT_EQ(desk->board().pulse(0), us(1600));
}

TEST(Board, StartsWhereItWasLastAfterAStop) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 1, desk->now_us, us(1600)));
  desk->run_ms(60);
  desk->send(Order{Type::stop, 0, 1});
  desk->run_ms(1000);
  desk->send(Order{Type::arm, 0, 2});
  desk->send(frame_for(0, 2, desk->now_us, us(1400)));
  desk->run_ms(1);
  EXPECT_LE(std::abs(desk->board().pulse(0) - us(1600)), us(2));
}

TEST(Board, ConvertsLatchTimesByItsClockOffset) {
  const auto desk = armed_desk();
  const std::uint32_t offset = 0xF0000000u;  // host = board + offset, wraps
  desk->send(wire::Clock{0, 1, 0, offset, 0});
  desk->send(frame_for(0, 1, desk->now_us + offset + 10'000, us(1500)));
  desk->run_ms(9);
  EXPECT_EQ(desk->board().state(), State::waiting);
  desk->run_ms(1);
  EXPECT_EQ(desk->board().state(), State::running);
  EXPECT_EQ(desk->board().counters().late, 0u);
}

TEST(Board, LatchesFramesAsTheyComeWithoutAClock) {
  Desk desk;
  desk.send(two_outputs());
  desk.send(Order{Type::arm, 0, 3});
  desk.send(frame_for(0, 1, desk.now_us + 0x70000000u, us(1500)));
  EXPECT_EQ(desk.board().state(), State::running);
  EXPECT_EQ(desk.board().counters().late, 0u);
}

TEST(Board, LatchesFramesInOrderAtTheirTimes) {
  const auto desk = armed_desk();
  std::uint16_t sequence = 0xFFF0;  // wraps on the way
  std::vector<std::uint16_t> sent;
  const std::uint32_t start = desk->now_us;
  for (int n = 0; n < 100; ++n) {  // sent 20 ms ahead, every 10 ms: three wait at any time
    sent.push_back(sequence);
    desk->send(frame_for(0, sequence++, start + 20'000 + static_cast<std::uint32_t>(n) * 10'000, us(1500 + n)));
    desk->run_ms(10);
    const int latched = std::max(0, n);  // frame n - 1 latches now
    ASSERT_EQ(desk->latched_sequences.size(), static_cast<std::size_t>(latched)) << n;
  }
  desk->run_ms(20);
  EXPECT_EQ(desk->latched_sequences, sent);
  const wire::Counters c = desk->board().counters();
  EXPECT_EQ(c.latched, 100u);
  EXPECT_EQ(c.late + c.stale + c.clamped + c.slewed + c.refused, 0u);
}

TEST(Board, ReachesASetpointWithinTheLimitTheMomentItLatches) {
  const auto desk = armed_desk();
  const std::uint32_t start = desk->now_us;
  desk->send(frame_for(0, 0, start, us(1500)));
  desk->run_ms(10);
  for (int n = 1; n < 30; ++n) {  // 1500 us/s of 2000
    desk->send(frame_for(0, static_cast<std::uint16_t>(n), desk->now_us, us(1500 + 15 * n)));
    desk->run_ms(1);
    ASSERT_EQ(desk->board().pulse(0), us(1500 + 15 * n));
    desk->run_ms(9);
  }
}

TEST(Board, LatchesALateFrameAtOnceAndCountsIt) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 1, desk->now_us - 2'000, us(1500)));
  EXPECT_EQ(desk->board().counters().late, 0u) << "2 ms are not late yet";
  desk->send(frame_for(0, 2, desk->now_us - 2'001, us(1500)));
  EXPECT_EQ(desk->board().counters().late, 1u);
  EXPECT_EQ(desk->board().counters().latched, 2u);
  EXPECT_EQ(desk->board().sequence(), 2);
}

TEST(Board, TakesABurstOfLateFramesWithoutLosingOne) {
  const auto desk = armed_desk();
  for (std::uint16_t n = 0; n < 50; ++n) desk->send(frame_for(0, n, desk->now_us - 500'000 + n * 10'000u, us(1500)));
  EXPECT_EQ(desk->latched_sequences.size(), 50u);
  EXPECT_EQ(desk->board().counters().late, 50u);
}

TEST(Board, DropsFramesThatAreNotNewer) {
  const auto desk = armed_desk();
  for (const int sequence : {0xFFFE, 0xFFFE, 0xFFFD, 1, 0xFFFF, 0x8001, 2})
    desk->send(frame_for(0, static_cast<std::uint16_t>(sequence), desk->now_us, us(1500)));
  EXPECT_EQ(desk->latched_sequences, (std::vector<std::uint16_t>{0xFFFE, 1, 2}));
  EXPECT_EQ(desk->board().counters().stale, 4u);
}

TEST(Board, TakesAnySequenceFirstAfterArming) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 500, desk->now_us, us(1500)));
  desk->send(Order{Type::arm, 0, 1});
  desk->send(frame_for(0, 3, desk->now_us, us(1500)));
  EXPECT_EQ(desk->latched_sequences, (std::vector<std::uint16_t>{500, 3}));
}

TEST(Board, RefusesFramesTooFarAheadOrTooMany) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 1, desk->now_us + 1'000'001, us(1500)));
  EXPECT_EQ(desk->refusal(), Reason::bad_time);
  desk->run_ms(100);
  for (std::uint16_t n = 1; n <= 9; ++n) desk->send(frame_for(0, n, desk->now_us + 50'000 + n, us(1500)));
  EXPECT_EQ(desk->refusal(), Reason::queue_full);
  desk->run_ms(60);
  EXPECT_EQ(desk->latched_sequences, (std::vector<std::uint16_t>{1, 2, 3, 4, 5, 6, 7, 8}));
}

TEST(Board, ClampsPulsesToTheRangeAndCountsThem) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 1, desk->now_us, us(2500)));
  desk->send(frame_for(0, 2, desk->now_us, us(1000)));
  desk->send(frame_for(0, 3, desk->now_us, 0xFFFF));
  EXPECT_EQ(desk->board().counters().clamped, 2u);
  for (int i = 0; i < 50; ++i) {
    desk->send(frame_for(0, static_cast<std::uint16_t>(4 + i), desk->now_us, 0xFFFF));
    desk->run_ms(10);
    ASSERT_LE(desk->board().pulse(0), us(2000));
  }
  EXPECT_EQ(desk->board().pulse(0), us(2000));
}

TEST(Board, CountsSetpointsThatTheSlewLimitHeldBack) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 1, desk->now_us, us(1500)));
  desk->run_ms(10);
  desk->send(frame_for(0, 2, desk->now_us, us(1505)));
  desk->run_ms(10);
  EXPECT_EQ(desk->board().counters().slewed, 0u);
  desk->send(frame_for(0, 3, desk->now_us, us(1605)));
  desk->run_ms(60);
  EXPECT_EQ(desk->board().counters().slewed, 1u) << "once a setpoint, not once a step";
}

/// Watches one output: range, and the slew limit from one change of the pulse to the next and from the first to any later.
/// Silence changes nothing: an output comes back where it was.
class Monitor {
 public:
  explicit Monitor(const wire::OutputLimits& limits) : limits_(limits) {}

  void see(std::uint16_t pulse, std::uint64_t at_us) {
    if (pulse == 0) return;
    if (first_us_ == 0) {
      first_pulse_ = pulse_ = limits_.rest;
      first_us_ = changed_us_ = at_us - 1000;  // the longest slice: it started at rest within it
    }
    EXPECT_GE(pulse, limits_.min);
    EXPECT_LE(pulse, limits_.max);
    if (pulse == pulse_) return;
    const double rate = limits_.slew / 1e6;
    EXPECT_LE(std::abs(pulse - pulse_), rate * static_cast<double>(at_us - changed_us_) + 1.0) << "at " << at_us;
    EXPECT_LE(std::abs(pulse - pulse_), rate * 20'000 + 1.0) << "at " << at_us;
    EXPECT_LE(std::abs(pulse - first_pulse_), rate * static_cast<double>(at_us - first_us_) + 1.0) << "at " << at_us;
    pulse_ = pulse;
    changed_us_ = at_us;
  }

 private:
  wire::OutputLimits limits_;
  std::uint16_t pulse_ = 0, first_pulse_ = 0;
  std::uint64_t first_us_ = 0, changed_us_ = 0;
};

// Frames as wild as they come: any pulse, any output, lost, late, early, twice; with stops, arms, disarms and gaps that wake the
// watchdog. No pulse leaves its range or outruns its slew limit.
TEST(Board, NeverBreaksRangeOrSlewWhateverComes) {
  for (unsigned seed = 1; seed <= 40; ++seed) {
    std::mt19937 random(seed);
    const auto below = [&](int end) { return static_cast<int>(random() % static_cast<unsigned>(end)); };
    wire::Configure c = two_outputs();
    c.watchdog = {50, 60, 200};
    c.outputs[0].slew = 1 + static_cast<std::uint32_t>(below(100'000));
    c.outputs[1].slew = 1 + static_cast<std::uint32_t>(below(3'000'000));
    const auto desk = armed_desk(c);
    Monitor monitors[] = {Monitor(c.outputs[0]), Monitor(c.outputs[1])};
    std::uint64_t elapsed_us = 0;
    std::uint16_t sequence = 0;
    for (int step = 0; step < 4000; ++step) {
      const int what = below(400);
      if (what < 60) {
        const auto latch = desk->now_us + static_cast<std::uint32_t>(below(40'000) - 5'000);
        auto frame = frame_for(0, sequence, latch, us(1500), static_cast<std::uint16_t>(1 + below(3)));
        for (auto& p : frame.blocks[0].pulse) p = static_cast<std::uint16_t>(below(4) == 0 ? 1 + below(65'535) : us(1000 + below(1001)));
        sequence = static_cast<std::uint16_t>(sequence + below(3));
        desk->send(frame);
      }
      if (what == 60) desk->send(Order{Type::stop, 0, 1});
      if (what == 61 || what == 62) desk->send(Order{Type::disarm, 0, 1});
      if (what > 62 && what < 72) desk->send(Order{Type::arm, 0, 1});
      if (what == 72) desk->run_ms(0), desk->now_us += 30'000, elapsed_us += 30'000;  // the board's own tick stalls
      const std::uint32_t slice = 1 + static_cast<std::uint32_t>(below(1000));
      desk->now_us += slice, elapsed_us += slice;
      desk->board().tick(desk->now_us);
      for (int n = 0; n < 2; ++n) monitors[n].see(desk->board().pulse(n), elapsed_us);
    }
    ASSERT_GT(desk->board().counters().latched, 50u);
    ASSERT_FALSE(testing::Test::HasFailure()) << "seed " << seed;
  }
}

TEST(Watchdog, HoldsThenRampsToRestThenReleases) {
  const auto desk = armed_desk();  // 100, 200, 3000 ms
  for (std::uint16_t n = 0; n < 30; ++n) {
    desk->send(frame_for(0, n, desk->now_us, us(1700)));
    desk->run_ms(10);
  }
  ASSERT_EQ(desk->board().pulse(0), us(1700));
  desk->run_ms(89);  // the last frame came 10 ms before
  EXPECT_EQ(desk->board().state(), State::running);
  desk->run_ms(1);
  EXPECT_EQ(desk->board().state(), State::holding);
  desk->run_ms(199);
  EXPECT_EQ(desk->board().state(), State::holding);
  EXPECT_EQ(desk->board().pulse(0), us(1700));
  desk->run_ms(1);
  EXPECT_EQ(desk->board().state(), State::ramping);
  desk->run_ms(400);  // an eighth of 2000 us/s: 100 us
  EXPECT_NEAR(desk->board().pulse(0), us(1600), us(1));
  desk->run_ms(401);
  EXPECT_EQ(desk->board().pulse(0), us(1500));
  desk->run_ms(2198);
  EXPECT_EQ(desk->board().state(), State::ramping);
  EXPECT_EQ(desk->board().pulse(0), us(1500));
  desk->run_ms(1);
  EXPECT_EQ(desk->board().state(), State::ready);
  EXPECT_EQ(desk->board().pulse(0), 0);
  std::vector<State> told;
  while (!desk->answers.empty()) told.push_back(desk->answer<wire::StateReport>().state);
  EXPECT_EQ(told, (std::vector<State>{State::running, State::holding, State::ramping, State::ready}));
}

TEST(Watchdog, StopsAMoveWhereItIs) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 0, desk->now_us, us(1900)));  // 200 ms at the limit
  desk->run_ms(100);
  EXPECT_EQ(desk->board().state(), State::holding);
  const int held = desk->board().pulse(0);
  EXPECT_NEAR(held, us(1700), us(3));
  desk->run_ms(150);
  EXPECT_EQ(desk->board().pulse(0), held);
}

TEST(Watchdog, DisarmsABoardThatNeverGotAFrame) {
  const auto desk = armed_desk();
  desk->run_ms(3299);
  EXPECT_EQ(desk->board().state(), State::waiting);
  desk->run_ms(1);
  EXPECT_EQ(desk->board().state(), State::ready);
}

TEST(Watchdog, IsFedByFramesForOtherBoardsButNotByHeartbeatsNorOldFrames) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 10, desk->now_us, us(1500)));
  for (std::uint16_t n = 11; n < 41; ++n) {
    desk->send(frame_for(6, n, desk->now_us, us(1500)));
    desk->run_ms(10);
  }
  EXPECT_EQ(desk->board().state(), State::running);
  for (std::uint16_t n = 0; n < 10; ++n) {
    desk->send(frame_for(0, n, desk->now_us, us(1500)));
    desk->send(wire::Heartbeat{0, 1, 0});
    desk->run_ms(10);
  }
  EXPECT_EQ(desk->board().state(), State::holding);
}

TEST(Watchdog, LetsAFrameBackIntoServiceWithoutAJump) {
  for (const int silence_ms : {150, 500}) {  // holding; ramping
    const auto desk = armed_desk();
    desk->send(frame_for(0, 0, desk->now_us, us(1600)));
    desk->run_ms(60 + silence_ms);
    ASSERT_EQ(desk->board().state(), silence_ms == 150 ? State::holding : State::ramping);
    const int before = desk->board().pulse(0);
    desk->send(frame_for(0, 1, desk->now_us + 20'000, us(1900)));
    EXPECT_EQ(desk->board().state(), State::holding);
    desk->run_ms(19);
    EXPECT_EQ(desk->board().pulse(0), before);
    desk->run_ms(1);
    EXPECT_EQ(desk->board().state(), State::running);
    EXPECT_LE(desk->board().pulse(0), before + us(2)) << "one tick of the slew limit";
    desk->run_ms(50);
    EXPECT_NEAR(desk->board().pulse(0), before + us(100), us(2));
  }
}

TEST(Board, GoesSilentAtOnceOnStop) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 0, desk->now_us, us(1600)));
  desk->run_ms(10);
  desk->send(frame_for(0, 1, desk->now_us + 5'000, us(1700)));
  desk->send(Order{Type::stop, wire::kEveryone, 1});
  EXPECT_EQ(desk->board().pulse(0), 0) << "before the next tick";
  EXPECT_EQ(desk->board().state(), State::ready);
  desk->run_ms(50);
  EXPECT_EQ(desk->board().pulse(0), 0) << "the frame that waited is gone";
}

TEST(Board, CreepsToRestBeforeItGoesSilentOnDisarm) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 0, desk->now_us, us(1600)));
  desk->run_ms(60);
  desk->send(Order{Type::disarm, 0, 1});
  EXPECT_EQ(desk->board().state(), State::disarming);
  desk->run_ms(200);
  EXPECT_NEAR(desk->board().pulse(0), us(1550), us(1));
  desk->send(frame_for(0, 1, desk->now_us, us(1900)));
  desk->run_ms(199);
  EXPECT_NEAR(desk->board().pulse(0), us(1500), us(1)) << "frames no longer move it";
  EXPECT_EQ(desk->board().counters().refused, 1u);
  desk->run_ms(3);
  EXPECT_EQ(desk->board().pulse(0), 0);
  EXPECT_EQ(desk->board().state(), State::ready);
}

TEST(Board, StaysWhereItIsWhenArmedWhileDisarming) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 0, desk->now_us, us(1600)));
  desk->run_ms(60);
  desk->send(Order{Type::disarm, 0, 1});
  desk->run_ms(200);
  const int there = desk->board().pulse(0);
  desk->send(Order{Type::arm, 0, 2});
  EXPECT_EQ(desk->board().state(), State::holding);
  desk->run_ms(100);
  EXPECT_EQ(desk->board().pulse(0), there);
}

TEST(Board, GivesTheSamePulsesForTheSameBytesAtAnyClock) {
  const auto run_from = [](std::uint32_t start_us) {
    Desk desk({0}, start_us);
    desk.send(two_outputs());
    desk.send(wire::Clock{0, 1, start_us, 0u - start_us, 0});  // the host's clock reads 0
    desk.send(Order{Type::arm, 0, 2});
    std::vector<std::uint16_t> pulses;
    for (int n = 0; n < 200; ++n) {
      if (n < 80 || n > 120) {
        const auto host_us = static_cast<std::uint32_t>(n) * 10'000;
        desk.send(frame_for(0, static_cast<std::uint16_t>(n), host_us + 20'000, us(1200 + n * 37 % 600)));
      }
      for (int i = 0; i < 10; ++i) {
        desk.run_ms(1);
        pulses.push_back(desk.board().pulse(0));
      }
    }
    return pulses;
  };
  const auto pulses = run_from(0);
  EXPECT_GT(*std::max_element(pulses.begin(), pulses.end()), us(1500));
  EXPECT_EQ(pulses, run_from(kBeforeTheWrap));
  EXPECT_EQ(pulses, run_from(0x7FFFFFFFu - 1'000'000));
}

}  // namespace
}  // namespace mien::board
