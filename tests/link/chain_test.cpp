// What a chain of boards does in order, and what it does without one of them.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "link/chain.hpp"
#include "support/fault.hpp"

namespace mien::link {
namespace {

using namespace test_chain;
using testing::HasSubstr;

TEST(Chain, NumbersItselfInOrderAndTellsWhatItIs) {
  Chain chain(4);
  chain.run(1000);
  ASSERT_TRUE(chain.host.configured());
  for (std::size_t n = 0; n < 4; ++n) {
    EXPECT_EQ(chain.desk.board(n).address(), n);
    EXPECT_EQ(chain.status().boards[n].identity & 0xFF, n);
    EXPECT_EQ(chain.status().boards[n].protocol_version, wire::kVersion);
    EXPECT_EQ(chain.status().boards[n].frames_bad, 0u);
  }
}

TEST(Chain, NumbersItselfInOrderThoughAnswersAreLost) {
  for (unsigned seed = 1; seed <= 6; ++seed) {
    Chain chain(4);
    chain.random.seed(seed);
    for (int i = 0; i < 6000; ++i) {
      if (chain.random() % 3 != 0 && i < 3000) chain.desk.answers().clear();
      chain.run(1);
    }
    ASSERT_TRUE(chain.host.configured()) << seed;
    for (std::size_t n = 0; n < 4; ++n) EXPECT_EQ(chain.desk.board(n).address(), n) << seed;
  }
}

TEST(Chain, AFrameReachesTheLastOfFourBoardsWithin100Microseconds) {
  Chain chain(4, 10 * kUs, 5 * kUs);
  ASSERT_TRUE(chain.arm());
  Frame late;
  late.sequence = 1, late.latch_ns = chain.now - 1000 * kMs, late.count = 4;  // latched as it comes
  for (std::size_t i = 0; i < 4; ++i) late.pulse[i] = pulse_at(chain.rig, i, 0);
  chain.host.send(late);
  chain.run(3);
  const auto spread = chain.desk.latched_at_ns(3) - chain.desk.latched_at_ns(0);
  EXPECT_GT(spread, 0);
  EXPECT_LE(spread, 100 * kUs);
}

// Boards 50 ppm apart, a host that is up to 5 ms late at random: 20 s to learn the clocks, then 10 s of frames.
TEST(Chain, AllBoardsLatchAFrameWithin50MicrosecondsThoughTheHostIsLate) {
  Chain chain(3, 10 * kUs, 500 * kUs);
  ASSERT_TRUE(chain.arm());
  chain.jitter_ns = 5 * kMs;
  chain.slice_ns = 100 * kUs;
  chain.perform(0, 20'000);
  std::vector<std::int64_t> skews;
  for (int n = 0; n < 1000; ++n) {
    chain.perform(0, 10);
    // Where each board would latch a frame for this host time, in true time: what it makes of the shared clock.
    std::int64_t least = INT64_MAX, most = INT64_MIN;
    for (std::size_t b = 0; b < 3; ++b) {
      const auto off = static_cast<std::int32_t>(chain.desk.board(b).shared_us(chain.desk.clock_us(b)) - static_cast<std::uint32_t>(chain.now / 1000));
      least = std::min<std::int64_t>(least, off), most = std::max<std::int64_t>(most, off);
    }
    skews.push_back(most - least);
  }
  std::sort(skews.begin(), skews.end());
  EXPECT_LE(skews[skews.size() * 99 / 100], 50);
  RecordProperty("skew_p50_us", static_cast<int>(skews[skews.size() / 2]));
  RecordProperty("skew_p99_us", static_cast<int>(skews[skews.size() * 99 / 100]));
  RecordProperty("skew_max_us", static_cast<int>(skews.back()));
  std::printf("skew between boards: p50 %d us, p99 %d us, max %d us\n", static_cast<int>(skews[skews.size() / 2]),
              static_cast<int>(skews[skews.size() * 99 / 100]), static_cast<int>(skews.back()));
}

TEST(Chain, GoesOnWithoutABoardThatIsPulledAndTakesItBackFromWhereItRests) {
  Chain chain(3);
  ASSERT_TRUE(chain.arm());
  chain.perform(20, 1000);
  chain.desk.plug(2, false);
  chain.perform(20, 3000);
  EXPECT_TRUE(chain.host.armed());
  ASSERT_TRUE(chain.host.trouble(chain.now));
  EXPECT_THAT(chain.host.trouble(chain.now)->what, HasSubstr("without a2"));
  EXPECT_FALSE(chain.status().boards[2].performing);
  EXPECT_EQ(chain.desk.board(1).pulse(0), pulse_at(chain.rig, 1, 20));
  chain.perform(20, 3000);  // by itself it crept to rest and fell silent
  ASSERT_EQ(chain.desk.board(2).pulse(0), 0);
  chain.desk.plug(2, true);
  const auto joins = chain.joins;
  for (int i = 0; i < 200 && chain.joins == joins; ++i) {
    EXPECT_EQ(chain.desk.board(2).pulse(0), 0) << "no frame moves it before it is asked where it stands";
    chain.perform(20, 10);
  }
  EXPECT_EQ(chain.joins, joins + 1);
  EXPECT_EQ(chain.host.pulses()[2], pulse_at(chain.rig, 2, 0)) << "from rest on it creeps";
  chain.perform(0, 100);
  EXPECT_TRUE(chain.status().boards[2].performing);
  EXPECT_FALSE(chain.host.trouble(chain.now));
}

TEST(Chain, ABoardThatRestartsInMidShowIsBackWithinASecondAndTheRestGoesOn) {
  for (const std::size_t which : {1u, 2u}) {
    Chain chain(3);
    ASSERT_TRUE(chain.arm());
    chain.perform(20, 1000);
    chain.desk.restart(which);
    for (int i = 0; i < 100; ++i) {
      chain.perform(20, 10);
      ASSERT_TRUE(chain.host.armed());
      ASSERT_EQ(chain.desk.board(0).pulse(0), pulse_at(chain.rig, 0, 20));
    }
    EXPECT_EQ(chain.status().boards[which].times_restarted, 1u);
    EXPECT_TRUE(chain.status().boards[which].performing) << which;
    EXPECT_EQ(chain.desk.board(which).address(), which);
  }
}

std::vector<Standing> standings(Chain& chain) {
  std::vector<Standing> all;
  for (const auto& board : chain.status().boards) all.push_back(board.standing);
  return all;
}

TEST(Chain, AReplacedBoardIsNamedAndSilentUntilItIsAdopted) {
  Chain chain(3);
  chain.run(1500);
  ASSERT_TRUE(chain.host.configured());
  auto other = by_position(3)[2];
  other.identity = 0xABCD;
  chain.desk.replace(2, other);
  chain.run(3000);
  ASSERT_TRUE(chain.host.trouble(chain.now));
  EXPECT_THAT(chain.host.trouble(chain.now)->what, HasSubstr("000000000000ABCD"));
  EXPECT_EQ(standings(chain), (std::vector{Standing::expected, Standing::expected, Standing::replaced}));
  EXPECT_FALSE(chain.status().boards[2].reported) << "its levels are not the rig's";
  EXPECT_EQ(chain.desk.board(2).state(), wire::State::unconfigured);
  chain.host.adopt();
  chain.run(2000);
  EXPECT_TRUE(chain.host.configured());
  EXPECT_FALSE(chain.host.trouble(chain.now)) << show::to_text(*chain.host.trouble(chain.now));
  EXPECT_EQ(chain.desk.board(2).state(), wire::State::ready);
  EXPECT_EQ(standings(chain), (std::vector(3, Standing::expected)));
  EXPECT_TRUE(chain.status().boards[2].reported);
  for (int n = 0; n < 16; ++n) EXPECT_EQ(chain.desk.board(2).pulse(n), 0) << "taken over is not armed";
}

TEST(Chain, SwappedBoardsAreNamedAndSilent) {
  Chain chain(3);
  chain.run(1500);
  auto one = by_position(3)[1], two = by_position(3)[2];
  one.identity = chain.status().boards[1].identity, two.identity = chain.status().boards[2].identity;
  chain.desk.replace(1, two), chain.desk.replace(2, one);
  chain.run(4000);
  ASSERT_TRUE(chain.host.trouble(chain.now));
  EXPECT_THAT(chain.host.trouble(chain.now)->what, HasSubstr("stands in its place"));
  EXPECT_EQ(standings(chain), (std::vector{Standing::expected, Standing::swapped, Standing::swapped}));
  EXPECT_EQ(chain.status().boards[1].stands_there, chain.status().boards[2].name);
  EXPECT_EQ(chain.status().boards[2].stands_there, chain.status().boards[1].name);
  EXPECT_EQ(chain.desk.board(1).state(), wire::State::unconfigured);
  EXPECT_EQ(chain.desk.board(2).state(), wire::State::unconfigured);
  chain.desk.replace(1, one), chain.desk.replace(2, two);
  chain.run(4000);
  EXPECT_TRUE(chain.host.configured());
  EXPECT_FALSE(chain.host.trouble(chain.now));
}

TEST(Chain, ReportsTenTimesASecondAndOfInputsAtOnce) {
  Chain chain(2);
  ASSERT_TRUE(chain.arm());
  board::Senses senses;
  senses.inputs = 0b101;
  chain.desk.sense(1, senses);
  chain.perform(0, 10);
  EXPECT_EQ(chain.status().boards[1].inputs, 0b101);
  for (int i = 0; i < 100; ++i) {
    chain.perform(0, 10);
    EXPECT_LE(chain.now / 1000 - chain.host.peers()[1].report_at_us, 120'000);
  }
}

// The last board sends random bytes, and whole packets in others' names, at the full rate of the line for a minute.
TEST(ChainFaults, ABoardThatFloodsSilencesNobodyElse) {
  support::Fault fault("board flooding the line, 1,000 bytes every 10 ms, rubbish and packets in others' names", "every frame of the other boards, on time");
  Chain chain(3);
  ASSERT_TRUE(chain.arm());
  std::mt19937 random(3);
  for (int i = 0; i < 6000; ++i) {  // a minute
    chain.desk.flood(2, random, 1000);
    fault.made();
    chain.perform(10, 10);
    ASSERT_TRUE(chain.host.armed()) << i;
  }
  const auto status = chain.status();
  EXPECT_GT(status.boards[1].unrelayed, 1000u);
  EXPECT_EQ(status.boards[0].frames_late + status.boards[1].frames_late, 0u);
  EXPECT_EQ(chain.desk.board(1).pulse(0), pulse_at(chain.rig, 1, 10));
}

}  // namespace
}  // namespace mien::link
