#include "editor/view.hpp"

#include <gtest/gtest.h>

namespace mien::editor {
namespace {
using show::from_seconds;
using show::Range;
using show::Time;

TEST(View, ZoomKeepsTheTimeUnderThePointer) {
  const Range before{from_seconds(2), from_seconds(12)};
  const Time about = from_seconds(4.5);
  for (const double factor : {0.5, 0.8, 1.25}) {
    const Range after = zoomed(before, about, factor, from_seconds(20));
    const auto share = [&](Range r) { return show::to_seconds(about - r.begin) / show::to_seconds(r.length()); };
    EXPECT_NEAR(share(after), share(before), 1e-9) << factor;
    EXPECT_NEAR(show::to_seconds(after.length()), 10 * factor, 1e-9);
  }
}

TEST(View, NeverShrinksBelowAFewTicksNorLosesTheShow) {
  Range r{from_seconds(0), from_seconds(10)};
  for (int i = 0; i < 200; ++i) r = zoomed(r, from_seconds(3), 0.5, from_seconds(10));
  EXPECT_EQ(r.length(), from_seconds(0.05));
  for (int i = 0; i < 200; ++i) r = zoomed(r, from_seconds(3), 2, from_seconds(10));
  EXPECT_LE(r.length(), from_seconds(40));
  r = panned({from_seconds(0), from_seconds(10)}, from_seconds(1e6), from_seconds(10));
  EXPECT_LT(r.begin, from_seconds(10));
  r = panned(r, from_seconds(-1e8), from_seconds(10));
  EXPECT_GT(r.end, Time{0});
}

TEST(View, SnapsToTheNearestTickOnBothSidesOfZero) {
  const Time tick = from_seconds(0.01);
  EXPECT_EQ(snapped(from_seconds(0.014), tick), from_seconds(0.01));
  EXPECT_EQ(snapped(from_seconds(0.016), tick), from_seconds(0.02));
  EXPECT_EQ(snapped(from_seconds(-0.016), tick), from_seconds(-0.02));
  EXPECT_EQ(snapped(from_seconds(0.0137), Time{0}), from_seconds(0.0137));
}

TEST(View, WritesTimesAndValuesWithTheirUnits) {
  EXPECT_EQ(clock_text(from_seconds(62.3456)), "1:02.346");
  EXPECT_EQ(clock_text(from_seconds(0)), "0:00.000");
  EXPECT_EQ(seconds_text(from_seconds(1.25)), "1.250 s");
  EXPECT_EQ(value_text(-18.5, "deg", 60), "-18.5 deg");
  EXPECT_EQ(value_text(0.25, "1", 1), "0.250");
  EXPECT_EQ(value_text(-0.0, "1", 1), "0.000");
}

}  // namespace
}  // namespace mien::editor
