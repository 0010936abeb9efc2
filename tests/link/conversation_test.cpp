// The host's side against the boards' own core, in time that the test makes: no thread, no port, no waiting.
#include "link/conversation.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>
#include <random>
#include <sstream>

#include "link/desk.hpp"
#include "link/helpers.hpp"

namespace mien::link {
namespace {

using test::pulse_at;
using test::small_rig;
using testing::HasSubstr;
using Bytes = std::vector<std::uint8_t>;
constexpr std::int64_t kMs = 1'000'000;

/// A host and boards on one line. Every millisecond both say what they have to say.
struct Bench {
  explicit Bench(const show::Rig& a_rig = small_rig(), std::vector<DeskBoard> boards = {{0, 16}, {1, 16}})
      : rig(a_rig), host(a_rig), desk(std::make_unique<Desk>(boards, now, &log)) {
    host.begin(now);
  }
  void run(int ms) {
    for (int i = 0; i < ms; ++i) {
      now += kMs;
      host.step(now);
      if (plugged) exchange();
    }
  }
  void exchange() {
    desk->advance(now);
    Bytes out;
    while (!host.outbox().empty()) {
      const auto front = host.outbox().front();
      out.insert(out.end(), front.begin(), front.end());
      host.outbox().wrote(front.size());
    }
    if (on_the_way_out) on_the_way_out(out);
    desk->receive(out);
    Bytes in = std::exchange(desk->answers(), {});
    if (on_the_way_in) on_the_way_in(in);
    host.receive(in, now);
    host.step(now);
  }
  /// Whether the host gets there; a board that waits for frames in vain gives up after a while, so it has to be caught.
  bool becomes_armed(int within_ms) {
    host.set_goal(Goal::arm, now);
    for (int i = 0; i < within_ms && !host.armed(); ++i) run(1);
    return host.armed();
  }
  void arm() {
    run(300);
    host.set_goal(Goal::arm, now);
    run(100);
    ASSERT_TRUE(host.armed());
  }
  Frame frame(std::vector<double> deg) {
    Frame f;
    f.sequence = ++sequence;
    f.latch_ns = now + 20 * kMs;
    f.count = static_cast<int>(deg.size());
    for (std::size_t i = 0; i < deg.size(); ++i) f.pulse[i] = pulse_at(rig, i, deg[i]);
    return f;
  }
  /// Ticks at 100 Hz, each with the same setpoints.
  void perform(std::vector<double> deg, int ms) {
    for (int i = 0; i < ms; i += 10) host.send(frame(deg)), run(10);
  }
  std::uint16_t jaw() const { return desk->board(0).pulse(2); }
  std::uint16_t brow() const { return desk->board(1).pulse(0); }
  std::uint16_t lid() const { return desk->board(1).pulse(5); }

