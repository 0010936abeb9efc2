#include "link/outbox.hpp"

#include <gtest/gtest.h>

#include <vector>

namespace mien::link {
namespace {

using Bytes = std::vector<std::uint8_t>;

/// Everything that would go on the line from here.
Bytes drain(Outbox& outbox) {
  Bytes all;
  while (!outbox.empty()) {
    const auto front = outbox.front();
    all.insert(all.end(), front.begin(), front.end());
    outbox.wrote(front.size());
  }
  return all;
}

TEST(Outbox, KeepsTheOrder) {
  Outbox outbox;
  outbox.put(Bytes{1, 2});
  outbox.put_frame(Bytes{3, 4});
  outbox.put(Bytes{5});
  EXPECT_EQ(drain(outbox), (Bytes{1, 2, 3, 4, 5}));
}

TEST(Outbox, TellsWhenAFrameIsWholeOnTheLine) {
  Outbox outbox;
  outbox.put(Bytes{1});
  outbox.put_frame(Bytes{2, 3});
  EXPECT_FALSE(outbox.wrote(1));
  EXPECT_FALSE(outbox.wrote(1));
  EXPECT_TRUE(outbox.wrote(1));
  EXPECT_TRUE(outbox.empty());
}

TEST(Outbox, LetsOldFramesGiveWayToNewOnesAndCountsThem) {
  Outbox outbox;
  for (std::uint8_t i = 1; i <= 5; ++i) outbox.put_frame(Bytes{i});
  EXPECT_EQ(outbox.frames_dropped(), 2u);
  EXPECT_EQ(drain(outbox), (Bytes{3, 4, 5}));
}

TEST(Outbox, FinishesAPacketThatIsHalfOnTheLine) {
  Outbox outbox;
  outbox.put_frame(Bytes{1, 1, 1});
  outbox.wrote(1);
  for (std::uint8_t i = 2; i <= 5; ++i) outbox.put_frame(Bytes{i});
  EXPECT_EQ(drain(outbox), (Bytes{1, 1, 4, 5}));
}

TEST(Outbox, NeverGrowsBeyondItsBound) {
  Outbox outbox;
  for (int i = 0; i < 10'000; ++i) outbox.put(Bytes{static_cast<std::uint8_t>(i)});
  EXPECT_LE(drain(outbox).size(), 64u);
}

TEST(Outbox, PutsAStopAheadOfEverythingAndEndsWhatItCutShort) {
  Outbox outbox;
  outbox.put_frame(Bytes{1, 1, 1});
  outbox.put(Bytes{2});
  outbox.wrote(2);
  outbox.put_first(Bytes{9, 0});
  EXPECT_EQ(drain(outbox), (Bytes{0, 9, 0}));
  EXPECT_EQ(outbox.frames_dropped(), 1u);
}

}  // namespace
}  // namespace mien::link
