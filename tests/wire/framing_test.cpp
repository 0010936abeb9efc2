#include "wire/framing.hpp"

#include <gtest/gtest.h>

#include "wire/cobs.hpp"
#include "wire/random_messages.hpp"

namespace mien::wire {
namespace {

using Packet = examples::Packet;

std::vector<Packet> packets_in(Deframer& deframer, const Packet& line) {
  std::vector<Packet> found;
  for (const std::uint8_t byte : line)
    if (deframer.push(byte)) found.emplace_back(deframer.packet().data, deframer.packet().data + deframer.packet().size);
  return found;
}

Packet sealed(const Packet& packet) {
  Packet out(kMaxOnWire);
  out.resize(seal({packet.data(), packet.size()}, out.data(), out.size()));
  return out;
}

void append(Packet& line, const Packet& more) { line.insert(line.end(), more.begin(), more.end()); }

Packet random_packet(RandomMessages& random) {
  Packet packet(kMinPacket + static_cast<std::size_t>(random.below(kMaxPacket - kMinPacket + 1)));
  for (auto& b : packet) b = random.coin() ? random.u8() : std::uint8_t{0};
  return packet;
}

TEST(Framing, ReturnsEveryPacketOfEverySize) {
  RandomMessages random(1);
  Deframer deframer;
  for (std::size_t size = kMinPacket; size <= kMaxPacket; ++size) {
    Packet packet(size);
    for (auto& b : packet) b = random.u8();
    const Packet line = sealed(packet);
    ASSERT_EQ(line.size(), size + 4);
    ASSERT_EQ(packets_in(deframer, line), std::vector<Packet>{packet});
  }
  EXPECT_EQ(deframer.counters().packets, kMaxPacket - kMinPacket + 1);
}

TEST(Framing, SealsNothingTooShortTooLongOrWithoutRoom) {
  EXPECT_TRUE(sealed(Packet{}).empty());
  EXPECT_TRUE(sealed(Packet{1}).empty());
  EXPECT_TRUE(sealed(Packet(kMaxPacket + 1)).empty());
  const Packet packet(20, 7);
  for (std::size_t room = 0; room < packet.size() + 4; ++room) {
    Packet out(room);
    ASSERT_EQ(seal({packet.data(), packet.size()}, out.data(), room), 0u);
  }
}

TEST(Framing, FindsEveryPacketBetweenGarbage) {
  RandomMessages random(2);
  Deframer deframer;
  std::vector<Packet> sent;
  Packet line;
  for (int round = 0; round < 2000; ++round) {
    for (int n = random.below(400); n > 0; --n) line.push_back(random.u8());  // now and then longer than any packet
    line.push_back(kDelimiter);
    sent.push_back(random_packet(random));
    append(line, sealed(sent.back()));
  }
  EXPECT_EQ(packets_in(deframer, line), sent);
  const auto& c = deframer.counters();
  EXPECT_EQ(c.packets, 2000u);
  EXPECT_GT(c.malformed, 0u);
  EXPECT_GT(c.overlong, 0u);
}

TEST(Framing, DropsAPacketCutAtAnyByteAndKeepsTheNext) {
  const Packet packet = {1, 2, 0, 0, 5, 6, 7, 0};
  const Packet whole = sealed(packet);
  for (std::size_t cut = 1; cut + 1 < whole.size(); ++cut) {
    Deframer deframer;
    Packet line(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(cut));
    line.push_back(kDelimiter);
    append(line, whole);
    ASSERT_EQ(packets_in(deframer, line), std::vector<Packet>{packet}) << "cut at " << cut;
    const auto& c = deframer.counters();
    ASSERT_EQ(c.bad_crc + c.malformed, 1u) << "cut at " << cut;
  }
}

// A CRC of 16 bits with this polynomial finds every single-bit error; a flip that makes or removes a zero breaks COBS or the
// length instead, or splits the packet.
TEST(Framing, DropsAPacketWithAnyOneBitFlipped) {
  const Packet packet = {1, 0x10, 3, 2, 0, 0, 0, 9, 0xC0, 0x5D};
  const Packet whole = sealed(packet);
  for (std::size_t bit = 0; bit < (whole.size() - 1) * 8; ++bit) {
    Packet line = whole;
    line[bit / 8] = static_cast<std::uint8_t>(line[bit / 8] ^ 1u << bit % 8);
    Deframer deframer;
    ASSERT_TRUE(packets_in(deframer, line).empty()) << "bit " << bit;
  }
}

TEST(Framing, CountsAWrongCrc) {
  Packet body = {1, 2, 3, 4, 0xAA, 0xBB};  // its CRC is not AABB
  Packet line(cobs_bound(body.size()));
  line.resize(cobs_encode(body.data(), body.size(), line.data(), line.size()));
  line.push_back(kDelimiter);
  Deframer deframer;
  EXPECT_TRUE(packets_in(deframer, line).empty());
  EXPECT_EQ(deframer.counters().bad_crc, 1u);
}

TEST(Framing, CountsAnOverlongPacketOnceAndRecovers) {
  Deframer deframer;
  Packet line(100'000, 0x55);
  line.push_back(kDelimiter);
  append(line, sealed({1, 2, 3}));
  EXPECT_EQ(packets_in(deframer, line), (std::vector<Packet>{{1, 2, 3}}));
  EXPECT_EQ(deframer.counters().overlong, 1u);
}

TEST(Framing, PassesOverDelimitersInARow) {
  Deframer deframer;
  EXPECT_TRUE(packets_in(deframer, Packet(50, kDelimiter)).empty());
  const auto& c = deframer.counters();
  EXPECT_EQ(c.packets + c.bad_crc + c.malformed + c.overlong, 0u);
}

TEST(Framing, ForgetsAHalfReceivedPacketOnReset) {
  Deframer deframer;
  packets_in(deframer, {5, 1, 2});
  deframer.reset();
  EXPECT_EQ(packets_in(deframer, sealed({1, 2, 3})), (std::vector<Packet>{{1, 2, 3}}));
}

}  // namespace
}  // namespace mien::wire
