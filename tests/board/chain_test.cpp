// What a board does for its neighbours in a chain, and for the lines beside its servos.
#include <gtest/gtest.h>

#include <algorithm>

#include "board/desk.hpp"

namespace mien::board {
namespace {

using Line = std::vector<std::uint8_t>;

template <class Message>
Line line_of(const Message& message) {
  Line out(wire::kMaxOnWire);
  out.resize(encode(message, out.data(), out.size()));
  return out;
}

Line repeated(Repeater& repeater, const Line& bytes) {
  Line out;
  for (const auto byte : bytes) {
    std::uint8_t some[Repeater::kMost];
    const int count = repeater.repeat(byte, some);
    out.insert(out.end(), some, some + count);
  }
  return out;
}

TEST(Repeater, RepeatsNothingWithoutAnAddressAndEverythingWithOneFromTheNextPacketOn) {
  Repeater repeater;
  const Line beat = line_of(wire::Heartbeat{1, 2, 0});
  EXPECT_TRUE(repeated(repeater, beat).empty());
  const Line half(beat.begin(), beat.begin() + 5), rest(beat.begin() + 5, beat.end());
  EXPECT_TRUE(repeated(repeater, half).empty());
  repeater.set_address(0);
  EXPECT_TRUE(repeated(repeater, rest).empty());
  EXPECT_EQ(repeated(repeater, beat), beat);
  for (const auto byte : beat) {  // at once: each byte goes as it comes
    std::uint8_t out[Repeater::kMost];
    ASSERT_EQ(repeater.repeat(byte, out), 1);
    EXPECT_EQ(out[0], byte);
  }
}

TEST(Repeater, SpoilsOnlyTheHelloThatAssignsTheBoardsOwnAddress) {
  for (const int own : {0, 1, 5}) {
    Repeater repeater;
    repeater.set_address(static_cast<std::uint8_t>(own));
    repeated(repeater, {0});
    for (const int to : {0, 1, 5, 7})
      for (const bool assign : {false, true}) {
        const Line hello = line_of(wire::Hello{static_cast<std::uint8_t>(to), 9, assign, false});
        wire::Deframer below;
        int packets = 0;
        for (const auto byte : repeated(repeater, hello)) packets += below.push(byte);
        EXPECT_EQ(packets, to == own && assign ? 0 : 1) << own << ' ' << to << ' ' << assign;
        EXPECT_EQ(below.counters().malformed, 0u) << "taken back is not garbled";
        EXPECT_EQ(below.counters().given_up, packets ? 0u : 1u);
      }
  }
}

// Found by tests/fuzz/repeater.cpp (regressions/repeater/hello_of_another_version): only the first bytes of a packet mean the same in every version.
TEST(Repeater, PassesOnWhatAnotherVersionMeansByTheseBytes) {
  Repeater repeater;
  repeater.set_address(0);
  repeated(repeater, {0});
  const Line packet = {wire::kVersion + 1, static_cast<std::uint8_t>(wire::Type::hello), 0, 9, 1};
  Line line(wire::kMaxOnWire);
  line.resize(wire::seal({packet.data(), packet.size()}, line.data(), line.size()));
  EXPECT_EQ(repeated(repeater, line), line);
}

// Found by tests/fuzz/repeater.cpp (regressions/repeater/hello_without_a_body): with token 60, the first byte of the CRC is 01.
TEST(Repeater, PassesOnAHelloThatEndsBeforeItsBodyWhateverItsCrc) {
  Repeater repeater;
  repeater.set_address(1);
  repeated(repeater, {0});
  for (int token = 0; token < 256; ++token) {
    const Line packet = {wire::kVersion, static_cast<std::uint8_t>(wire::Type::hello), 1, static_cast<std::uint8_t>(token)};
    Line line(wire::kMaxOnWire);
    line.resize(wire::seal({packet.data(), packet.size()}, line.data(), line.size()));
    EXPECT_EQ(repeated(repeater, line), line) << token;
  }
}

/// A board between a host above and a board below.
struct Between {
  Line up, down;
  std::size_t room = 4096;
  Board board;
  explicit Between(std::uint8_t address = 1, About about = {}) : board(with(about, address), port()) {}
  static About with(About about, std::uint8_t address) {
    about.address = address;
    return about;
  }
  Port port() {
    Port p;
    p.context = this;
    p.write = [](void* me, const std::uint8_t* bytes, std::size_t size) { static_cast<Between*>(me)->up.insert(static_cast<Between*>(me)->up.end(), bytes, bytes + size); };
    p.forward = [](void* me, const std::uint8_t* bytes, std::size_t size) { static_cast<Between*>(me)->down.insert(static_cast<Between*>(me)->down.end(), bytes, bytes + size); };
    p.room = [](void* me) { return static_cast<Between*>(me)->room; };
    return p;
  }
  void from_host(const Line& bytes) { for (const auto b : bytes) board.receive(b, 0); }
  void from_below(const Line& bytes) { for (const auto b : bytes) board.receive_below(b, 0); }
};

TEST(Board, PassesWholePacketsFromBelowBetweenItsOwn) {
  Between one;
  wire::Description other;
  other.address = 2;
  const Line answer = line_of(other);
  one.from_below({answer.begin(), answer.begin() + 9});
  one.from_host({0});
  one.from_host(line_of(wire::Heartbeat{1, 2, 0}));  // its own answer falls into the other's middle
  one.from_below({answer.begin() + 9, answer.end()});
  wire::Deframer host;
  std::vector<int> from;
  for (const auto byte : one.up)
    if (host.push(byte)) from.push_back(host.packet().data[2]);
  EXPECT_EQ(from, (std::vector<int>{1, 2}));
  EXPECT_EQ(host.counters().malformed + host.counters().bad_crc, 0u);
}

TEST(Board, DropsAndCountsFromBelowWhatIsNoAnswerOrFindsNoRoom) {
  Between one;
  one.from_below(line_of(wire::Order{wire::Type::stop, 1, 1}));  // no board gives orders
  wire::Description liar;
  liar.address = 1;
  one.from_below(line_of(liar));  // nor speaks in another's name
  Line garbled = line_of(liar);
  garbled[6] ^= 0x40;
  one.from_below(garbled);
  liar.address = 2;
  one.room = 300;
  one.from_below(line_of(liar));
  EXPECT_TRUE(one.up.empty());
  EXPECT_EQ(one.board.counters().unrelayed, 4u);
}

TEST(Board, WithoutAnAddressSaysSoTwiceASecond) {
  Between one(wire::kNoAddress);
  for (int ms = 1; ms <= 1100; ++ms) one.board.tick(static_cast<std::uint32_t>(ms) * 1000);
  wire::Deframer host;
  int descriptions = 0;
  for (const auto byte : one.up) {
    wire::Description d;
    if (host.push(byte) && decode(host.packet(), d) && d.address == wire::kNoAddress) ++descriptions;
  }
  EXPECT_EQ(descriptions, 3);
}

TEST(Board, GivesItsAddressUpWhenTold) {
  Desk desk({wire::kNoAddress});
  desk.send(wire::Hello{3, 1, true, false});
  desk.send(wire::Hello{3, 2, false, true});
  EXPECT_EQ(desk.board().address(), wire::kNoAddress);
  desk.send(wire::Hello{4, 3, true, false});
  EXPECT_EQ(desk.board().address(), 4);
}

TEST(Board, StartsPulsesInStepWithTheSharedClock) {
  Desk desk({0});
  wire::Configure m = two_outputs();
  m.timings = 1;
  m.timing[0] = {1, 5000, 1250};
  desk.send(m);
  EXPECT_TRUE(desk.acknowledged());
  desk.send(wire::Clock{0, 1, 1'000'000, 500'000, 50'000});  // 50 ppm
  const std::uint32_t now = 3'000'000, shared = 3'500'100;   // 2 s at 50 ppm: 100 us
  EXPECT_EQ(desk.board().shared_us(now), shared);
  EXPECT_EQ((shared + desk.board().until_pulse_us(0, now)) % 20'000, 0u);
  EXPECT_EQ((shared + desk.board().until_pulse_us(1, now)) % 5'000, 1250u);
}

TEST(Board, RefusesTwoTimingsOnOneTimer) {
  About about;
  about.outputs_per_timer = 2;
  Between one(0, about);
  wire::Configure m = two_outputs();
  m.timings = 1;
  m.timing[0] = {1, 5000, 0};
  one.from_host(line_of(m));
  EXPECT_EQ(one.board.state(), wire::State::unconfigured);
  m.timings = 2;
  m.timing[1] = {0, 5000, 0};
  one.from_host(line_of(m));
  EXPECT_EQ(one.board.state(), wire::State::ready);
}

// ---- lines beside the servos

wire::ChannelSetup code(wire::CodeOrder order) {
  wire::ChannelSetup c;
  c.kind = wire::ChannelKind::code, c.line = 0, c.lines = 3, c.order = order, c.strobe = 7, c.settle_ms = 4;
  return c;
}

int number_on(const Channels& channels) {
  int number = 0;
  for (int n = 0; n < 3; ++n) number |= channels.level(n) ? 1 << n : 0;
  return number;
}

TEST(Channels, AStrobedCodeShowsNoNumberThatWasNotAskedFor) {
  Channels channels(8);
  ASSERT_TRUE(channels.add(code(wire::CodeOrder::strobe)).ok());
  int last = 0, valid_since = 0;
  std::vector<int> read;
  for (int ms = 0; ms < 400; ++ms) {
    if (ms == 100) channels.set(0, 5);
    if (ms == 200) channels.set(0, 2);
    if (ms == 203) channels.set(0, 7);  // before it settled
    channels.tick(static_cast<std::uint32_t>(ms) * 1000, {}, 0);
    const int number = number_on(channels);
    if (number != last) valid_since = ms;
    last = number;
    if (channels.level(7) == 0) continue;
    EXPECT_GE(ms - valid_since, 4) << "strobed before the lines had settled, at " << ms;
    if (read.empty() || read.back() != number) read.push_back(number);
  }
  EXPECT_EQ(read, (std::vector<int>{0, 5, 7}));
}

TEST(Channels, AGrayCodeChangesOneLineAtATimeAndStandsAtEachNumber) {
  Channels channels(8);
  ASSERT_TRUE(channels.add(code(wire::CodeOrder::gray)).ok());
  channels.set(0, 5);
  int last = number_on(channels), changed = 0;
  std::vector<int> seen;
  for (int ms = 10; ms < 100; ++ms) {
    channels.tick(static_cast<std::uint32_t>(ms) * 1000, {}, 0);
    const int now = number_on(channels), flipped = now ^ last;
    if (!flipped) continue;
    EXPECT_EQ(flipped & (flipped - 1), 0) << "two lines at once";
    if (!seen.empty()) {
      EXPECT_GE(ms - changed, 4);
    }
    changed = ms, last = now;
    seen.push_back(now);
  }
  EXPECT_EQ(seen, (std::vector<int>{1, 3, 2, 6, 7}));  // Gray code of 1 to 5
}

TEST(Channels, AFanFollowsHeatByItselfWithHysteresis) {
  Channels channels(4);
  wire::ChannelSetup fan;
  fan.kind = wire::ChannelKind::fan, fan.line = 3, fan.rail = 0, fan.on_ma = 2000, fan.off_ma = 1000, fan.smooth_s = 10;
  ASSERT_TRUE(channels.add(fan).ok());
  Senses senses;
  std::uint32_t now = 0;
  const auto seconds_until = [&](bool on, std::uint16_t ma) {
    senses.rail[0].current_ma = ma;
    int tenths = 0;
    while ((channels.level(3) != 0) != on && tenths < 2000) channels.tick(now += 100'000, senses, 0), ++tenths;
    return tenths / 10.0;
  };
  // From 0 to 3000 mA the smoothed current passes 2000 after ln 3 time constants; back to 0 it passes 1000 from 2000 after ln 2.
  EXPECT_NEAR(seconds_until(true, 3000), 10.99, 0.3);
  EXPECT_TRUE(channels.hot());
  EXPECT_NEAR(seconds_until(false, 0), 6.93, 0.3);
  EXPECT_FALSE(channels.hot());
}

TEST(Channels, RefuseLinesThatAreTakenOrNotThere) {
  Channels channels(7);
  EXPECT_EQ(channels.add(code(wire::CodeOrder::strobe)).reason, wire::Reason::unknown_channel) << "strobe on line 7 of 7";
  ASSERT_TRUE(channels.add(code(wire::CodeOrder::gray)).ok());
  wire::ChannelSetup lamp;
  lamp.channel = 1, lamp.line = 2;
  EXPECT_EQ(channels.add(lamp).reason, wire::Reason::bad_value);
  lamp.line = 3;
  EXPECT_TRUE(channels.add(lamp).ok());
}

TEST(Board, FollowsChannelsOfFramesAndRestsThemWhenItStops) {
  About about;
  about.lines = 4;
  Between one(0, about);
  wire::Configure m = two_outputs();
  m.channels = 1;
  m.channel[0].kind = wire::ChannelKind::dimmer, m.channel[0].line = 2, m.channel[0].rest = 10;
  one.from_host(line_of(m));
  one.board.tick(1000);
  EXPECT_EQ(one.board.level(2), 10);
  one.from_host(line_of(wire::Order{wire::Type::arm, 0, 1}));
  wire::Frame frame;
  frame.sequence = 1, frame.count = 1;
  frame.blocks[0].channels = 1, frame.blocks[0].value[0] = 200;
  one.from_host(line_of(frame));
  one.board.tick(2000);
  EXPECT_EQ(one.board.level(2), 200);
  one.from_host(line_of(wire::Order{wire::Type::stop, 0, 1}));
  EXPECT_EQ(one.board.level(2), 10);
}

}  // namespace
}  // namespace mien::board
