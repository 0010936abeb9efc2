#include "show/text.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "show/show.hpp"
#include "support/sample.hpp"

namespace mien::show {
namespace {

TEST(Seconds, AreWrittenWithNoMoreDecimalsThanTheyNeed) {
  EXPECT_EQ(seconds_text(Time{0}), "0");
  EXPECT_EQ(seconds_text(Time{1'250'000'000}), "1.25");
  EXPECT_EQ(seconds_text(Time{1}), "0.000000001");
  EXPECT_EQ(seconds_text(Time{-500'000'000}), "-0.5");
  EXPECT_EQ(seconds_text(Time{3'600'000'000'000}), "3600");
}

TEST(Seconds, OfTheFarthestTimesHaveText) {
  EXPECT_EQ(seconds_text(Time::max()), "9223372036.854775807");
  EXPECT_EQ(seconds_text(Time::min()), "-9223372036.854775808");
}

TEST(Seconds, ReadBackToTheSameNanosecond) {
  support::Random random(1);
  for (int i = 0; i < 100'000; ++i) {
    const Time time{std::uniform_int_distribution<std::int64_t>(-8'999'999'999'999'999'999, 8'999'999'999'999'999'999)(random)};
    ASSERT_EQ(parse_seconds(seconds_text(time)), time) << seconds_text(time);
  }
}

TEST(Seconds, AreRoundedToTheNearestNanosecondWhereThereAreMoreDecimals) {
  EXPECT_EQ(parse_seconds("0.33333333333333331"), Time{333'333'333});
  EXPECT_EQ(parse_seconds("1e-3"), Time{1'000'000});
  EXPECT_EQ(parse_seconds(".5"), Time{500'000'000});
}

TEST(Seconds, AreNothingElse) {
  for (const char* text : {"", " ", "-", "1 ", " 1", "1s", "1..2", "nan", "inf", "-inf", "1e300", "9000000001", "0x10", "1,5", "+1"}) {
    EXPECT_EQ(parse_seconds(text), std::nullopt) << text;
  }
}

TEST(Numbers, AreWrittenInTheShortestFormThatReadsBackTheSame) {
  EXPECT_EQ(number_text(0.1), "0.1");
  EXPECT_EQ(number_text(-18.5), "-18.5");
  support::Random random(2);
  for (int i = 0; i < 100'000; ++i) {
    const double value = support::real(random, -1e6, 1e6) * std::pow(10.0, support::whole(random, -20, 20));
    ASSERT_EQ(parse_number(number_text(value)), value);
  }
}

TEST(Numbers, AreFiniteAndNothingElse) {
  for (const char* text : {"", "nan", "inf", "-inf", "1e999", "1.5x", " 1", "1 ", "--1"}) EXPECT_EQ(parse_number(text), std::nullopt) << text;
}

TEST(Suggestion, IsTheNameThatWasMeant) {
  const std::vector<std::string> names{"blink", "gaze_yaw", "mouth_open"};
  EXPECT_EQ(suggestion("blinc", names), "Did you mean 'blink'?");
  EXPECT_EQ(suggestion("BLINK", names), "Did you mean 'blink'?");
  EXPECT_EQ(suggestion("mouht_open", names), "Did you mean 'mouth_open'?");
  EXPECT_EQ(suggestion("gaze", names), "Known: 'blink', 'gaze_yaw', 'mouth_open'");
  EXPECT_EQ(suggestion("anything", {}), "");
}

TEST(Suggestion, OfAHugeNameIsTheListOfTheKnown) {
  EXPECT_EQ(suggestion(std::string(1'000'000, 'x'), std::vector<std::string>{"blink"}), "Known: 'blink'");
}

TEST(EasingText, IsTheNameWhereThereIsOne) {
  const std::pair<Easing, const char*> named[] = {{kHold, "hold"}, {kLinear, "linear"}, {kSmooth, "smooth"}, {kEase, "ease"},
                                                  {kEaseIn, "ease-in"}, {kEaseOut, "ease-out"}, {kEaseInOut, "ease-in-out"}};
  for (const auto& [easing, text] : named) {
    EXPECT_EQ(to_text(easing), text);
    EXPECT_EQ(parse_easing(text), easing);
  }
}

// The control points of the named curves: W3C CSS Easing Functions Level 1, section 2.2.1.
TEST(EasingText, OfANamedCurvesNumbersIsItsName) {
  EXPECT_EQ(to_text(*parse_easing("bezier(0.25 0.1 0.25 1)")), "ease");
  EXPECT_EQ(to_text(*parse_easing("bezier(0.42 0 1 1)")), "ease-in");
  EXPECT_EQ(to_text(*parse_easing("bezier(0 0 0.58 1)")), "ease-out");
  EXPECT_EQ(to_text(*parse_easing("bezier(0.42 0 0.58 1)")), "ease-in-out");
}

TEST(SmallLetters, AreAsciisAlone) {
  EXPECT_EQ(small_letters("Ctrl+Shift+T 0x1F"), "ctrl+shift+t 0x1f");
  EXPECT_EQ(small_letters("\u00c4U\u2191@[`{"), "\u00c4u\u2191@[`{");  // the neighbours of A..Z stay, and so does what isn't ASCII
  EXPECT_EQ(small_letters(""), "");
}

TEST(EasingText, GivesNumbersInTheirShortestForm) {
  EXPECT_EQ(to_text(Easing{Easing::Kind::bezier, 0.3f, -0.5f, 1.0f, 1.75f}), "bezier(0.3 -0.5 1 1.75)");
}

TEST(EasingText, ReadsBackTheSame) {
  support::Random random(3);
  for (int i = 0; i < 20'000; ++i) {
    const Easing easing = support::easing(random);
    ASSERT_EQ(parse_easing(to_text(easing)), easing) << to_text(easing);
  }
  const Easing extreme{Easing::Kind::bezier, 1e-30f, -std::numeric_limits<float>::max(), 1, std::numeric_limits<float>::denorm_min()};
  EXPECT_EQ(parse_easing(to_text(extreme)), extreme);
}

TEST(EasingText, IsNothingElse) {
  for (const char* text : {"", "Hold", "hold ", "bezier", "bezier()", "bezier(0 0 1)", "bezier(0 0 1 1 1)", "bezier(0 0 1 1", "bezier(-0.1 0 1 1)",
                           "bezier(0 0 1.1 1)", "bezier(0 nan 1 1)", "bezier(0 0 1 inf)", "bezier(0,0,1,1)", "bezier(0 0 1 1)x", "bezier(0 0 1 1e99)"}) {
    EXPECT_EQ(parse_easing(text), std::nullopt) << text;
  }
}

}  // namespace
}  // namespace mien::show
