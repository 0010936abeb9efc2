#include "wire/cobs.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>
#include <optional>
#include <random>
#include <vector>

namespace mien::wire {
namespace {

using Bytes8 = std::vector<std::uint8_t>;

Bytes8 operator+(Bytes8 a, const Bytes8& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}

Bytes8 run(int from, int to) {
  Bytes8 bytes(static_cast<std::size_t>(to - from + 1));
  std::iota(bytes.begin(), bytes.end(), static_cast<std::uint8_t>(from));
  return bytes;
}

Bytes8 encoded(const Bytes8& in) {
  Bytes8 out(cobs_bound(in.size()));
  out.resize(cobs_encode(in.data(), in.size(), out.data(), out.size()));
  return out;
}

std::optional<Bytes8> decoded(Bytes8 bytes) {
  std::size_t size = 0;
  if (!cobs_decode(bytes.data(), bytes.size(), bytes.data(), bytes.size(), size)) return std::nullopt;
  bytes.resize(size);
  return bytes;
}

struct Vector {
  Bytes8 plain, stuffed;
};

// Cheshire & Baker 1999, the predefined cases of the cobs-python package's own tests, and runs around 254 bytes computed by hand.
const std::vector<Vector>& vectors() {
  static const std::vector<Vector> all = {
      {{}, {1}},
      {{'1'}, {2, 0x31}},
      {run('1', '5'), Bytes8{6} + run('1', '5')},
      {run('1', '5') + Bytes8{0} + run('6', '9'), Bytes8{6} + run('1', '5') + Bytes8{5} + run('6', '9')},
      {Bytes8{0} + run('1', '5') + Bytes8{0} + run('6', '9'), Bytes8{1, 6} + run('1', '5') + Bytes8{5} + run('6', '9')},
      {run('1', '5') + Bytes8{0} + run('6', '9') + Bytes8{0},
       Bytes8{6} + run('1', '5') + Bytes8{5} + run('6', '9') + Bytes8{1}},
      {{0}, {1, 1}},
      {{0, 0}, {1, 1, 1}},
      {{0, 0x11, 0}, {1, 2, 0x11, 1}},
      {{0x11, 0x22, 0, 0x33}, {3, 0x11, 0x22, 2, 0x33}},
      {{0x11, 0, 0, 0}, {2, 0x11, 1, 1, 1}},
      {{0x45, 0, 0, 0x2C, 0x4C, 0x79, 0, 0, 0x40, 6, 0x4F, 0x37},
       {2, 0x45, 1, 4, 0x2C, 0x4C, 0x79, 1, 5, 0x40, 6, 0x4F, 0x37}},
      {run(1, 254), Bytes8{0xFF} + run(1, 254)},
      {run(0, 254), Bytes8{1, 0xFF} + run(1, 254)},
      {run(1, 255), Bytes8{0xFF} + run(1, 254) + Bytes8{2, 0xFF}},
      {run(2, 255) + Bytes8{0}, Bytes8{0xFF} + run(2, 255) + Bytes8{1, 1}},
      {run(3, 255) + Bytes8{0, 1}, Bytes8{0xFE} + run(3, 255) + Bytes8{2, 1}},
  };
  return all;
}

TEST(Cobs, EncodesThePublishedVectors) {
  for (const Vector& v : vectors()) EXPECT_EQ(encoded(v.plain), v.stuffed);
}

TEST(Cobs, DecodesThePublishedVectors) {
  for (const Vector& v : vectors()) EXPECT_EQ(decoded(v.stuffed), v.plain);
}

// The loop as first published writes an empty block after a full last one.
TEST(Cobs, DecodesAnEmptyBlockAfterAFullLastOne) {
  EXPECT_EQ(decoded(Bytes8{0xFF} + run(1, 254) + Bytes8{1}), run(1, 254));
}

TEST(Cobs, GrowsNonzeroBytesByOneForEvery254) {
  const std::pair<std::size_t, std::size_t> sizes[] = {{253, 254}, {254, 255}, {255, 257},
                                                       {508, 510}, {509, 512}, {1000, 1004}};
  for (const auto& [plain, stuffed] : sizes) EXPECT_EQ(encoded(Bytes8(plain, 7)).size(), stuffed) << plain;
}

TEST(Cobs, ReturnsRandomBytesUnchangedAndWritesNoZero) {
  std::mt19937 random(2);
  for (int round = 0; round < 3000; ++round) {
    Bytes8 bytes(random() % 700);
    const unsigned range = 1 + random() % 256;  // small ranges are full of zeros
    for (auto& b : bytes) b = static_cast<std::uint8_t>(random() % range);
    const Bytes8 stuffed = encoded(bytes);
    ASSERT_EQ(std::count(stuffed.begin(), stuffed.end(), 0), 0);
    ASSERT_LE(stuffed.size(), cobs_bound(bytes.size()));
    ASSERT_EQ(decoded(stuffed), bytes);
  }
}

TEST(Cobs, RefusesBytesThatNoEncoderMakes) {
  EXPECT_EQ(decoded({}), std::nullopt);
  EXPECT_EQ(decoded({0}), std::nullopt);
  EXPECT_EQ(decoded({3, 1}), std::nullopt) << "block reaches past the end";
  EXPECT_EQ(decoded({3, 1, 0}), std::nullopt) << "zero within a block";
  EXPECT_EQ(decoded({2, 1, 0}), std::nullopt) << "zero as a code";
}

TEST(Cobs, WritesNothingBeyondTheRoomItIsGiven) {
  for (const Vector& v : vectors()) {
    for (std::size_t room = 0; room < v.stuffed.size(); ++room) {
      Bytes8 out(room);  // its own allocation: the address sanitizer watches the end
      ASSERT_EQ(cobs_encode(v.plain.data(), v.plain.size(), out.data(), room), 0u);
    }
    for (std::size_t room = 0; room < v.plain.size(); ++room) {
      Bytes8 out(room);
      std::size_t size = 99;
      ASSERT_FALSE(cobs_decode(v.stuffed.data(), v.stuffed.size(), out.data(), room, size));
      ASSERT_EQ(size, 0u);
    }
  }
}

}  // namespace
}  // namespace mien::wire
