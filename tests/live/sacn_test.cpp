// sACN against ANSI E1.31-2018: packet layout (tables 4-1, 4-2, 6-1, 7-1), options (6.2.6), sequence numbers (6.7.2), source loss (6.7.1: 2.5 s), multicast addresses (9.3.1).
// Where each field stands, and which bits of the options say preview and terminated, is what another reader of such packets found in one of these: tshark 4.0.17 (Debian 12) with its
// dissector of E1.17 and E1.31, `-o acn.dmx_enable:TRUE --enable-heuristic acn -T json -x`; its answer is the table in StandsWhereAnotherReaderFindsIt. 638 bytes for 512 slots, 2.5 s and
// the range of universes are also in the standard as quoted by readers of it. The rule for sequence numbers, and the numbers of tables and sections, are from memory of the standard.
#include "live/sacn.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "live/hand_rig.hpp"
#include "live/sacn_packet.hpp"

namespace mien::live {
namespace {

using Bytes = std::vector<std::uint8_t>;
using H = SacnUniverse::Heard;

TEST(SacnPacket, OfAFullUniverseIsReadByteForByte) {
  Bytes levels(512);
  for (std::size_t n = 0; n < levels.size(); ++n) levels[n] = static_cast<std::uint8_t>(n * 7);
  const Bytes b = sacn_packet({.cid = 0xAB, .sequence = 9, .priority = 150, .universe = 63'999, .levels = levels});
  ASSERT_EQ(b.size(), 638u);
  const std::pair<std::size_t, int> stand[] = {{16, 0x72}, {17, 0x6E}, {38, 0x72}, {39, 0x58}, {115, 0x72}, {116, 0x0B}, {108, 150}, {111, 9}, {113, 0xF9}, {114, 0xFF}, {117, 2}, {118, 0xA1}, {123, 2}, {124, 1}, {125, 0}};
  for (const auto& [at, byte] : stand) EXPECT_EQ(b[at], byte) << at;
  const auto p = read_sacn(b);
  ASSERT_TRUE(p);
  EXPECT_THAT(p->cid, testing::Each(0xAB));
  EXPECT_EQ(p->name, "Desk");
  EXPECT_EQ(p->priority, 150);
  EXPECT_EQ(p->sequence, 9);
  EXPECT_EQ(p->universe, 63'999);
  EXPECT_TRUE(std::equal(p->slots.begin(), p->slots.end(), levels.begin(), levels.end()));
  const Bytes few = sacn_packet({.levels = Bytes(12)});
  ASSERT_EQ(few.size(), 138u);
  const std::pair<std::size_t, int> lengths[] = {{16, 0x70}, {17, 0x7A}, {38, 0x70}, {39, 0x64}, {115, 0x70}, {116, 0x17}, {123, 0}, {124, 0x0D}};
  for (const auto& [at, byte] : lengths) EXPECT_EQ(few[at], byte) << at;
  EXPECT_TRUE(read_sacn(few));
}

// Each row: the reader's name of the field, where it found it, and the bytes that it saw there.
TEST(SacnPacket, StandsWhereAnotherReaderFindsIt) {
  struct Field { const char* name; std::size_t at; Bytes bytes; };
  const Field fields[] = {
      {"preamble size 16", 0, {0x00, 0x10}}, {"postamble size 0", 2, {0, 0}}, {"packet identifier", 4, {'A', 'S', 'C', '-', 'E', '1', '.', '1', '7', 0, 0, 0}},
      {"root PDU, length 622", 16, {0x72, 0x6E}}, {"protocol: ratified DMX", 18, {0, 0, 0, 4}}, {"CID", 22, Bytes(16, 0xAB)},
      {"framing PDU, length 600", 38, {0x72, 0x58}}, {"vector: streaming DMX", 40, {0, 0, 0, 2}}, {"source name", 44, {'D', 'e', 's', 'k', 0}}, {"priority 150", 108, {150}},
      {"reserved", 109, {0, 0}}, {"sequence number 9", 111, {9}}, {"options: preview, not terminated", 112, {0x80}}, {"universe 63999", 113, {0xF9, 0xFF}},
      {"DMP PDU, length 523", 115, {0x72, 0x0B}}, {"vector: set property", 117, {2}}, {"absolute addresses of 2 octets, an array of equal items", 118, {0xA1}},
      {"first property address 0", 119, {0, 0}}, {"increment 1", 121, {0, 1}}, {"count 513", 123, {2, 1}}, {"start code 0", 125, {0}}, {"data, its first", 126, {0x00, 0x07, 0x0E, 0x15}},
      {"data, its last", 634, {0xE4, 0xEB, 0xF2, 0xF9}}};
  // What it read, put together from its rows alone, is read here.
  Bytes b(638, 0);
  for (std::size_t n = 0; n < 512; ++n) b[126 + n] = static_cast<std::uint8_t>(n * 7);
  for (const auto& f : fields) std::copy(f.bytes.begin(), f.bytes.end(), b.begin() + static_cast<std::ptrdiff_t>(f.at));
  Bytes levels(512);
  for (std::size_t n = 0; n < levels.size(); ++n) levels[n] = static_cast<std::uint8_t>(n * 7);
  EXPECT_EQ(b, sacn_packet({.cid = 0xAB, .sequence = 9, .priority = 150, .universe = 63'999, .options = 0x80, .levels = levels})) << "what the tests put together is such a packet";
  const auto p = read_sacn(b);
  ASSERT_TRUE(p);
  EXPECT_TRUE(p->preview);
  EXPECT_FALSE(p->terminated);
  EXPECT_EQ(p->universe, 63'999);
  EXPECT_EQ(p->priority, 150);
  EXPECT_EQ(p->start_code, 0);
  // The other packet that it was given: options 40h it called "preview data: false, stream terminated: true"; 12 slots had the lengths 122, 100 and 23.
  b[112] = 0x40;
  EXPECT_FALSE(read_sacn(b)->preview);
  EXPECT_TRUE(read_sacn(b)->terminated);
}

TEST(SacnPacket, EachFixedByteThatIsAnotherAndEachLengthIsRefused) {
  const Bytes good = sacn_packet({.universe = 2, .levels = Bytes(20)});
  // What may be anything: the source's own id and name, priority, synchronization address, sequence, options, universe, start code, levels.
  const auto free = [](std::size_t at) { return (at >= 22 && at < 38) || (at >= 44 && at < 115) || at >= 125; };
  for (std::size_t at = 0; at < good.size(); ++at) {
    Bytes spoiled = good;
    spoiled[at] ^= 0x01;
    EXPECT_EQ(bool(read_sacn(spoiled)), free(at)) << at;
  }
  for (std::size_t size = 0; size < good.size(); ++size) EXPECT_FALSE(read_sacn(std::span(good).first(size))) << size;
  Bytes longer = good;
  longer.push_back(0);
  EXPECT_TRUE(read_sacn(longer)) << "what follows the root layer is none of its";
  EXPECT_FALSE(read_sacn(sacn_packet({.priority = 201, .levels = Bytes(1)})));
  EXPECT_FALSE(read_sacn(sacn_packet({.universe = 0, .levels = Bytes(1)})));
  EXPECT_FALSE(read_sacn(sacn_packet({.universe = 64'000, .levels = Bytes(1)})));
  EXPECT_FALSE(read_sacn(sacn_packet({.levels = Bytes(513)})));
}

TEST(Sacn, AUniversesGroupIsTheStandards) {
  EXPECT_EQ(sacn_group(1), 0xEFFF'0001u);
  EXPECT_EQ(sacn_group(63'999), 0xEFFF'F9FFu);
}

struct Desks {
  H say(const SacnSay& s, double at_s = 0) {
    const Bytes b = sacn_packet(s);
    return universe.hear(*read_sacn(b), static_cast<std::int64_t>(at_s * 1e9));
  }
  SacnUniverse universe{1};
};

TEST(SacnUniverse, TakesSequenceNumbersAsTheStandardHasIt) {
  Desks d;
  EXPECT_EQ(d.say({.sequence = 100, .levels = {1}}), H::levels);
  for (const int step : {0, -1, -19}) EXPECT_EQ(d.say({.sequence = static_cast<std::uint8_t>(100 + step), .levels = {2}}), H::out_of_order) << step;
  EXPECT_EQ(d.universe.level(1), 1);
  EXPECT_EQ(d.say({.sequence = 80, .levels = {3}}), H::levels) << "20 back: it began anew";
  EXPECT_EQ(d.say({.sequence = 200, .levels = {4}}), H::levels) << "120 on";
  EXPECT_EQ(d.say({.sequence = 255, .levels = {5}}), H::levels);
  EXPECT_EQ(d.say({.sequence = 0, .levels = {6}}), H::levels) << "round the byte";
  EXPECT_EQ(d.say({.sequence = 250, .levels = {7}}), H::out_of_order);
  EXPECT_EQ(d.say({.cid = 2, .sequence = 250, .levels = {9}}), H::levels) << "each source has its own";
  EXPECT_EQ(d.universe.level(1), 9);
}

TEST(SacnUniverse, TheHighestPriorityHasIt_AndAmongEqualsTheHighestOfEachSlot) {
  Desks d;
  d.say({.cid = 1, .priority = 100, .levels = {10, 200, 30}});
  d.say({.cid = 2, .priority = 100, .levels = {20, 100}});
  EXPECT_EQ(d.universe.level(1), 20);
  EXPECT_EQ(d.universe.level(2), 200);
  EXPECT_EQ(d.universe.level(3), 30) << "one of them alone sends it";
  EXPECT_EQ(d.universe.level(4), -1);
  d.say({.cid = 3, .priority = 101, .levels = {5}});
  EXPECT_EQ(d.universe.level(1), 5);
  EXPECT_EQ(d.universe.level(2), -1);
  d.say({.cid = 3, .sequence = 2, .priority = 99, .levels = {5}});
  EXPECT_EQ(d.universe.level(1), 20) << "a source may change its mind";
}

TEST(SacnUniverse, ASourceIsLostAfterTwoAndAHalfSeconds_AndTheNextHasIt) {
  Desks d;
  d.say({.cid = 1, .priority = 150, .levels = {1}}, 0);
  d.say({.cid = 2, .priority = 100, .levels = {2}}, 1);
  EXPECT_FALSE(d.universe.expire(2'499'999'999));
  EXPECT_EQ(d.universe.level(1), 1);
  EXPECT_TRUE(d.universe.expire(2'500'000'000));
  EXPECT_EQ(d.universe.level(1), 2);
  EXPECT_TRUE(d.universe.expire(3'500'000'000));
  EXPECT_EQ(d.universe.level(1), -1);
  EXPECT_THAT(d.universe.sources(), testing::IsEmpty());
}

TEST(SacnUniverse, TerminatedIsGoodBye_PreviewIsNotForLive_OtherCodesAreNoLevels) {
  Desks d;
  d.say({.sequence = 1, .levels = {7}});
  EXPECT_EQ(d.say({.sequence = 2, .options = 0x80, .levels = {99}}), H::preview);
  EXPECT_EQ(d.say({.sequence = 3, .start_code = 0xDD, .levels = {99}}), H::not_levels);
  EXPECT_EQ(d.say({.universe = 2, .levels = {99}}), H::other_universe);
  EXPECT_EQ(d.universe.level(1), 7);
  EXPECT_EQ(d.say({.sequence = 4, .options = 0x40, .levels = {99}}), H::terminated);
  EXPECT_THAT(d.universe.sources(), testing::IsEmpty());
  EXPECT_EQ(d.say({.sequence = 5, .options = 0x40, .levels = {99}}), H::terminated) << "it says so three times";
  EXPECT_EQ(d.say({.sequence = 6, .options = 0x20, .levels = {8}}), H::levels) << "synchronization is not waited for";
}

TEST(SacnUniverse, HasRoomForEightSources) {
  Desks d;
  for (int n = 1; n <= 8; ++n) EXPECT_EQ(d.say({.cid = static_cast<std::uint8_t>(n), .levels = {1}}), H::levels);
  EXPECT_EQ(d.say({.cid = 9, .levels = {255}}), H::too_many);
  EXPECT_EQ(d.universe.level(1), 1);
}

struct SacnBench {
  void say(const SacnSay& s, double at_s = 0) { ear.hear(sacn_packet(s), static_cast<std::int64_t>(at_s * 1e9)); }
  std::vector<Touch> heard() {
    std::vector<Touch> touches;
    inlet.drain([&](const Touch& t) { touches.push_back(t); });
    return touches;
  }
  Inlet inlet;
  SacnEar ear{inlet, 4, 1};
};

TEST(SacnEar, TellsWhatChanged_AndWhenTheLastSourceIsGone) {
  SacnBench e;
  e.say({.levels = {0, 128, 255}});
  EXPECT_EQ(e.heard().size(), 3u);
  e.say({.sequence = 2, .levels = {0, 129, 255}});
  const auto one = e.heard();
  ASSERT_EQ(one.size(), 1u);
  EXPECT_EQ(one[0], (Touch{.device = 4, .kind = Touch::Kind::slot, .number = 2, .value = 129 / 255.0f}));
  e.ear.catch_up(2'600'000'000);
  const auto gone = e.heard();
  ASSERT_EQ(gone.size(), 1u);
  EXPECT_EQ(gone[0].kind, Touch::Kind::slots_gone);
  e.say({.sequence = 3, .levels = {0, 129, 255}}, 5);
  EXPECT_EQ(e.heard().size(), 3u) << "back again: all of it is news";
}

TEST(SacnEar, AFullInletLosesNothing) {
  SacnBench e;
  for (int n = 1; n <= 10; ++n) e.say({.sequence = static_cast<std::uint8_t>(n), .levels = Bytes(512, static_cast<std::uint8_t>(n))});
  EXPECT_TRUE(e.ear.any_waits());
  std::array<float, 513> now{};
  for (int n = 0; n < 3; ++n) {
    for (const auto& t : e.heard()) now[t.number] = t.value;
    e.ear.catch_up(0);
  }
  for (int slot = 1; slot <= 512; ++slot) EXPECT_EQ(now[static_cast<std::size_t>(slot)], 10 / 255.0f) << slot;
  EXPECT_FALSE(e.ear.any_waits());
}

TEST(SacnEar, NoiseSaysNothing) {
  SacnBench e;
  std::mt19937 random(5);
  for (int n = 0; n < 20'000; ++n) {
    Bytes noise = sacn_packet({.sequence = static_cast<std::uint8_t>(n), .levels = Bytes(8)});
    for (int k = 0; k < 3; ++k) noise[(random() % 22)] ^= static_cast<std::uint8_t>(1 + random() % 255);
    noise[0] = static_cast<std::uint8_t>(1 + random() % 255);
    e.ear.hear(noise, n);
  }
  EXPECT_EQ(e.ear.counts().broken, 20'000u);
  EXPECT_THAT(e.heard(), testing::IsEmpty());
}

TEST(MappedSlot, LeadsAControl_AndASourceThatIsLostGivesItBack) {
  HandMap map;
  map.knobs = {{.source = *parse_source("slot 17"), .control = "jaw", .takeover = Takeover::glide}};
  map.triggers = {{.source = *parse_source("slot 18"), .name = "glad"}};
  EXPECT_THAT(validate(map, *hand_rig(), "a"), testing::IsEmpty());
  const auto program = compile(map, hand_rig(), hand_show(), {});
  HandState state;
  load(state, program.get());
  std::vector<double> now;
  const auto ticks = [&](int count) {
    for (int n = 0; n < count; ++n) now = {0, 0.2, 0, 0}, play(*program, state, 0.01, now);
    return now[kJaw];
  };
  hear(*program, state, {.kind = Touch::Kind::slot, .number = 17, .value = 1});
  EXPECT_NEAR(ticks(60), 1, 0.01);
  hear(*program, state, {.kind = Touch::Kind::slot, .number = 18, .value = 1});
  ticks(60);
  EXPECT_NEAR(now[kSmile], 1, 1e-9);
  hear(*program, state, {.kind = Touch::Kind::slots_gone});
  EXPECT_DOUBLE_EQ(ticks(60), 0.2);
  EXPECT_DOUBLE_EQ(now[kSmile], 0);
}

}  // namespace
}  // namespace mien::live
