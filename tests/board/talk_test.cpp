// What a board answers.
#include "board/desk.hpp"

namespace mien::board {
namespace {

using wire::Order;
using wire::Reason;
using wire::State;
using wire::Type;

TEST(Board, DescribesItself) {
  Desk desk({4});
  desk.send(wire::Hello{4, 77, false});
  const auto d = desk.answer<wire::Description>();
  EXPECT_EQ(d.address, 4);
  EXPECT_EQ(d.token, 77);
  EXPECT_EQ(d.identity, 0xB0A2D000u);
  EXPECT_STREQ(d.firmware, "desk 1.0");
  EXPECT_EQ(d.outputs, 16);
  EXPECT_EQ(d.state, State::unconfigured);
  EXPECT_EQ(d.configuration, 0);
}

TEST(Board, TellsTheChecksumOfItsConfiguration) {
  Desk desk;
  const wire::Configure c = two_outputs();
  desk.send(c);
  EXPECT_TRUE(desk.acknowledged());
  desk.send(wire::Hello{0, 1, false});
  const auto d = desk.answer<wire::Description>();
  EXPECT_EQ(d.state, State::ready);
  EXPECT_EQ(d.configuration, wire::checksum(c));
}

TEST(Board, EchoesAHeartbeatWithItsOwnTimes) {
  Desk desk;
  desk.send(wire::Heartbeat{0, 9, 0xCAFE0001});
  const auto a = desk.answer<wire::Acknowledgement>();
  EXPECT_EQ(a.token, 9);
  EXPECT_EQ(a.of, Type::heartbeat);
  EXPECT_EQ(a.host_us, 0xCAFE0001);
  EXPECT_EQ(a.received_us, desk.now_us);
  EXPECT_EQ(a.sent_us, desk.now_us);
}

TEST(Board, RefusesToArmBeforeItIsConfigured) {
  Desk desk;
  desk.send(Order{Type::arm, 0, 5});
  const auto r = desk.answer<wire::Refusal>();
  EXPECT_EQ(r.reason, Reason::not_configured);
  EXPECT_EQ(r.token, 5);
  EXPECT_EQ(r.of, static_cast<std::uint8_t>(Type::arm));
  EXPECT_EQ(desk.board().state(), State::unconfigured);
}

TEST(Board, RefusesAbsurdLimitsAndThenCountsAsUnconfigured) {
  const auto refused = [](auto spoil) {
    Desk desk;
    desk.send(two_outputs());
    EXPECT_TRUE(desk.acknowledged());
    wire::Configure bad = two_outputs();
    spoil(bad);
    desk.send(bad);
    EXPECT_EQ(desk.board().state(), State::unconfigured);
    desk.send(Order{Type::arm, 0, 5});
    const auto refusal = desk.answer<wire::Refusal>();
    EXPECT_EQ(desk.refusal(), Reason::not_configured);
    return std::pair(refusal.reason, int(refusal.detail));
  };
  EXPECT_EQ(refused([](auto& c) { c.outputs[1].min = c.outputs[1].max; }), std::pair(Reason::bad_value, 1));
  EXPECT_EQ(refused([](auto& c) { c.outputs[0].rest = us(999); }), std::pair(Reason::bad_value, 0));
  EXPECT_EQ(refused([](auto& c) { c.outputs[0].slew = 0; }), std::pair(Reason::bad_value, 0));
  EXPECT_EQ(refused([](auto& c) { c.outputs[0].min = us(399); }), std::pair(Reason::bad_value, 0));
  EXPECT_EQ(refused([](auto& c) { c.outputs[0].max = us(2601); }), std::pair(Reason::bad_value, 0));
  EXPECT_EQ(refused([](auto& c) { c.watchdog.hold_ms = 0; }), std::pair(Reason::bad_value, 0xFF));
  EXPECT_EQ(refused([](auto& c) { c.outputs[1].output = 16; }), std::pair(Reason::unknown_output, 16));
}

TEST(Board, TakesAConfigurationInParts) {
  Desk desk;
  wire::Configure first = two_outputs(), last = two_outputs();
  first.count = 1, first.last = false;
  last.count = 1, last.first = false, last.outputs[0].output = 1;
  desk.send(first);
  EXPECT_EQ(desk.answer<wire::Acknowledgement>().state, State::unconfigured);
  desk.send(last);
  EXPECT_EQ(desk.answer<wire::Acknowledgement>().state, State::ready);
  const wire::Configure whole = two_outputs();
  desk.send(wire::Hello{0, 1, false});
  EXPECT_EQ(desk.answer<wire::Description>().configuration, wire::checksum(whole));
}

TEST(Board, RefusesALastPartWithoutAFirst) {
  Desk desk;
  wire::Configure last = two_outputs();
  last.first = false;
  desk.send(last);
  EXPECT_EQ(desk.refusal(), Reason::not_configured);
  EXPECT_EQ(desk.board().state(), State::unconfigured);
}

TEST(Board, RefusesToBeConfiguredWhileArmed) {
  const auto desk = armed_desk();
  desk->send(two_outputs());
  EXPECT_EQ(desk->refusal(), Reason::armed);
  EXPECT_EQ(desk->board().state(), State::waiting);
}

std::vector<std::uint8_t> sealed_line(std::vector<std::uint8_t> packet) {
  std::vector<std::uint8_t> out(wire::kMaxOnWire);
  out.resize(wire::seal({packet.data(), packet.size()}, out.data(), out.size()));
  return out;
}

TEST(Board, RefusesAFutureVersionByName) {
  Desk desk;
  desk.send_bytes(sealed_line({9, 0x05, 0, 42, 1, 2, 3}));
  const auto r = desk.answer<wire::Refusal>();
  EXPECT_EQ(r.reason, Reason::version);
  EXPECT_EQ(r.detail, 9);
  EXPECT_EQ(r.token, 42);
  EXPECT_EQ(desk.board().counters().refused, 1u);
}

TEST(Board, NeverMovesForAFrameOfAFutureVersion) {
  const auto desk = armed_desk();
  std::vector<std::uint8_t> packet = {wire::kVersion + 1, 0x10, 1, 0, 0, 0, 0, 0, 0, 1, 0, 0x80, 0x3E};
  desk->send_bytes(sealed_line(packet));
  EXPECT_EQ(desk->refusal(), Reason::version);
  desk->run_ms(50);
  EXPECT_EQ(desk->board().state(), State::waiting);
  EXPECT_EQ(desk->board().pulse(0), 0);
  packet[0] = wire::kVersion;  // the same bytes in this version do latch
  desk->send_bytes(sealed_line(packet));
  desk->run_ms(300);
  EXPECT_EQ(desk->board().counters().latched, 1u);
}

TEST(Board, RefusesTypesAndLengthsThatItDoesNotKnow) {
  Desk desk;
  desk.send_bytes(sealed_line({wire::kVersion, 0x7E, 0, 1}));
  EXPECT_EQ(desk.refusal(), Reason::unknown_type);
  desk.send_bytes(sealed_line({wire::kVersion, 0x05, 0, 1, 99}));
  EXPECT_EQ(desk.refusal(), Reason::malformed);
  desk.send_bytes(sealed_line({wire::kVersion, 0x10, 0}));
  EXPECT_EQ(desk.refusal(), Reason::malformed);
  EXPECT_EQ(desk.board().counters().refused, 3u);
  desk.send_bytes(sealed_line({wire::kVersion, 0x05, 0}));
  desk.send_bytes({5, 1, 2, 3, 4, 0});
  EXPECT_EQ(desk.board().counters().bad, 2u);
  EXPECT_TRUE(desk.answers.empty()) << "what carries no address, or no CRC, gets no answer";
}

TEST(Board, PassesOverAnswersOfOtherBoards) {
  Desk desk;
  desk.send(wire::Refusal{0, 1, 3, Reason::not_armed, 0});
  EXPECT_TRUE(desk.answers.empty());
}

TEST(Boards, OnOnePipeAnswerForTheirOwnAddress) {
  Desk desk({0, 1, 7});
  desk.send(wire::Hello{1, 5, false});
  EXPECT_EQ(desk.answer<wire::Description>().address, 1);
  EXPECT_TRUE(desk.answers.empty());
  desk.send(wire::Hello{3, 5, false});
  EXPECT_TRUE(desk.answers.empty());
  desk.send(wire::Hello{wire::kEveryone, 6, false});
  for (const int address : {0, 1, 7}) EXPECT_EQ(desk.answer<wire::Description>().address, address);
}

TEST(Boards, OnOnePipeTakeTheirShareOfOneFrame) {
  Desk desk({0, 1, 2});
  for (const std::uint8_t address : {0, 1}) {
    desk.send(two_outputs(address));
    desk.send(Order{Type::arm, address, 2});
  }
  wire::Frame frame = frame_for(0, 1, 0, us(1400));
  frame.count = 2;
  frame.blocks[1] = frame.blocks[0];
  frame.blocks[1].address = 1, frame.blocks[1].mask = 2, frame.blocks[1].pulse[1] = us(1600);
  desk.send(frame);
  desk.run_ms(90);
  EXPECT_EQ(desk.board(0).pulse(0), us(1400));
  EXPECT_EQ(desk.board(0).pulse(1), 0) << "not named by the frame";
  EXPECT_EQ(desk.board(1).pulse(0), 0);
  EXPECT_EQ(desk.board(1).pulse(1), us(1600));
  EXPECT_EQ(desk.board(2).state(), State::unconfigured);
  EXPECT_EQ(desk.board(2).counters().refused, 0u) << "no block for board 2";
}

TEST(Boards, WithoutAddressTakeTheFirstOneThatAHelloAssigns) {
  Desk desk({wire::kNoAddress});
  desk.send(wire::Hello{wire::kEveryone, 1, true});
  desk.send(wire::Hello{3, 2, false});
  desk.send(Order{Type::stop, wire::kEveryone, 3});
  EXPECT_TRUE(desk.answers.empty());
  desk.send(wire::Hello{3, 4, true});
  EXPECT_EQ(desk.answer<wire::Description>().address, 3);
  desk.send(wire::Hello{5, 6, true});
  EXPECT_TRUE(desk.answers.empty()) << "has an address already";
  EXPECT_EQ(desk.board().address(), 3);
}

TEST(Board, RefusesFramesWhileNotArmedAtMostEvery100MillisecondsAndCountsAll) {
  Desk desk;
  desk.send(two_outputs());
  EXPECT_TRUE(desk.acknowledged());
  for (std::uint16_t n = 0; n < 100; ++n) {  // 1 s, across the wrap of the clock
    desk.send(frame_for(0, n, desk.now_us, us(1500)));
    desk.run_ms(10);
  }
  EXPECT_EQ(desk.board().counters().refused, 100u);
  EXPECT_EQ(desk.board().counters().latched, 0u);
  EXPECT_EQ(desk.answers.size(), 10u);
  EXPECT_EQ(desk.refusal(), Reason::not_armed);
  EXPECT_EQ(desk.board().pulse(0), 0);
}

TEST(Board, RefusesAFrameForAnOutputThatItWasNotToldAbout) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 1, desk->now_us, us(1500), 0b1001));
  const auto r = desk->answer<wire::Refusal>();
  EXPECT_EQ(r.reason, Reason::unknown_output);
  EXPECT_EQ(r.detail, 3);
  EXPECT_EQ(r.token, wire::kUnasked);
  EXPECT_EQ(desk->board().counters().latched, 0u);
}

