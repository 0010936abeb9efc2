#include "wire/codec.hpp"

#include <gtest/gtest.h>

#include "wire/random_messages.hpp"

namespace mien::wire {
namespace {

using examples::Packet;

/// The packet in a line of exactly one.
Packet packet_in(const Packet& line) {
  Deframer deframer;
  for (const std::uint8_t byte : line)
    if (deframer.push(byte)) return {deframer.packet().data, deframer.packet().data + deframer.packet().size};
  return {};
}

template <class Message>
bool decodes(const Packet& packet) {
  Message out;
  return decode(Bytes{packet.data(), packet.size()}, out);
}

template <class Message>
void comes_back(const Message& sent) {
  const Packet line = examples::encoded(sent);
  ASSERT_FALSE(line.empty());
  const Packet packet = packet_in(line);
  Message received;
  ASSERT_TRUE(decode(Bytes{packet.data(), packet.size()}, received));
  ASSERT_EQ(examples::encoded(received), line);
}

TEST(Codec, BringsEveryMessageBackUnchanged) {
  RandomMessages random(1);
  for (int round = 0; round < 1000; ++round) {
    comes_back(random.hello());
    comes_back(random.configure());
    comes_back(random.order());
    comes_back(random.heartbeat());
    comes_back(random.clock());
    comes_back(random.frame());
    comes_back(random.description());
    comes_back(random.acknowledgement());
    comes_back(random.state_report());
    comes_back(random.refusal());
    comes_back(random.store_begin());
    comes_back(random.store_chunk());
    comes_back(random.store_commit());
    comes_back(random.ask_playback());
    comes_back(random.lead());
    comes_back(random.playback());
  }
}

template <class Message>
void only_the_whole_decodes(const Message& message) {
  Packet packet = packet_in(examples::encoded(message));
  const std::size_t whole = packet.size();
  for (std::size_t size = 0; size < whole; ++size) {
    const Packet cut(packet.begin(), packet.begin() + static_cast<std::ptrdiff_t>(size));
    EXPECT_FALSE(decodes<Message>(cut)) << "cut to " << size << " of " << whole;
  }
  packet.push_back(0);
  EXPECT_FALSE(decodes<Message>(packet)) << "one byte more than " << whole;
}

TEST(Codec, RefusesEveryMessageCutOrLengthened) {
  only_the_whole_decodes(examples::hello());
  only_the_whole_decodes(examples::configure());
  only_the_whole_decodes(examples::order(Type::stop, 1));
  only_the_whole_decodes(examples::heartbeat());
  only_the_whole_decodes(examples::clock());
  only_the_whole_decodes(examples::description());
  only_the_whole_decodes(examples::acknowledgement());
  only_the_whole_decodes(examples::state_report());
  only_the_whole_decodes(examples::refusal());
  only_the_whole_decodes(examples::store_begin());
  only_the_whole_decodes(examples::store_chunk());
  only_the_whole_decodes(examples::store_commit());
  only_the_whole_decodes(examples::ask_playback());
  only_the_whole_decodes(examples::lead());
  only_the_whole_decodes(examples::playback());
}

// A frame cut between two blocks is a frame; anywhere else it is none.
TEST(Codec, RefusesAFrameCutWithinABlock) {
  const Packet packet = packet_in(examples::encoded(examples::frame()));
  ASSERT_EQ(packet.size(), 25u);
  for (std::size_t size = 0; size < packet.size(); ++size) {
    const Packet cut(packet.begin(), packet.begin() + static_cast<std::ptrdiff_t>(size));
    EXPECT_EQ(decodes<Frame>(cut), size == 8 || size == 15 || size == 20) << size;
  }
}

TEST(Codec, FitsAFrameFor21ServosOnThreeBoardsInto64BytesOnTheWire) {
  Frame frame;
  frame.sequence = 0xFFFF, frame.latch_us = 0xFFFFFFFF, frame.count = 3;
  const int outputs[] = {11, 6, 4};
  for (int i = 0; i < 3; ++i) {
    frame.blocks[i].address = static_cast<std::uint8_t>(i);
    frame.blocks[i].mask = static_cast<std::uint16_t>((1 << outputs[i]) - 1);
    for (auto& pulse : frame.blocks[i].pulse) pulse = 24001;
  }
  EXPECT_EQ(examples::encoded(frame).size(), 63u);
}

TEST(Codec, KeepsEveryPacketWithin252BytesOnTheWire) {
  Configure all;
  all.count = kMaxOutputs;
  EXPECT_EQ(examples::encoded(all).size(), 194u);
  Frame frame;
  frame.count = 6;  // and no channels
  for (int i = 0; i < 8; ++i) {
    frame.blocks[i].address = static_cast<std::uint8_t>(i);
    frame.blocks[i].mask = 0xFFFF;
    for (auto& pulse : frame.blocks[i].pulse) pulse = 1;
  }
  EXPECT_EQ(examples::encoded(frame).size(), 222u);
  frame.count = 7;
  EXPECT_TRUE(examples::encoded(frame).empty()) << "more than a packet holds: the host sends two";
}

TEST(Codec, EncodesNothingThatItWouldNotDecode) {
  Frame frame = examples::frame();
  frame.blocks[0].pulse[2] = 0;
  EXPECT_TRUE(examples::encoded(frame).empty()) << "pulse 0";
  frame = examples::frame();
  frame.blocks[0].mask = 0;
  EXPECT_TRUE(examples::encoded(frame).empty()) << "empty block";
  frame = examples::frame();
  frame.blocks[1].address = frame.blocks[0].address;
  EXPECT_TRUE(examples::encoded(frame).empty()) << "two blocks for one board";
  frame.count = kMaxBlocks + 1;
  EXPECT_TRUE(examples::encoded(frame).empty()) << "too many blocks";
  Configure configure;
  configure.count = kMaxOutputs + 1;
  EXPECT_TRUE(examples::encoded(configure).empty());
  EXPECT_TRUE(examples::encoded(Order{Type::frame, 0, 1}).empty());
  Description description;
  description.firmware[0] = '\n';
  EXPECT_TRUE(examples::encoded(description).empty());
  StateReport report;
  report.outputs = kMaxOutputs + 1;
  EXPECT_TRUE(examples::encoded(report).empty());
}

TEST(Codec, RefusesFramesThatBreakARule) {
  const Packet good = packet_in(examples::encoded(examples::frame()));
  ASSERT_TRUE(decodes<Frame>(good));
  Packet bad = good;
  bad[15] = bad[20] = bad[8];
  EXPECT_FALSE(decodes<Frame>(bad)) << "two blocks for one board";
  bad = good;
  bad[18] = bad[19] = 0;
  EXPECT_FALSE(decodes<Frame>(bad)) << "pulse 0";
  const Packet empty_block = {kVersion, 0x10, 0, 0, 0, 0, 0, 0, 5, 0, 0, 0};  // neither pulses nor values
  EXPECT_FALSE(decodes<Frame>(empty_block));
  // PROTOCOL.md, "10 frame": a board's values stand right behind its pulses. Found by tests/fuzz/wire_host.cpp (regressions/wire_host/values_apart).
  const Packet pulses_0 = {0, 1, 0, 0xC0, 0x5D}, pulses_1 = {1, 1, 0, 0xC0, 0x5D}, values_0 = {0, 0, 0, 1, 4};
  const auto frame = [](std::initializer_list<Packet> blocks) {
    Packet packet = {kVersion, 0x10, 0, 0, 0, 0, 0, 0};
    for (const Packet& block : blocks) packet.insert(packet.end(), block.begin(), block.end());
    return packet;
  };
  EXPECT_TRUE(decodes<Frame>(frame({pulses_0, values_0, pulses_1})));
  EXPECT_TRUE(decodes<Frame>(frame({values_0, pulses_1})));
  EXPECT_FALSE(decodes<Frame>(frame({pulses_0, pulses_1, values_0}))) << "values apart from the pulses";
  EXPECT_FALSE(decodes<Frame>(frame({values_0, pulses_0}))) << "values before the pulses";
  EXPECT_FALSE(decodes<Frame>(frame({pulses_0, values_0, values_0}))) << "values twice";
  EXPECT_FALSE(decodes<Frame>(frame({pulses_0, pulses_0}))) << "pulses twice";
}

TEST(Codec, RefusesValuesBeyondTheirTables) {
  Packet hello = packet_in(examples::encoded(examples::hello()));
  hello[4] = 3;
  EXPECT_FALSE(decodes<Hello>(hello));
  Packet configure = packet_in(examples::encoded(examples::configure()));
  configure[4] = 4;
  EXPECT_FALSE(decodes<Configure>(configure));
  Packet acknowledgement = packet_in(examples::encoded(examples::acknowledgement()));
  acknowledgement[5] = 7;
  EXPECT_FALSE(decodes<Acknowledgement>(acknowledgement));
}

// PROTOCOL.md, "24 lead": address FF, token 0. Found by tests/fuzz/wire_host.cpp (regressions/wire_host/lead_to_one_board).
TEST(Codec, RefusesALeadThatIsNotForEveryoneOrExpectsAnAnswer) {
  Packet packet = packet_in(examples::encoded(examples::lead()));
  ASSERT_TRUE(decodes<Lead>(packet));
  for (const std::size_t at : {2u, 3u}) {
    Packet changed = packet;
    changed[at] = 7;
    EXPECT_FALSE(decodes<Lead>(changed)) << "byte " << at;
  }
}

TEST(Codec, RecognisesAFutureVersionWithoutReadingOn) {
  for (const auto& example : examples::all()) {
    Packet packet = packet_in(example.bytes);
    packet[0] = 3;
    Head head;
    EXPECT_EQ(read_head({packet.data(), packet.size()}, head), Reading::other_version) << example.name;
    EXPECT_EQ(head.version, 3);
    EXPECT_EQ(head.type, packet[1]);
    const bool any = decodes<Hello>(packet) || decodes<Configure>(packet) || decodes<Order>(packet) ||
                     decodes<Heartbeat>(packet) || decodes<Clock>(packet) || decodes<Frame>(packet) ||
                     decodes<Description>(packet) || decodes<Acknowledgement>(packet) || decodes<StateReport>(packet);
    EXPECT_FALSE(any) << example.name;
    EXPECT_EQ(decodes<Refusal>(packet), example.name == "refusal") << "refusals read the same in every version";
  }
}

TEST(Codec, FindsNoHeadInPacketsThatAreTooShort) {
  Head head;
  const std::uint8_t bytes[] = {1, 1, 0};
  for (std::size_t size = 0; size <= 3; ++size) EXPECT_EQ(read_head({bytes, size}, head), Reading::malformed) << size;
}

template <class Message>
void survives(const Packet& packet) {
  Message out;
  const bool read = decode(Bytes{packet.data(), packet.size()}, out);
  EXPECT_TRUE(!read || !examples::encoded(out).empty());
}

TEST(Codec, SurvivesRandomBodiesUnderEveryType) {
  RandomMessages random(3);
  static constexpr std::uint8_t kTypes[] = {1, 2, 3, 4, 5, 6, 7, 8, 0x10, 0x81, 0x82, 0x83, 0x84};
  for (int round = 0; round < 20'000; ++round) {
    Packet packet(static_cast<std::size_t>(random.below(kMaxPacket + 1)));
    for (auto& b : packet) b = random.coin() ? random.u8() : static_cast<std::uint8_t>(random.below(4));
    if (packet.size() > 1) packet[0] = kVersion, packet[1] = kTypes[random.below(13)];
    survives<Hello>(packet), survives<Configure>(packet), survives<Order>(packet), survives<Heartbeat>(packet);
    survives<Clock>(packet), survives<Frame>(packet), survives<Description>(packet), survives<Acknowledgement>(packet);
    survives<StateReport>(packet), survives<Refusal>(packet);
  }
}

TEST(Codec, KnowsSaneLimitsFromAbsurdOnes) {
  const OutputLimits good = {0, 16000, 32000, 24000, 60000};
  EXPECT_TRUE(sane(good));
  const auto with = [&](auto change) {
    OutputLimits l = good;
    change(l);
    return sane(l);
  };
  EXPECT_FALSE(with([](auto& l) { l.output = kMaxOutputs; }));
  EXPECT_FALSE(with([](auto& l) { l.min = l.max = l.rest; }));
  EXPECT_FALSE(with([](auto& l) { l.min = 33000; }));
  EXPECT_FALSE(with([](auto& l) { l.rest = 15999; }));
  EXPECT_FALSE(with([](auto& l) { l.rest = 32001; }));
  EXPECT_FALSE(with([](auto& l) { l.slew = 0; }));
  EXPECT_FALSE(with([](auto& l) { l.slew = kSlewCeiling + 1; }));
  EXPECT_FALSE(with([](auto& l) { l.min = 6399; }));
  EXPECT_FALSE(with([](auto& l) { l.max = 41601; }));
  EXPECT_TRUE(with([](auto& l) { l.min = 6400, l.max = 41600; })) << "400 and 2600 us themselves";
  EXPECT_TRUE(sane(Watchdog{1, 0, 1}));
  EXPECT_FALSE(sane(Watchdog{0, 0, 1}));
  EXPECT_FALSE(sane(Watchdog{1, 0, 0}));
}

}  // namespace
}  // namespace mien::wire
