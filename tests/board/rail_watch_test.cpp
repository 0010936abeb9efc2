#include "board/rail_watch.hpp"

#include <gtest/gtest.h>

namespace mien::board {
namespace {

/// A rail whose voltage is looked at every millisecond, across the clock's wrap.
struct Rail {
  RailWatch watch;
  std::uint32_t now_us = 0xFFFFFFFFu - 15'000u;
  bool after_ms(std::uint16_t mv, int ms) {
    for (int i = 0; i < ms; ++i) watch.step(mv, now_us += 1'000);
    return watch.low();
  }
};

TEST(RailWatch, ARailThatNeverWasThereIsNotLow) {
  Rail rail;
  EXPECT_FALSE(rail.after_ms(0, 5'000));
  EXPECT_FALSE(rail.after_ms(999, 5'000));
}

TEST(RailWatch, IsLowAfter20msAndNotForALesserDip) {
  Rail rail;
  EXPECT_FALSE(rail.after_ms(6'000, 100));
  EXPECT_FALSE(rail.after_ms(4'499, 20));
  EXPECT_FALSE(rail.after_ms(4'500, 1));
  EXPECT_FALSE(rail.after_ms(4'499, 20));
  EXPECT_TRUE(rail.after_ms(4'499, 1));
}

TEST(RailWatch, IsWellAgainASecondAfterItRoseAboveMoreThanItFellTo) {
  Rail rail;
  rail.after_ms(6'000, 100);
  EXPECT_TRUE(rail.after_ms(4'000, 30));
  EXPECT_TRUE(rail.after_ms(4'800, 60'000));
  EXPECT_TRUE(rail.after_ms(4'801, 1'000));
  EXPECT_TRUE(rail.after_ms(4'800, 1)) << "a dip starts the second anew";
  EXPECT_TRUE(rail.after_ms(4'801, 1'000));
  EXPECT_FALSE(rail.after_ms(4'801, 1));
}

TEST(RailWatch, ARailThatIsSwitchedOffIsLow) {
  Rail rail;
  rail.after_ms(6'000, 100);
  EXPECT_TRUE(rail.after_ms(0, 30));
}

}  // namespace
}  // namespace mien::board
