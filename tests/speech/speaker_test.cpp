// espeak-ng's voices, run as a program: what the English model makes of them, and other languages by warping.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "speech/align.hpp"
#include "speech/align_spoken.hpp"
#include "speech/made_speech.hpp"
#include "speech/mfcc.hpp"
#include "speech/phones.hpp"
#include "speech/speaker.hpp"

namespace mien::speech_tests {
namespace {

using namespace speech;

const std::filesystem::path kProgram = std::filesystem::path(MIEN_BINARY_DIR) / "mien_espeak";

bool installed() { return std::filesystem::exists(kProgram); }

// The program stamps stops after their closure and gives some sounds no length, so stops are left out of the comparison of starts.
Errors without_stops(const Alignment& found, const Alignment& truth) {
  Alignment a = found, b = truth;
  std::erase_if(a.phones, [](const Phone& p) { return is_stop(p.label); });
  std::erase_if(b.phones, [](const Phone& p) { return is_stop(p.label); });
  return errors_of(a, b);
}

TEST(Speaker, TheEnglishModelFindsThePhonesOfTenVoicesAndRates) {
  if (!installed()) GTEST_SKIP() << "libespeak-ng-dev is not installed";
  Errors all;
  int refused = 0;
  for (const auto& [voice, rate] : {std::pair{"en-us", 140}, {"en-us", 175}, {"en-us+f3", 140}, {"en-us+f3", 175}, {"en-us+m3", 150}, {"en-us+m7", 160}, {"en-us+f2", 190}, {"en-gb", 140}, {"en-gb-x-rp", 140}, {"en-gb-scotland", 140}})
    for (std::size_t n = 0; n < kSentences.size(); n += 2) {
      const auto spoken = speak(kProgram, voice, rate, kSentences[n]);
      ASSERT_TRUE(spoken) << show::to_text(spoken.problem());
      const auto found = align(spoken->recording, kSentences[n]);
      if (!found) { ++refused; continue; }
      all.add(without_stops(*found, spoken->alignment));
    }
  RecordProperty("median_ms", std::to_string(all.median()));
  RecordProperty("p90_ms", std::to_string(all.p90()));
  EXPECT_LE(all.median(), 12);
  EXPECT_LE(all.p90(), 45);
  EXPECT_LE(refused, 1);
}

TEST(Speaker, OtherLanguages_TimesAreCarriedFromOneVoiceToAnother) {
  if (!installed()) GTEST_SKIP() << "libespeak-ng-dev is not installed";
  Errors all;
  for (const auto& [language, voice, text] : {std::tuple{"de", "de+f3", "Der alte W\xC3\xA4rter z\xC3\xBCndet jeden Abend die Lampe an und wartet auf die Boote."},
                                              {"fr", "fr+m3", "Le gardien allume sa lampe et attend les bateaux du matin."},
                                              {"es", "es+f2", "El viejo farero enciende la l\xC3\xA1mpara y mira el mar por la ventana."}}) {
    const auto spoken = speak(kProgram, voice, 150, text);
    ASSERT_TRUE(spoken) << show::to_text(spoken.problem());
    const Line line{text, {}};
    const auto found = align_spoken(spoken->recording, std::span(&line, 1), kProgram, language);
    ASSERT_TRUE(found) << show::to_text(found.problem());
    EXPECT_GE(found->words.size(), 9u);
    all.add(errors_of(*found, spoken->alignment));
  }
  RecordProperty("median_ms", std::to_string(all.median())), RecordProperty("p90_ms", std::to_string(all.p90()));
  EXPECT_LE(all.median(), 15);
  EXPECT_LE(all.p90(), 60);
}

TEST(Speaker, WhatCantBeSpoken_IsSaid) {
  const auto refusal = [](const std::filesystem::path& program, const char* language) {
    const auto spoken = speak(program, language, 160, "hello");
    return spoken ? std::string("spoken") : show::to_text(spoken.problem());
  };
  EXPECT_THAT(refusal("/nowhere/mien_espeak", "de"), ::testing::HasSubstr("libespeak-ng-dev"));
  if (!installed()) GTEST_SKIP() << "libespeak-ng-dev is not installed";
  EXPECT_THAT(refusal(kProgram, "no-such-language"), ::testing::HasSubstr("no language 'no-such-language'"));
}

TEST(Speaker, SoundsOfTheInternationalAlphabetBecomeTheNearestPhone) {
  for (const auto& [ipa, phone] : {std::pair{"t\xCA\x83", "CH"}, {"i\xCB\x90", "IY"}, {"\xCB\x88" "a\xC9\xAA", "AY"}, {"\xC5\x93", "UH"}, {"\xC9\x91\xCC\x83", "AA"}, {"_", ""}, {"\xCA\x94", ""}, {"", ""}}) EXPECT_EQ(phone_of_ipa(ipa), phone) << ipa;
}

// The transform against its definition, term by term.
TEST(Mfcc, TheTransformIsTheFourierTransform) {
  std::mt19937 random(3);
  std::normal_distribution<double> normal;
  std::vector<double> re(64), im(64);
  for (auto& x : re) x = normal(random);
  for (auto& x : im) x = normal(random);
  auto fr = re, fi = im;
  fourier(fr, fi);
  for (std::size_t k = 0; k < 64; ++k) {
    double sr = 0, si = 0;
    for (std::size_t j = 0; j < 64; ++j) {
      const double angle = -2 * M_PI * static_cast<double>(j * k) / 64;
      sr += re[j] * std::cos(angle) - im[j] * std::sin(angle), si += re[j] * std::sin(angle) + im[j] * std::cos(angle);
    }
    EXPECT_NEAR(fr[k], sr, 1e-11);
    EXPECT_NEAR(fi[k], si, 1e-11);
  }
}

TEST(Mfcc, LoudnessIsTheFirstCoefficientAlone_AndWarpingUndoesAStretch) {
  const auto spoken = say(1, 1, kSentences[0]);
  if (!spoken) GTEST_SKIP() << "flite1-dev is not installed";
  auto quiet = spoken->recording;
  for (auto& s : quiet.samples) s *= 0.5f;
  const auto a = mfcc(spoken->recording), b = mfcc(quiet);
  ASSERT_EQ(a.size(), b.size());
  // Half the amplitude is a quarter of the power: ln 4 less in each of 26 filters, sqrt(26) ln 4 in the orthonormal DCT's first coefficient.
  EXPECT_NEAR(a[100][0] - b[100][0], std::sqrt(26.0) * std::log(4.0), 0.05);
  for (std::size_t k = 1; k < kCepstra; ++k) EXPECT_NEAR(a[100][k], b[100][k], 0.05);
  std::vector<Cepstrum> stretched;
  for (std::size_t n = 0; n < a.size(); ++n) {
    stretched.push_back(a[n]);
    if (n >= 50 && n < 80) stretched.push_back(a[n]);
  }
  const auto path = warp(a, stretched);
  ASSERT_EQ(path.size(), a.size());
  EXPECT_EQ(path[40], 40);
  EXPECT_EQ(path[120], 150);
  EXPECT_TRUE(std::is_sorted(path.begin(), path.end()));
  EXPECT_TRUE(warp({}, a).empty());
}

}  // namespace
}  // namespace mien::speech_tests
