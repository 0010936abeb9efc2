// Held against worked examples: drop-frame counting of SMPTE ST 12-1 (01:04:59;29 is followed by 01:05:00;02, frames 116883 and 116884, as published at
// dropframetimecode.org; the others computed from the standard's rule); MIDI Time Code's 01:37:52:16 at 30 frames, the specification's own example, and
// 01:30:35:20, published in a textbook's chapter on it.
#include "live/timecode.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace mien::live {
namespace {

using Rate = TimeCodeRate;

TEST(TimeCode, DropFrameCountingLeavesOutLabelsAsTheStandardDoes) {
  struct Case { TimeCode code; std::int64_t frame; };
  for (const Case& c : {Case{{Rate::fps_30_drop, 0, 0, 59, 29}, 1799}, {{Rate::fps_30_drop, 0, 1, 0, 2}, 1800}, {{Rate::fps_30_drop, 0, 9, 59, 29}, 17981}, {{Rate::fps_30_drop, 0, 10, 0, 0}, 17982},
                        {{Rate::fps_30_drop, 1, 0, 0, 0}, 107892}, {{Rate::fps_30_drop, 1, 4, 59, 29}, 116883}, {{Rate::fps_30_drop, 1, 5, 0, 2}, 116884}, {{Rate::fps_30_drop, 23, 59, 59, 29}, 2589407}}) {
    EXPECT_EQ(frame_of(c.code), c.frame) << to_text(c.code);
    EXPECT_EQ(label_of(Rate::fps_30_drop, c.frame), c.code);
  }
  EXPECT_FALSE(valid({Rate::fps_30_drop, 0, 1, 0, 0}));
  EXPECT_FALSE(valid({Rate::fps_30_drop, 0, 1, 0, 1}));
  EXPECT_TRUE(valid({Rate::fps_30_drop, 0, 20, 0, 1}));
  EXPECT_TRUE(valid({Rate::fps_30, 0, 1, 0, 0}));
  EXPECT_EQ(to_text({Rate::fps_30_drop, 1, 4, 59, 29}), "01:04:59;29");
}

TEST(TimeCode, OverADay_EveryFrameHasOneLabelAndOneTime) {
  struct Case { Rate rate; std::int64_t frames; std::int64_t day_ns; };
  for (const Case& c : {Case{Rate::fps_24, 2073600, 86'400'000'000'000}, {Rate::fps_25, 2160000, 86'400'000'000'000}, {Rate::fps_30_drop, 2589408, 86'399'913'600'000}, {Rate::fps_30, 2592000, 86'400'000'000'000}}) {
    ASSERT_EQ(frames_per_day(c.rate), c.frames);
    EXPECT_EQ(time_of(c.rate, c.frames).count(), c.day_ns);
    TimeCode before = label_of(c.rate, c.frames - 1);
    for (std::int64_t n = 0; n < c.frames; ++n) {
      const TimeCode code = label_of(c.rate, n);
      ASSERT_TRUE(valid(code)) << to_text(code);
      ASSERT_EQ(frame_of(code), n) << to_text(code);
      ASSERT_EQ(frame_at(c.rate, time_of(c.rate, n)), n) << to_text(code);
      ASSERT_EQ(frame_at(c.rate, time_of(c.rate, n + 1) - show::Time{1}), n) << to_text(code);
      ASSERT_NE(code, before);
      before = code;
    }
    EXPECT_EQ(label_of(c.rate, c.frames), label_of(c.rate, 0)) << "round the day";
    EXPECT_EQ(label_of(c.rate, -1), label_of(c.rate, c.frames - 1));
  }
  EXPECT_EQ(time_of(Rate::fps_30_drop, 17982).count(), 599'999'400'000);  // 00:10:00;00 is at 599.9994 s
}

struct Example { TimeCode code; std::array<std::uint8_t, 8> quarters; std::array<std::uint8_t, 4> full; };
const Example kExamples[] = {
    {{Rate::fps_30, 1, 37, 52, 16}, {0x00, 0x11, 0x24, 0x33, 0x45, 0x52, 0x61, 0x76}, {0x61, 0x25, 0x34, 0x10}},
    {{Rate::fps_30, 1, 30, 35, 20}, {0x04, 0x11, 0x23, 0x32, 0x4E, 0x51, 0x61, 0x76}, {0x61, 0x1E, 0x23, 0x14}},
    {{Rate::fps_30_drop, 23, 59, 59, 29}, {0x0D, 0x11, 0x2B, 0x33, 0x4B, 0x53, 0x67, 0x75}, {0x57, 0x3B, 0x3B, 0x1D}},
    {{Rate::fps_25, 10, 11, 12, 24}, {0x08, 0x11, 0x2C, 0x30, 0x4B, 0x50, 0x6A, 0x72}, {0x2A, 0x0B, 0x0C, 0x18}},
    {{Rate::fps_24, 12, 34, 56, 23}, {0x07, 0x11, 0x28, 0x33, 0x42, 0x52, 0x6C, 0x70}, {0x0C, 0x22, 0x38, 0x17}},
};

TEST(TimeCode, BytesAreThoseOfMidiTimeCode) {
  for (const Example& e : kExamples) {
    QuarterFrames quarters;
    for (int piece = 0; piece < 8; ++piece) {
      EXPECT_EQ(quarter_frame(e.code, piece), e.quarters[static_cast<std::size_t>(piece)]) << to_text(e.code) << " piece " << piece;
      const auto code = quarters.feed(e.quarters[static_cast<std::size_t>(piece)]);
      ASSERT_EQ(code.has_value(), piece == 7);
      if (code) { EXPECT_EQ(frame_of(*code), (frame_of(e.code) + 2) % frames_per_day(e.code.rate)) << "eight pieces take two frames"; }
    }
    EXPECT_EQ(full_frame(e.code), e.full);
    EXPECT_EQ(parse_full_frame(e.full), e.code);
  }
  EXPECT_FALSE(parse_full_frame({0x7F, 0, 0, 0})) << "hour 31";
  EXPECT_FALSE(parse_full_frame({0x40, 1, 0, 0})) << "a label that is left out";
}

TEST(TimeCode, PiecesThatAreMissingOrRunBackwardGiveNothing) {
  const auto& q = kExamples[0].quarters;
  QuarterFrames quarters;
  for (const std::size_t piece : {4, 5, 6, 7}) EXPECT_FALSE(quarters.feed(q[piece]));  // heard from the middle on
  for (const std::size_t piece : {0, 1, 2, 4, 5, 6, 7}) EXPECT_FALSE(quarters.feed(q[piece]));  // one lost
  for (std::size_t piece = 8; piece-- > 0;) EXPECT_FALSE(quarters.feed(q[piece]));  // backward
  std::optional<TimeCode> code;
  for (std::size_t piece = 1; piece < 8; ++piece) code = quarters.feed(q[piece]);  // piece 0 was the last of those
  EXPECT_TRUE(code) << "and then it locks again";
}

}  // namespace
}  // namespace mien::live
