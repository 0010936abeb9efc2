// Label files: what is written reads back the same, and what others write is understood or refused with its place.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "speech/labels.hpp"
#include "speech/timed_text.hpp"

namespace mien::speech {
namespace {

using show::Time;
using ::testing::HasSubstr;

Alignment sample() {
  const auto ms = [](int t) { return Time{t * 1'000'000LL}; };
  Alignment a;
  a.words = {{{ms(120), ms(400)}, "good", 1, Origin::given}, {{ms(400), ms(810)}, "\"moth\"", 1, Origin::given}};
  a.phones = {{{ms(120), ms(190)}, "G", 1, 0}, {{ms(190), ms(330)}, "UH", 1, 0}, {{ms(330), ms(400)}, "D", 1, 0},
              {{ms(400), ms(500)}, "M", 1, 1}, {{ms(500), ms(690)}, "AO", 1, 1}, {{ms(690), ms(810)}, "TH", 1, 1}};
  a.length = ms(1000);
  return a;
}

TEST(Labels, TextGrid_ReadsBackTheSame) {
  const auto text = write_labels(sample(), LabelForm::text_grid);
  EXPECT_THAT(text, HasSubstr("File type = \"ooTextFile\"\nObject class = \"TextGrid\"\n"));
  EXPECT_THAT(text, HasSubstr("name = \"phones\""));
  const auto back = read_labels(text, LabelForm::text_grid);
  ASSERT_TRUE(back) << show::to_text(back.problem());
  EXPECT_EQ(*back, sample());
}

TEST(Labels, Htk_ReadsBackTheSame) {
  const auto text = write_labels(sample(), LabelForm::htk);
  EXPECT_THAT(text, HasSubstr("1200000 1900000 G good\n1900000 3300000 UH\n"));  // 100 ns units, HTK Book section 6.2.1 (from memory)
  const auto back = read_labels(text, LabelForm::htk);
  ASSERT_TRUE(back) << show::to_text(back.problem());
  EXPECT_EQ(*back, sample());
}

TEST(Labels, TabSeparatedPhonesAndWords_ReadBackTheSame) {
  const auto phones = read_labels(write_labels(sample(), LabelForm::tabs), LabelForm::tabs);
  ASSERT_TRUE(phones) << show::to_text(phones.problem());
  auto bare = sample();
  bare.words.clear();
  for (auto& phone : bare.phones) phone.word = -1;
  EXPECT_EQ(*phones, bare);
  const auto words = read_labels(write_labels(sample(), LabelForm::tabs, true), LabelForm::tabs);
  ASSERT_TRUE(words) << show::to_text(words.problem());
  EXPECT_EQ(words->words, sample().words);
}

// Praat's manual, "TextGrid file formats": the short form has the same values without their names.
TEST(Labels, ShortTextGridsWithStressAndOtherTiers_AreRead) {
  const char* text = "\"ooTextFile\"\n\"TextGrid\"\n0\n1\n<exists>\n3\n\"IntervalTier\"\n\"Words\"\n0\n1\n2\n0\n0.5\n\"a\"\n0.5\n1\n\"\"\n"
                     "\"TextTier\"\n\"notes\"\n0\n1\n1\n0.3\n\"here\"\n\"IntervalTier\"\n\"phones\"\n0\n1\n2\n0\n0.5\n\"AH0\"\n0.5\n1\n\"sil\"\n";
  const auto read = read_labels(text, LabelForm::text_grid);
  ASSERT_TRUE(read) << show::to_text(read.problem());
  ASSERT_EQ(read->phones.size(), 1u);
  EXPECT_EQ(read->phones[0].label, "AH");
  EXPECT_EQ(read->phones[0].word, 0);
}

TEST(Labels, WhatCantBeRead_IsRefusedWithItsPlace) {
  const auto refusal = [](std::string_view text, LabelForm form) {
    const auto read = read_labels(text, form, "line.lab");
    return read ? std::string("accepted") : show::to_text(read.problem());
  };
  const auto grid = write_labels(sample(), LabelForm::text_grid);
  for (std::size_t cut = 0; cut < grid.size() - 12; cut += 7) EXPECT_NE(refusal(grid.substr(0, cut), LabelForm::text_grid), "accepted") << cut;
  EXPECT_THAT(refusal("hello", LabelForm::text_grid), HasSubstr("no TextGrid"));
  EXPECT_THAT(refusal("0\t1\tAA\n0.5\t2\tB\n", LabelForm::tabs), HasSubstr("line 2: it begins before"));
  EXPECT_THAT(refusal("0\tone\tAA\n", LabelForm::tabs), HasSubstr("line 1"));
  EXPECT_THAT(refusal("0 10000 AA\n10000 5000 B\n", LabelForm::htk), HasSubstr("line 2"));
  EXPECT_THAT(refusal("0 10000 XX\n", LabelForm::htk), HasSubstr("'XX' is no ARPABET phone"));
  EXPECT_THAT(refusal("", LabelForm::htk), HasSubstr("no labels"));
}

TEST(TimedText, WebVttSubRipAndPlain) {
  const auto at = [](int ms) { return Time{ms * 1'000'000LL}; };
  const auto vtt = read_text("WEBVTT - a line\n\nNOTE nothing\n\nfirst\n00:01.500 --> 00:03.000 align:start\n<v Keeper>Good <b>evening</b>.\nAll &amp; sundry\n\n01:00:00.000 --> 01:00:01.250\nFog\n");
  ASSERT_TRUE(vtt) << show::to_text(vtt.problem());
  EXPECT_EQ(*vtt, (std::vector<Line>{{"Good evening. All & sundry", show::Range{at(1500), at(3000)}}, {"Fog", show::Range{at(3600000), at(3601250)}}}));
  const auto srt = read_text("\xEF\xBB\xBF" "2\r\n00:00:05,000 --> 00:00:06,000\r\nlater\r\n\r\n1\r\n00:00:01,000 --> 00:00:02,500\r\n{\\an8}first\r\n");
  ASSERT_TRUE(srt) << show::to_text(srt.problem());
  EXPECT_EQ(*srt, (std::vector<Line>{{"first", show::Range{at(1000), at(2500)}}, {"later", show::Range{at(5000), at(6000)}}}));
  const auto plain = read_text("Good evening.\nFog came.");
  ASSERT_TRUE(plain);
  EXPECT_EQ(*plain, (std::vector<Line>{{"Good evening.\nFog came.", {}}}));
}

TEST(TimedText, WhatCantBeRead_IsRefusedWithItsLine) {
  const auto refusal = [](std::string_view text) {
    const auto read = read_text(text, "line.srt");
    return read ? std::string("accepted") : show::to_text(read.problem());
  };
  EXPECT_THAT(refusal(" \n "), HasSubstr("empty"));
  EXPECT_THAT(refusal("caf\xE9"), HasSubstr("UTF-8"));
  EXPECT_THAT(refusal("1\n00:00:01,000 --> soon\nhello\n"), HasSubstr("line 2: its times"));
  EXPECT_THAT(refusal("WEBVTT\n\n00:02.000 --> 00:01.000\nhello\n"), HasSubstr("line 3: it ends before"));
  EXPECT_THAT(refusal("WEBVTT\n\n00:01.000 --> 00:02.000\n\n"), HasSubstr("cues"));
}

}  // namespace
}  // namespace mien::speech