TEST(Board, ReportsWhereItsOutputsStand) {
  const auto desk = armed_desk();
  desk->send(frame_for(0, 12, desk->now_us, us(1600)));
  desk->run_ms(90);
  EXPECT_EQ(desk->answer<wire::StateReport>().token, wire::kUnasked) << "waiting -> running, told unasked";
  desk->send(Order{Type::query, 0, 8});
  auto r = desk->answer<wire::StateReport>();
  EXPECT_EQ(r.token, 8);
  EXPECT_EQ(r.state, State::running);
  EXPECT_EQ(r.sequence, 12);
  EXPECT_EQ(r.known, 1);
  EXPECT_EQ(r.driven, 1);
  EXPECT_EQ(r.pulse[0], us(1600));
  EXPECT_EQ(r.pulse[1], 0);
  desk->send(Order{Type::stop, 0, 9});
  EXPECT_TRUE(desk->acknowledged());
  desk->send(Order{Type::query, 0, 10});
  r = desk->answer<wire::StateReport>();
  EXPECT_EQ(r.state, State::ready);
  EXPECT_EQ(r.driven, 0);
  EXPECT_EQ(r.pulse[0], us(1600)) << "where it was last";
}

TEST(Board, FindsEveryHeartbeatInGarbage) {
  Desk desk;
  std::uint32_t seed = 12345;
  for (int round = 0; round < 500; ++round) {
    std::vector<std::uint8_t> garbage(seed % 500);
    for (auto& b : garbage) b = static_cast<std::uint8_t>((seed = seed * 1664525u + 1013904223u) >> 24);
    garbage.push_back(0);
    desk.send_bytes(garbage);
    desk.send(wire::Heartbeat{0, 1, static_cast<std::uint32_t>(round)});
    seed = seed * 1664525u + 1013904223u;
  }
  ASSERT_EQ(desk.answers.size(), 500u);
  for (std::uint32_t round = 0; round < 500; ++round) EXPECT_EQ(desk.answer<wire::Acknowledgement>().host_us, round);
  EXPECT_GT(desk.board().counters().bad, 500u);
}

}  // namespace
}  // namespace mien::board
