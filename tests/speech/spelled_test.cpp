// Numbers and abbreviations as people read them aloud (common practice), and where pronunciations come from.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "speech/lexicon.hpp"
#include "speech/phones.hpp"
#include "speech/spelled.hpp"

namespace mien::speech {
namespace {

std::string said(std::string_view text) {
  std::string out;
  for (const auto& word : spoken_words(text)) out += (out.empty() ? "" : " ") + word.text;
  return out;
}

TEST(Spelled, NumbersAndAbbreviations) {
  const std::pair<const char*, const char*> cases[] = {
      {"Good evening. For forty-one years!", "good evening for forty one years"},
      {"41", "forty one"}, {"0", "zero"}, {"100", "one hundred"}, {"1,234,567", "one million two hundred thirty four thousand five hundred sixty seven"},
      {"in 1984", "in nineteen eighty four"}, {"1905", "nineteen oh five"}, {"1900", "nineteen hundred"}, {"2000", "two thousand"}, {"2024", "twenty twenty four"},
      {"the 1980s", "the nineteen eighties"}, {"1st 2nd 3rd 12th 20th 21st", "first second third twelfth twentieth twenty first"},
      {"3.14", "three point one four"}, {"0.5%", "zero point five percent"}, {"$5", "five dollars"}, {"\xC2\xA3" "1", "one pound"},
      {"at 10:30", "at ten thirty"}, {"9:05", "nine oh five"}, {"7:00", "seven o'clock"}, {"-3 degrees", "minus three degrees"}, {"007", "zero zero seven"},
      {"Mr. Gull & Mrs. Tern", "mister gull and missus tern"}, {"Dr. Fog, St. Bree", "doctor fog saint bree"}, {"Gull St.", "gull street"},
      {"No. 5", "number five"}, {"No. Never.", "no never"}, {"etc.", "et cetera"}, {"e.g. moths", "for example moths"},
      {"don\xE2\x80\x99t 'quote'", "don't quote"}, {"caf\xC3\xA9 na\xC3\xAFve \xC3\x85se", "cafe naive ase"}, {"A.B. \xE2\x80\x94 x", "ab x"}, {"...", ""}};
  for (const auto& [text, words] : cases) EXPECT_EQ(said(text), words) << text;
}

TEST(Spelled, OtherScriptsAreMarked) {
  const auto words = spoken_words("hello \xD0\xBC\xD0\xB8\xD1\x80");
  ASSERT_EQ(words.size(), 2u);
  EXPECT_FALSE(words[0].foreign);
  EXPECT_TRUE(words[1].foreign);
  EXPECT_EQ(words[1].at, 6u);
}

TEST(Lexicon, VariantsPossessivesAndLetters) {
  const auto lexicon = Lexicon::of("b. B IY\nc. S IY\nread R EH1 D\nread(2) R IY1 D\nmoth M AO1 TH\n;;; note\nbus B AH1 S\ngull G AH1 L\n");
  const auto ways = [&](const char* text, bool capitals = false) { return lexicon.look_up({text, 0, capitals, false}).ways; };
  EXPECT_EQ(ways("read"), (std::vector<Pronunciation>{{"R", "EH", "D"}, {"R", "IY", "D"}}));
  EXPECT_EQ(ways("moth's"), (std::vector<Pronunciation>{{"M", "AO", "TH", "S"}}));
  EXPECT_EQ(ways("bus's"), (std::vector<Pronunciation>{{"B", "AH", "S", "IH", "Z"}}));
  EXPECT_EQ(ways("gull's"), (std::vector<Pronunciation>{{"G", "AH", "L", "Z"}}));
  EXPECT_EQ(ways("bc", true), (std::vector<Pronunciation>{{"B", "IY", "S", "IY"}}));
  const auto unknown = lexicon.look_up({"grumpling", 0, false, false});
  EXPECT_EQ(unknown.origin, has_rules() ? Origin::rules : Origin::missing);
  EXPECT_EQ(lexicon.look_up({"\xD0\xBC", 0, false, true}).origin, Origin::missing);
}

// CMUdict 0.7a's own example (NLTK's README of it): NATURAL is N AE1 CH ER0 AH0 L.
TEST(Lexicon, TheInstalledDictionaryHasCmusExample) {
  const auto lexicon = Lexicon::load(dictionary_file());
  if (!lexicon) GTEST_SKIP() << show::to_text(lexicon.problem());
  const auto natural = lexicon->look_up({"natural", 0, false, false});
  EXPECT_THAT(natural.ways, ::testing::Contains(Pronunciation{"N", "AE", "CH", "ER", "AH", "L"}));
}

TEST(Phones, CmudictHasThirtyNine_FifteenOfThemVowels) {
  int vowels = 0;
  for (const auto phone : kPhones) vowels += is_vowel(phone);
  EXPECT_EQ(kPhones.size(), 39u);
  EXPECT_EQ(vowels, 15);
  EXPECT_EQ(plain_phone("ah0"), "AH");
  EXPECT_EQ(plain_phone("SIL"), "");
}

}  // namespace
}  // namespace mien::speech
