// Timecode against SMPTE ST 12-1's drop frame, as tabled from its rule, and a published step of it.
#include "show/timecode.hpp"

#include <gtest/gtest.h>

namespace mien::show {
namespace {

constexpr FrameRate kAll[] = {FrameRate::f24, FrameRate::f25, FrameRate::f2997_drop, FrameRate::f30};

struct Label { std::int64_t frame; const char* text; };

TEST(Timecode, DropFrameLeavesOutTwoLabelsOfEachMinuteButEveryTenth) {
  // The rule of SMPTE ST 12-1; 116883 -> 116884 is the step that dropframetimecode.org publishes.
  for (const auto& [frame, text] : {Label{0, "00:00:00;00"}, {1799, "00:00:59;29"}, {1800, "00:01:00;02"}, {17981, "00:09:59;29"}, {17982, "00:10:00;00"}, {107892, "01:00:00;00"},
                                    {116883, "01:04:59;29"}, {116884, "01:05:00;02"}, {2589407, "23:59:59;29"}}) {
    EXPECT_EQ(timecode(FrameRate::f2997_drop, frame), text);
    EXPECT_EQ(parse_timecode(FrameRate::f2997_drop, text), frame) << text;
  }
}

TEST(Timecode, DropFrameKeepsToTheClock) {
  // Frames of 1001/30000 s: 1800 of them are 60.06 s, ten minutes of labels 599.9994 s, an hour 3599.9964 s, a day 86399.9136 s.
  const auto rate = FrameRate::f2997_drop;
  EXPECT_EQ(frame_time(rate, 1800), Time{60'060'000'000});
  EXPECT_EQ(frame_time(rate, 17982), Time{599'999'400'000});
  EXPECT_EQ(frame_time(rate, 107892), Time{3'599'996'400'000});
  EXPECT_EQ(frame_time(rate, 2589408), Time{86'399'913'600'000});
}

TEST(Timecode, EveryLabelOfADayReadsBack) {
  for (const FrameRate rate : kAll) {
    const std::int64_t day = frame_at(rate, Time{86'400'000'000'000});
    for (std::int64_t frame = 0; frame <= day; frame += 7) ASSERT_EQ(parse_timecode(rate, timecode(rate, frame)), frame) << name(rate);
  }
}

TEST(Timecode, FramesAndTimesAgree) {
  for (const FrameRate rate : kAll)
    for (std::int64_t frame = -100; frame < 200'000; frame += 37) {
      const Time begins = frame_time(rate, frame);
      ASSERT_EQ(frame_at(rate, begins), frame) << name(rate);
      ASSERT_EQ(frame_at(rate, begins - Time{1}), frame - 1) << name(rate);
      ASSERT_EQ(snapped_to_frame(rate, begins + Time{10'000'000}), begins);
      ASSERT_EQ(snapped_to_frame(rate, begins - Time{10'000'000}), begins);
    }
  EXPECT_EQ(frame_time(FrameRate::f24, 24), from_seconds(1));
  EXPECT_EQ(frame_time(FrameRate::f25, 1), from_seconds(0.04));
}

TEST(Timecode, LeadingPartsMayBeLeftOut) {
  EXPECT_EQ(parse_timecode(FrameRate::f25, "12"), 12);
  EXPECT_EQ(parse_timecode(FrameRate::f25, "2:03"), 53);
  EXPECT_EQ(parse_timecode(FrameRate::f30, " 1:00:00 "), 1800);
  EXPECT_EQ(timecode(FrameRate::f25, -53), "-00:00:02:03");
}

TEST(Timecode, RefusesWhatIsNone) {
  for (const char* text : {"", ":", "1:", "::1", "1:2:3:4:5", "25", "60:00", "1:60:00", "-1", "1.5", "x", "99999999999999999999"})
    EXPECT_FALSE(parse_timecode(FrameRate::f25, text)) << text;
  EXPECT_FALSE(parse_timecode(FrameRate::f2997_drop, "00:01:00;00")) << "drop frame leaves it out";
  EXPECT_FALSE(parse_timecode(FrameRate::f2997_drop, "00:11:00;01"));
  EXPECT_TRUE(parse_timecode(FrameRate::f2997_drop, "00:10:00;01"));
}

}  // namespace
}  // namespace mien::show
