// Bytes into messages, held against the tables of the MIDI 1.0 Detailed Specification 4.2; time code's bytes against the MIDI Time Code specification's
// own example (01:37:52:16 at 30 frames).
#include "live/midi.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>
#include <vector>

namespace mien::live {
namespace {

using MidiKind = MidiMessage::Kind;
using Bytes = std::vector<std::uint8_t>;

std::vector<MidiMessage> parse(MidiParser& parser, const Bytes& bytes) {
  std::vector<MidiMessage> messages;
  for (const auto byte : bytes)
    if (const auto m = parser.feed(byte)) messages.push_back(*m);
  return messages;
}
std::vector<MidiMessage> parse(const Bytes& bytes) {
  MidiParser parser;
  return parse(parser, bytes);
}
MidiMessage voice(MidiKind kind, int channel, int number, int value) {
  return {kind, static_cast<std::uint8_t>(channel), static_cast<std::uint8_t>(number), static_cast<std::uint16_t>(value), {}};
}

TEST(MidiParser, ReadsEveryChannelVoiceMessageOfTableII) {
  struct Case { Bytes bytes; MidiMessage message; };
  const Case cases[] = {
      {{0x83, 60, 64}, voice(MidiKind::note_off, 3, 60, 64)},
      {{0x90, 60, 100}, voice(MidiKind::note_on, 0, 60, 100)},
      {{0x9F, 127, 0}, voice(MidiKind::note_off, 15, 127, 0)},  // velocity 0: "a note on with velocity 0 is a note off"
      {{0xA1, 61, 5}, voice(MidiKind::key_pressure, 1, 61, 5)},
      {{0xB0, 1, 127}, voice(MidiKind::controller, 0, 1, 127)},
      {{0xC2, 9}, voice(MidiKind::program, 2, 0, 9)},
      {{0xD4, 77}, voice(MidiKind::channel_pressure, 4, 0, 77)},
      {{0xE0, 0x00, 0x40}, voice(MidiKind::bend, 0, 0, 8192)},   // centre
      {{0xE0, 0x7F, 0x7F}, voice(MidiKind::bend, 0, 0, 16383)},  // most; LSB comes first
      {{0xE0, 0x01, 0x00}, voice(MidiKind::bend, 0, 0, 1)},
  };
  for (const Case& c : cases) EXPECT_THAT(parse(c.bytes), testing::ElementsAre(c.message)) << "status " << int(c.bytes[0]);
}

TEST(MidiParser, RunningStatusLastsUntilAnotherStatus) {
  EXPECT_THAT(parse({0x91, 60, 1, 61, 2, 60, 0, 0xB1, 7, 3, 7, 4}),
              testing::ElementsAre(voice(MidiKind::note_on, 1, 60, 1), voice(MidiKind::note_on, 1, 61, 2), voice(MidiKind::note_off, 1, 60, 0),
                                   voice(MidiKind::controller, 1, 7, 3), voice(MidiKind::controller, 1, 7, 4)));
}

TEST(MidiParser, RealTimeBytesInsideOtherMessagesDisturbNothing) {
  EXPECT_THAT(parse({0xF8, 0xB0, 0xFE, 1, 0xF8, 64, 0xFA, 2, 0xFC, 65}),
              testing::ElementsAre(voice(MidiKind::clock, 0, 0, 0), voice(MidiKind::sensing, 0, 0, 0), voice(MidiKind::clock, 0, 0, 0), voice(MidiKind::controller, 0, 1, 64),
                                   voice(MidiKind::start, 0, 0, 0), voice(MidiKind::stop, 0, 0, 0), voice(MidiKind::controller, 0, 2, 65)));
  EXPECT_THAT(parse({0xF0, 0x7F, 0x7F, 0xF8, 1, 1, 0x61, 0x25, 0x34, 0x10, 0xF7}), testing::SizeIs(2)) << "and inside exclusive messages";
}

TEST(MidiParser, SystemCommonMessagesEndRunningStatus) {
  for (const Bytes& common : {Bytes{0xF1, 0x25}, Bytes{0xF2, 1, 2}, Bytes{0xF3, 4}, Bytes{0xF4}, Bytes{0xF5}, Bytes{0xF6}, Bytes{0xF0, 1, 2, 0xF7}}) {
    MidiParser parser;
    parse(parser, {0x90, 60, 1});
    parse(parser, common);
    EXPECT_THAT(parse(parser, {62, 3}), testing::IsEmpty()) << "after " << int(common[0]);
  }
  EXPECT_THAT(parse({0xF2, 0x01, 0x02}), testing::ElementsAre(voice(MidiKind::song_position, 0, 0, 257)));
  EXPECT_THAT(parse({0xF3, 4, 0xF6, 0xF1, 0x76}), testing::ElementsAre(voice(MidiKind::song_select, 0, 0, 4), voice(MidiKind::tune_request, 0, 0, 0), voice(MidiKind::quarter_frame, 0, 0, 0x76)));
}

TEST(MidiParser, SkipsExclusiveMessagesOfAnyLength_AndWhatIsCutOff) {
  Bytes bytes{0xF0};
  bytes.insert(bytes.end(), 100'000, 0x11);
  bytes.insert(bytes.end(), {0xF7, 0x90, 60, 0xB0, 1, 2});  // the note on lacks its velocity
  EXPECT_THAT(parse(bytes), testing::ElementsAre(voice(MidiKind::controller, 0, 1, 2)));
  EXPECT_THAT(parse({0xF0, 1, 2, 3, 0x90, 60, 9}), testing::ElementsAre(voice(MidiKind::note_on, 0, 60, 9))) << "a status ends an exclusive message that has no end";
  EXPECT_THAT(parse({1, 2, 3, 0xF7, 0xF9, 0xFD}), testing::IsEmpty());
}

TEST(MidiParser, ReadsAFullTimeCode_ThatOf_01_37_52_16) {
  const auto messages = parse({0xF0, 0x7F, 0x7F, 0x01, 0x01, 0x61, 0x25, 0x34, 0x10, 0xF7});
  ASSERT_EQ(messages.size(), 1u);
  EXPECT_EQ(messages[0].kind, MidiKind::full_time);
  EXPECT_THAT(messages[0].time, testing::ElementsAre(0x61, 0x25, 0x34, 0x10));
  EXPECT_THAT(parse({0xF0, 0x7F, 0x7F, 0x01, 0x01, 0x61, 0x25, 0x34, 0x10, 0x00, 0xF7}), testing::IsEmpty()) << "one byte too many";
  EXPECT_THAT(parse({0xF0, 0x7F, 0x7F, 0x01, 0x01, 0x61, 0x25, 0x34, 0xF7}), testing::IsEmpty()) << "one too few";
}

// A device on DIN can send 1,041 three-byte messages a second, or 1,562 with running status (31,250 baud); USB sends many more.
TEST(MidiParser, LosesNothingInAFloodOfTenThousandMessages_HoweverTheyAreSplit) {
  std::mt19937 random(7);
  Bytes bytes;
  std::vector<MidiMessage> sent;
  for (int n = 0, said = -1; n < 10'000; ++n) {
    const int channel = n / 7 % 3, number = static_cast<int>(random() % 128), value = static_cast<int>(random() % 128);
    if (channel != said) bytes.push_back(static_cast<std::uint8_t>(0xB0 | channel));
    said = channel;
    bytes.push_back(static_cast<std::uint8_t>(number));
    if (random() % 2) bytes.push_back(0xF8), sent.push_back(voice(MidiKind::clock, 0, 0, 0));
    bytes.push_back(static_cast<std::uint8_t>(value));
    sent.push_back(voice(MidiKind::controller, channel, number, value));
  }
  EXPECT_EQ(parse(bytes), sent);
}

TEST(MidiParser, SurvivesAnyBytes_AndEveryMessageIsInRange) {
  std::mt19937 random(11);
  MidiParser parser;
  int messages = 0;
  for (int n = 0; n < 1'000'000; ++n) {
    const auto m = parser.feed(static_cast<std::uint8_t>(random() % 256));
    if (!m) continue;
    ++messages;
    ASSERT_LT(m->channel, 16);
    ASSERT_LT(m->number, 128);
    ASSERT_LE(m->value, kMost14Bit);
  }
  EXPECT_GT(messages, 10'000);
}

TEST(ControllerPairs, JoinsHalves_AndAnUpperHalfSetsTheLowerToZero) {
  ControllerPairs pairs;
  int number = -1;
  const auto hear = [&](int n, int value) { return pairs.join(voice(MidiKind::controller, 2, n, value), number); };
  EXPECT_EQ(hear(1, 0x40), 8192);      // B0 01 40 21 00 is 8192
  EXPECT_EQ(hear(33, 0x00), 8192);
  EXPECT_EQ(number, 1);
  EXPECT_EQ(hear(1, 0x7F), 0x7F << 7);
  EXPECT_EQ(hear(33, 0x7F), 16383);
  EXPECT_EQ(hear(1, 0x01), 128) << "the lower half went to 0";
  EXPECT_EQ(hear(34, 5), 5) << "an upper half that was never heard counts as 0";
  EXPECT_EQ(hear(64, 127), -1);
  EXPECT_EQ(pairs.join(voice(MidiKind::controller, 3, 33, 9), number), 9) << "channels are apart";
}

}  // namespace
}  // namespace mien::live