  show::Rig rig;
  std::int64_t now = 1'000'000 * kMs;
  std::ostringstream log;
  Conversation host;
  std::unique_ptr<Desk> desk;
  bool plugged = true;
  std::function<void(Bytes&)> on_the_way_out, on_the_way_in;
  std::uint32_t sequence = 0;
};

TEST(Conversation, ConfiguresEveryBoardAndMovesNothing) {
  Bench bench;
  bench.run(1000);
  EXPECT_TRUE(bench.host.configured());
  EXPECT_TRUE(bench.host.silent());
  EXPECT_FALSE(bench.host.armed());
  EXPECT_EQ(bench.host.trouble(bench.now), std::nullopt);
  EXPECT_THAT(bench.log.str(), Not(HasSubstr("pulse_us")));
  EXPECT_THAT(bench.log.str(), HasSubstr("board 0 state ready"));
  EXPECT_THAT(bench.log.str(), HasSubstr("board 1 state ready"));
}

TEST(Conversation, TellsBoardsTheRigsOwnLimits) {
  auto rig = small_rig();
  const auto peers = peers_of(rig);
  ASSERT_EQ(peers.size(), 2u);
  ASSERT_EQ(peers[1].limits.count, 2);
  const auto& lid = peers[1].limits.outputs[1];
  EXPECT_EQ(lid.output, 5);
  EXPECT_EQ(lid.min, 1000 * 16);
  EXPECT_EQ(lid.max, 2000 * 16);
  EXPECT_EQ(lid.rest, pulse_at(rig, 2, 10));  // reversed: 1388.9 us
  EXPECT_LT(lid.rest, 1500 * 16);
  // 300 deg/s over 1000 us in 90 deg are 53,333 units/s; a frame that latches 1 ms late leaves 9 ms of the next tick's 10.
  EXPECT_GT(lid.slew, 53'333u * 10 / 9);
  EXPECT_LT(lid.slew, 53'333u * 5 / 4);
  EXPECT_EQ(peers[0].limits.watchdog.hold_ms, 150);
}

TEST(Conversation, RefusesToTellBoardsWhatNoBoardAccepts) {
  for (const auto& spoil : std::vector<std::function<void(show::Actuator&)>>{
           [](auto& a) { a.output = 16; },
           [](auto& a) { a.output = -1; },
           [](auto& a) { a.pulse_min_us = 0; },
           [](auto& a) { a.pulse_max_us = std::nan(""); },
           [](auto& a) { a.velocity_deg_s = 0; },
           [](auto& a) { a.velocity_deg_s = std::nan(""); },
       }) {
    auto rig = small_rig();
    spoil(rig.actuators[0]);
    Bench bench(rig);
    bench.run(1000);
    EXPECT_FALSE(bench.host.configured());
    ASSERT_TRUE(bench.host.trouble(bench.now));
    EXPECT_THAT(bench.host.trouble(bench.now)->place, HasSubstr("jaw"));
  }
}

TEST(Conversation, ArmingAloneMovesNothingAndStartsFromRest) {
  Bench bench;
  bench.arm();
  EXPECT_THAT(bench.log.str(), Not(HasSubstr("pulse_us")));
  const auto pulses = bench.host.pulses();
  EXPECT_EQ(pulses[0], pulse_at(bench.rig, 0, -30));
  EXPECT_EQ(pulses[1], pulse_at(bench.rig, 1, 0));
  EXPECT_EQ(pulses[2], pulse_at(bench.rig, 2, 10));
}

TEST(Conversation, FramesDriveTheOutputsAtTheirLatchTime) {
  Bench bench;
  bench.arm();
  bench.perform({-30, 0, 10}, 100);
  bench.host.send(bench.frame({-28, 1, 9}));
  bench.run(15);
  EXPECT_EQ(bench.jaw(), pulse_at(bench.rig, 0, -30)) << "moved before its time";
  bench.run(15);
  EXPECT_EQ(bench.jaw(), pulse_at(bench.rig, 0, -28));
  EXPECT_EQ(bench.brow(), pulse_at(bench.rig, 1, 1));
  EXPECT_EQ(bench.lid(), pulse_at(bench.rig, 2, 9));
  EXPECT_EQ(bench.desk->board(0).counters().late, 0u);
}

TEST(Conversation, MotionAtTheVelocityLimitIsNeverHeldBackAndFasterMotionIs) {
  Bench bench;
  bench.arm();
  bench.perform({-30, 0, 10}, 100);
  const double step_deg = bench.rig.actuators[0].velocity_deg_s / bench.rig.tick_hz;
  for (int turn = 0; turn < 10; ++turn)
    for (double deg = turn % 2 ? 42 : -42; std::abs(deg) < 45; deg += turn % 2 ? -step_deg : step_deg) bench.perform({-30, deg, 10}, 10);
  bench.run(40);
  const auto counted = bench.desk->board(1).counters();
  // The first frame of the first turn leaps from 0 to -42 degrees: that, and nothing else, is held back.
  bench.perform({-30, 0, 10}, 500);
  EXPECT_LE(counted.slewed, 20u);
  EXPECT_EQ(counted.clamped, 0u);
  const auto before = bench.desk->board(1).counters().slewed;
  for (double deg = 0; deg < 42; deg += step_deg) bench.perform({-30, deg, 10}, 10);
  bench.run(40);
  EXPECT_EQ(bench.desk->board(1).counters().slewed, before);
  bench.perform({-30, -42, 10}, 50);
  EXPECT_GT(bench.desk->board(1).counters().slewed, before);
}

TEST(Conversation, StopSilencesWithOneMessageAndForgetsWhatWasQueued) {
  Bench bench;
  bench.arm();
  bench.perform({-30, 0, 10}, 200);
  ASSERT_NE(bench.jaw(), 0);
  for (int i = 0; i < 3; ++i) bench.host.send(bench.frame({-25, 5, 15}));
  bench.host.set_goal(Goal::stop, bench.now);
  bench.exchange();
  EXPECT_EQ(bench.jaw(), 0);
  EXPECT_EQ(bench.lid(), 0);
  EXPECT_TRUE(bench.host.silent());
  bench.run(500);
  EXPECT_EQ(bench.jaw(), 0);
  EXPECT_TRUE(bench.host.configured());
}

TEST(Conversation, DisarmingCreepsToRestAndThenFallsSilent) {
  Bench bench;
  bench.arm();
  bench.perform({-30, 0, 10}, 50);
  bench.perform({-20, 20, 0}, 500);
  ASSERT_EQ(bench.brow(), pulse_at(bench.rig, 1, 20));
  bench.host.set_goal(Goal::disarm, bench.now);
  bench.run(20);
  EXPECT_FALSE(bench.host.silent());
  EXPECT_NE(bench.brow(), 0);
  std::uint16_t last = bench.brow();
  while (bench.brow() != 0) {
    EXPECT_LE(bench.brow(), last);
    last = bench.brow();
    bench.run(1);
    ASSERT_LT(bench.now, 1'020'000 * kMs);
  }
  EXPECT_EQ(last, pulse_at(bench.rig, 1, 0));
  bench.run(200);
  EXPECT_TRUE(bench.host.silent());
}

TEST(Conversation, ArmedAgainAfterAStopItStartsWhereTheHeadWasLast) {
  Bench bench;
  bench.arm();
  bench.perform({-20, 20, 0}, 1000);
  bench.host.set_goal(Goal::stop, bench.now);
  bench.run(100);
  bench.arm();
  EXPECT_EQ(bench.host.pulses()[1], pulse_at(bench.rig, 1, 20));
}

TEST(Conversation, BackAfterALossItResumesFromWhereTheBoardsAre) {
  for (const int away_ms : {100, 300, 900, 5000}) {  // running, holding, creeping to rest, released
    Bench bench;
    bench.arm();
    bench.perform({-20, 20, 0}, 1000);
    bench.plugged = false;
    for (int i = 0; i < away_ms; ++i) bench.now += kMs, bench.desk->advance(bench.now);
    const auto where = bench.desk->board(1).pulse(0);
    EXPECT_EQ(where == 0, away_ms == 5000);
    bench.plugged = true;
    bench.host.begin(bench.now);
    bench.run(400);
    ASSERT_TRUE(bench.host.armed()) << away_ms;
    EXPECT_EQ(bench.host.pulses()[1], bench.brow() ? bench.brow() : pulse_at(bench.rig, 1, 0)) << away_ms;
    if (away_ms <= 300) {
      EXPECT_EQ(bench.brow(), pulse_at(bench.rig, 1, 20)) << "it moved though it was only away for a moment";
    }
  }
}

TEST(Conversation, BoardsFoundArmedByAnotherHostAreTakenToRestFirst) {
  Bench bench;
  bench.arm();
  bench.perform({-20, 20, 0}, 1000);
  bench.host = Conversation(bench.rig);
  bench.host.begin(bench.now);
  bench.run(50);
  EXPECT_EQ(bench.desk->board(1).state(), wire::State::disarming);
  bench.run(4000);
  EXPECT_TRUE(bench.host.configured());
  EXPECT_TRUE(bench.host.silent());
}

TEST(Conversation, SurvivesGarbageInBothDirectionsAndCountsIt) {
  Bench bench;
  std::mt19937 random(3);
  const auto spoil = [&](Bytes& bytes) {
    if (random() % 40 != 0) return;
    Bytes garbage(random() % 40);
    for (auto& byte : garbage) byte = static_cast<std::uint8_t>(random());
    const auto at = bytes.empty() ? 0 : random() % bytes.size();
    bytes.insert(bytes.begin() + static_cast<std::ptrdiff_t>(at), garbage.begin(), garbage.end());
  };
  bench.on_the_way_out = bench.on_the_way_in = spoil;
  bench.run(3000);
  EXPECT_TRUE(bench.host.configured());
  EXPECT_TRUE(bench.becomes_armed(3000));
  Status status;
  bench.host.describe(status, bench.now);
  EXPECT_GT(status.messages_garbled, 0u);
  EXPECT_GT(status.boards[0].frames_bad, 0u);
  bench.host.set_goal(Goal::stop, bench.now);
  bench.run(3000);
  EXPECT_TRUE(bench.host.silent());
}

TEST(Conversation, AsksAgainWhereAnAnswerIsLost) {
  Bench bench;
  std::mt19937 random(5);
  bench.on_the_way_in = [&](Bytes& bytes) {
    if (random() % 2 == 0) bytes.clear();
  };
  bench.run(5000);
  EXPECT_TRUE(bench.host.configured());
  EXPECT_TRUE(bench.becomes_armed(5000));
}

TEST(Conversation, DoesWithoutABoardThatIsMissingAndNamesIt) {
  Bench bench(small_rig(), {{0, 16}});
  bench.run(500);
  EXPECT_FALSE(bench.host.configured()) << "it may yet answer";
  bench.run(700);
  EXPECT_TRUE(bench.host.configured());
  const auto trouble = bench.host.trouble(bench.now);
  ASSERT_TRUE(trouble);
  EXPECT_EQ(trouble->severity, show::Severity::warning);
  EXPECT_THAT(trouble->place, HasSubstr("upper (address 1)"));
  EXPECT_THAT(trouble->what, HasSubstr("does not answer"));
  EXPECT_THAT(trouble->what, HasSubstr("without brow, lid"));
  EXPECT_TRUE(bench.becomes_armed(500));
  bench.perform({-20, 20, 0}, 500);
  EXPECT_EQ(bench.jaw(), pulse_at(bench.rig, 0, -20));
}

TEST(Conversation, SaysThatNobodyAnswersButNotAtOnce) {
  Bench bench;
  bench.plugged = false;
  bench.run(100);
  EXPECT_FALSE(bench.host.trouble(bench.now));
  bench.run(1000);
  ASSERT_TRUE(bench.host.trouble(bench.now));
  EXPECT_THAT(bench.host.trouble(bench.now)->what, HasSubstr("No board answers"));
}

TEST(Conversation, IsNotFooledByALineThatEchoes) {
  Bench bench;
  bench.on_the_way_out = [&](Bytes& bytes) {
    bench.host.receive(bytes, bench.now);
    bytes.clear();
  };
  bench.run(2000);
  EXPECT_FALSE(bench.host.configured());
  EXPECT_THAT(bench.host.trouble(bench.now)->what, HasSubstr("No board answers"));
}

TEST(Conversation, NamesTheActuatorThatABoardHasNoOutputFor) {
  Bench bench(small_rig(), {{0, 16}, {1, 4}});
  bench.run(1000);
  EXPECT_FALSE(bench.host.configured());
  const auto trouble = bench.host.trouble(bench.now);
  ASSERT_TRUE(trouble);
  EXPECT_THAT(trouble->what, HasSubstr("4 outputs"));
  EXPECT_THAT(trouble->what, HasSubstr("lid"));
  // The right board in its place is found by itself.
  bench.desk = std::make_unique<Desk>(std::vector<DeskBoard>{{0, 16}, {1, 16}}, bench.now);
  bench.run(2000);
  EXPECT_TRUE(bench.host.configured());
}

TEST(Conversation, SaysWhichProtocolABoardOfTheFutureSpeaks) {
  Bench bench;
  const auto reword = [](Bytes& bytes) {  // the same packets, as version 9 says them
    wire::Deframer deframer;
    Bytes out;
    for (const auto byte : bytes) {
      if (!deframer.push(byte)) continue;
      Bytes packet(deframer.packet().data, deframer.packet().data + deframer.packet().size);
      packet[0] = 9;
      std::uint8_t sealed[wire::kMaxOnWire];
      out.insert(out.end(), sealed, sealed + wire::seal({packet.data(), packet.size()}, sealed, sizeof sealed));
    }
    bytes = out;
  };
  bench.on_the_way_in = reword;
  bench.run(2000);
  EXPECT_FALSE(bench.host.configured());
  ASSERT_TRUE(bench.host.trouble(bench.now));
  EXPECT_THAT(bench.host.trouble(bench.now)->what, HasSubstr("protocol version 9"));
  EXPECT_THAT(bench.host.trouble(bench.now)->cure, HasSubstr("newer Mien"));
  bench.on_the_way_in = nullptr;
  bench.run(2000);
  EXPECT_TRUE(bench.host.configured());
}

TEST(Conversation, NoticesABoardThatRestarted) {
  Bench bench;
  bench.arm();
  bench.perform({-20, 20, 0}, 300);
  bench.desk = std::make_unique<Desk>(std::vector<DeskBoard>{{0, 16}, {1, 16}}, bench.now);
  int ms = 0;
  while (bench.host.armed() && ms < 100) bench.run(1), ++ms;
  EXPECT_LT(ms, 100);
  EXPECT_TRUE(bench.becomes_armed(500)) << "told its limits anew";
}

TEST(Conversation, NoticesBoardsThatFellSilent) {
  Bench bench;
  bench.run(500);
  EXPECT_EQ(bench.host.gone_quiet(bench.now), nullptr);
  bench.plugged = false;
  bench.run(1000);
  EXPECT_NE(bench.host.gone_quiet(bench.now), nullptr);
}

TEST(Conversation, ShowsARefusalWithItsReason) {
  Bench bench;
  bench.run(500);
  bench.host.send(bench.frame({-30, 0, 10}));  // nobody armed them
  bench.run(200);
  ASSERT_TRUE(bench.host.trouble(bench.now));
  EXPECT_THAT(bench.host.trouble(bench.now)->what, HasSubstr("frame"));
  EXPECT_THAT(bench.host.trouble(bench.now)->what, HasSubstr("armed"));
  Status status;
  bench.host.describe(status, bench.now);
  EXPECT_EQ(status.frames_refused, 2u);  // by each of the two boards
  bench.run(5000);
  EXPECT_FALSE(bench.host.trouble(bench.now));
}

// The bits that board/rp2040/main.cpp sets, and nothing for those that are no trouble.
TEST(Conversation, WarnsOfASupplyThatABoardFindsTooLowUntilItIsBack) {
  auto rig = small_rig();
  rig.boards[1].rails = {{"lids", 10, 6}, {"brows", 10, 6}};
  Bench bench(rig, {{0, 16}, {1, 16, wire::kMaxLines, 2}});
  bench.run(500);
  ASSERT_FALSE(bench.host.trouble(bench.now));
  board::Senses senses;
  senses.rail[0].voltage_mv = 5'950, senses.rail[1].voltage_mv = 4'210, senses.faults = wire::kLowVoltage | wire::kOverrun;
  bench.desk->sense(1, senses);
  bench.run(300);
  const auto trouble = bench.host.trouble(bench.now);
  ASSERT_TRUE(trouble);
  EXPECT_EQ(trouble->severity, show::Severity::warning);
  EXPECT_EQ(trouble->place, "board upper (address 1), rail brows");
  EXPECT_THAT(trouble->what, HasSubstr("too low: 4.2 V"));
  EXPECT_THAT(trouble->cure, HasSubstr("battery"));
  senses.rail[1].voltage_mv = 5'950, senses.faults = wire::kOverrun;
  bench.desk->sense(1, senses);
  bench.run(300);
  ASSERT_TRUE(bench.host.trouble(bench.now));
  EXPECT_EQ(bench.host.trouble(bench.now)->place, "board upper (address 1)");
  EXPECT_THAT(bench.host.trouble(bench.now)->what, HasSubstr("lost bytes"));
  senses.faults = wire::kHot;
  bench.desk->sense(1, senses);
  bench.run(300);
  EXPECT_EQ(bench.host.trouble(bench.now), std::nullopt) << "a fan that runs is no trouble";
}

TEST(Conversation, WarnsOfALowSupplyWithoutVoltsWhereNoneAreMeasured) {
  Bench bench;
  bench.run(500);
  board::Senses senses;
  senses.faults = wire::kLowVoltage;
  bench.desk->sense(0, senses);
  bench.run(300);
  ASSERT_TRUE(bench.host.trouble(bench.now));
  EXPECT_EQ(bench.host.trouble(bench.now)->place, "board lower (address 0)");
  EXPECT_THAT(bench.host.trouble(bench.now)->what, HasSubstr("too low; "));
}

TEST(Conversation, NamesTheBoardThatRunsOtherFirmwareAndStillPerforms) {
  DeskBoard newer{1, 16};
  newer.firmware = "mien 2";
  Bench bench(small_rig(), {{0, 16}, newer});
  bench.arm();
  const auto trouble = bench.host.trouble(bench.now);
  ASSERT_TRUE(trouble);
  EXPECT_EQ(trouble->severity, show::Severity::warning);
  EXPECT_EQ(trouble->place, "board upper (address 1)");
  EXPECT_EQ(trouble->what, "It runs firmware mien 2, board lower runs simulated");
  bench.perform({-25, 0, 10}, 500);
  EXPECT_EQ(bench.jaw(), pulse_at(bench.rig, 0, -25));
}

TEST(Conversation, CountsAFrameAsAcknowledgedWhenTheLastBoardLatchedIt) {
  Bench bench;
  bench.arm();
  bench.perform({-30, 0, 10}, 500);
  bench.run(100);
  Status status;
  bench.host.describe(status, bench.now);
  EXPECT_EQ(status.frames_acknowledged, 50u);
  EXPECT_EQ(status.boards[0].frames_latched, 50u);
  EXPECT_EQ(status.boards[1].frames_latched, 50u);
}

TEST(Conversation, MeasuresEachBoardsClock) {
  Bench bench;
  bench.run(1000);
  const auto offsets = [&] {
    Status status;
    bench.host.describe(status, bench.now);
    return std::pair(status.boards[0].clock_offset_us, status.boards[1].clock_offset_us);
  }();
  EXPECT_EQ(offsets.first - offsets.second, 1'000'003);  // as the desk sets them apart
}

TEST(Conversation, KnowsWhetherARigIsTheSameForTheBoards) {
  Conversation host(small_rig());
  auto rig = small_rig();
  rig.actuators[0].acceleration_deg_s2 = 1;
  rig.controls.push_back({});
  EXPECT_TRUE(host.serves(rig));
  rig.actuators[0].velocity_deg_s += 1;
  EXPECT_FALSE(host.serves(rig));
}

}  // namespace
}  // namespace mien::link
