// The manner in which a line is said: pitch, accents, and what brows, head, lids and eyes do with them.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "motion/curve.hpp"
#include "speech/align.hpp"
#include "speech/delivery.hpp"
#include "speech/lexicon.hpp"
#include "speech/made_speech.hpp"
#include "support/time.hpp"

namespace mien::speech_tests {
namespace {

using show::Time;
using speech::Accent;
using speech::Delivery;
using speech::Phrase;

using support::ms;

std::vector<float> voice(double hz, int count, int rate) {
  std::vector<float> samples;
  for (int n = 0; n < count; ++n) {
    double x = 0;
    for (int k = 1; k <= 8; ++k) x += std::sin(2 * std::numbers::pi * k * hz * n / rate) / k;
    samples.push_back(static_cast<float>(0.3 * x));
  }
  return samples;
}

// By definition: a sound that repeats every 1/f seconds has the pitch f.
TEST(Prosody, PitchOfPeriodicSounds_AndOfNoiseNone) {
  for (const int rate : {8000, 16000})
    for (const double hz : {70.0, 98.5, 130.8, 220.0, 261.6, 390.0}) EXPECT_NEAR(speech::pitch_hz(voice(hz, rate * 6 / 100, rate), rate), hz, 0.01 * hz) << rate;
  std::mt19937 random(1);
  std::vector<float> noise;
  for (int n = 0; n < 960; ++n) noise.push_back(std::uniform_real_distribution<float>(-1, 1)(random));
  EXPECT_EQ(speech::pitch_hz(noise, 16000), 0);
  EXPECT_EQ(speech::pitch_hz({}, 16000), 0);
  EXPECT_EQ(speech::pitch_hz(std::vector<float>(960, 0.0f), 16000), 0);
}

speech::Alignment two_phrases() {
  speech::Alignment a;
  a.words = {{{ms(200), ms(500)}, "good"}, {{ms(500), ms(1000)}, "evening"}, {{ms(1600), ms(2000)}, "nobody"}};
  a.phones = {{{ms(200), ms(300)}, "G", 1, 0}, {{ms(300), ms(400)}, "UH", 1, 0}, {{ms(400), ms(500)}, "D", 1, 0},
              {{ms(500), ms(600)}, "IY", 1, 1}, {{ms(600), ms(700)}, "V", 1, 1}, {{ms(700), ms(850)}, "N", 1, 1}, {{ms(850), ms(900)}, "IH", 1, 1}, {{ms(900), ms(1000)}, "NG", 1, 1},
              {{ms(1600), ms(1700)}, "N", 1, 2}, {{ms(1700), ms(1800)}, "OW", 1, 2}, {{ms(1800), ms(2000)}, "B", 1, 2}};
  a.length = ms(2500);
  return a;
}

TEST(Prosody, PhrasesEndAtPauses) {
  const auto phrases = speech::phrases_of(two_phrases());
  ASSERT_EQ(phrases.size(), 2u);
  EXPECT_EQ(phrases[0].end, 2u);
  EXPECT_EQ(phrases[0].range, (show::Range{ms(200), ms(1000)}));
  EXPECT_EQ(phrases[1].first, 2u);
  EXPECT_TRUE(speech::phrases_of({}).empty());
}

// Fry 1958: of two vowels the louder, longer or higher is heard as stressed. One word at a time is made so.
TEST(Prosody, WhatIsLouderHigherOrLongerIsAccented) {
  const auto line = two_phrases();
  const auto sound = [&](double louder, double higher) {
    speech::Recording r;
    r.samples.assign(40000, 0.0f);
    for (const auto& p : line.phones) {
      const bool second = p.label == "IY";
      const auto part = voice(120 * (second ? higher : 1), static_cast<int>(p.range.length().count() / 62500), 16000);
      for (std::size_t n = 0; n < part.size(); ++n) r.samples[static_cast<std::size_t>(p.range.begin.count() / 62500) + n] = static_cast<float>((second ? louder : 1) * 0.3) * part[n];
    }
    return r;
  };
  for (const auto& [louder, higher] : {std::pair{2.5, 1.0}, {1.0, 1.5}}) {
    const auto accents = speech::accents_of(line, sound(louder, higher));
    ASSERT_GE(accents.size(), 2u);
    EXPECT_EQ(accents[0].word, 1u) << "evening";
    EXPECT_EQ(accents[0].vowel.begin, ms(500)) << "on its first vowel, which is stressed";
    EXPECT_EQ(accents.back().word, 2u) << "each phrase has one";
  }
  auto longer = line;  // the same sound throughout, but one vowel lasts three times as long
  for (std::size_t n = 4; n < longer.phones.size(); ++n) longer.phones[n].range = {longer.phones[n].range.begin + ms(300), longer.phones[n].range.end + ms(300)};
  longer.phones[3].range.end += ms(300);
  for (std::size_t w = 1; w < 3; ++w) longer.words[w].range.end += ms(300);
  speech::Recording even;
  even.samples = voice(120, 48000, 16000);
  EXPECT_EQ(speech::accents_of(longer, even).front().word, 1u);
}

// CMUdict as flite carries it: EH1 in "again" (AH0 G EH1 N), AE1 in "natural" (N AE1 CH ER0 AH0 L, the example in NLTK's README of cmudict).
TEST(Prosody, StressIsTheLexicons) {
  if (!speech::has_rules()) GTEST_SKIP() << "flite1-dev is not installed";
  EXPECT_THAT(speech::stresses("again"), ::testing::ElementsAre(0, 1));
  EXPECT_EQ(speech::stresses("natural").front(), 1);
}

// A long line of even phrases with an accent in each.
struct Talk {
  std::vector<Phrase> phrases;
  std::vector<Accent> accents;
  speech::Face face;
  Talk() {
    for (int n = 0; n < 40; ++n) {
      phrases.push_back({static_cast<std::size_t>(n), static_cast<std::size_t>(n) + 1, {ms(2000 * n + 100), ms(2000 * n + 1400)}});
      accents.push_back({static_cast<std::size_t>(n), {ms(2000 * n + 500), ms(2000 * n + 620)}, 0.2 + 0.02 * n});
    }
    face.brows = {{"brow", 0, 1}}, face.lids = {{"lid", 0, 1}}, face.nod = {{"neck", 0, 0.1}}, face.yaw = {{"yaw", 5, 1}}, face.pitch = {{"pitch", 0, -1}};
    face.most_yaw_deg = 20, face.most_pitch_deg = 8;
  }
  std::vector<speech::Track> made(const Delivery& d, show::Findings* notes = nullptr) const { return speech::delivery_of(phrases, accents, face, d, notes); }
  static const speech::Track& of(const std::vector<speech::Track>& tracks, const std::string& control) {
    static const speech::Track none;
    for (const auto& t : tracks)
      if (t.control == control) return t;
    return none;
  }
};

// Flecha-Garcia 2010 (from memory): raises begin 60 ms before the accent on average.
TEST(Delivery, BrowsRiseJustBeforeAccents_TheStrongerTheMore) {
  const Talk talk;
  const auto tracks = talk.made({1, 0, 0, 0, 1});
  ASSERT_EQ(tracks.size(), 1u);
  const auto& keys = tracks[0].keys;
  std::size_t raises = 0;
  double early_ms = 0, last_reach = 0;
  int weak = 0, strong = 0;
  for (std::size_t k = 0; k + 3 < keys.size(); k += 4) {
    EXPECT_EQ(keys[k].value, 0);
    EXPECT_EQ(keys[k + 3].value, 0);
    const auto& accent = *std::min_element(talk.accents.begin(), talk.accents.end(), [&](const auto& a, const auto& b) { return std::chrono::abs(a.vowel.begin - keys[k].time) < std::chrono::abs(b.vowel.begin - keys[k].time); });
    early_ms += show::to_seconds(accent.vowel.begin - keys[k].time) * 1e3;
    EXPECT_GT(keys[k + 1].value, last_reach);
    last_reach = keys[k + 1].value;
    ++raises, ++(accent.strength < 0.6 ? weak : strong);
  }
  ASSERT_GT(raises, 10u);
  EXPECT_NEAR(early_ms / static_cast<double>(raises), 60, 1);
  EXPECT_GT(strong, weak);
}

// Condon & Ogston 1967, Nakano & Kitazawa 2010 (from memory): speakers blink in the pauses at the ends of phrases.
TEST(Delivery, BlinksFallAtTheEndsOfPhrases) {
  const Talk talk;
  const auto made = talk.made({0, 0, 1, 0, 1});
  const auto& all = Talk::of(made, "lid");
  EXPECT_EQ(all.keys.size(), 4 * talk.phrases.size());
  const auto half = talk.made({0, 0, 0.5, 0, 1});
  const auto& keys = Talk::of(half, "lid").keys;
  EXPECT_GT(keys.size(), talk.phrases.size());
  EXPECT_LT(keys.size(), 3 * talk.phrases.size());
  for (std::size_t k = 0; k + 3 < keys.size(); k += 4) {
    EXPECT_EQ(keys[k + 1].value, 1);
    EXPECT_EQ(keys[k + 3].value, 0);
    EXPECT_LT(keys[k + 1].time - keys[k].time, keys[k + 3].time - keys[k + 2].time) << "closing is the faster";
    const bool in_pause = std::any_of(talk.phrases.begin(), talk.phrases.end(), [&](const Phrase& p) { return keys[k].time >= p.range.end && keys[k + 3].time <= p.range.end + ms(600); });
    EXPECT_TRUE(in_pause) << show::to_seconds(keys[k].time);
  }
}

// Kendon 1967 (from memory): away as a phrase is begun, back by its end. Sizes: exponential, mean 6.9 degrees (Lee, Badler & Badler 2002, from memory).
TEST(Delivery, TheGazeTurnsAwayInPauses_AndIsBackByTheEndOfThePhrase) {
  Talk talk;
  talk.face.most_yaw_deg = 90, talk.face.most_pitch_deg = 90;
  const auto tracks = talk.made({0, 0, 0, 1, 3});
  const auto& yaw = Talk::of(tracks, "yaw").keys;
  const auto& pitch = Talk::of(tracks, "pitch").keys;
  ASSERT_EQ(yaw.size(), 4 * (talk.phrases.size() - 1));
  double sum = 0;
  for (std::size_t k = 0; k + 3 < yaw.size(); k += 4) {
    const auto& before = talk.phrases[k / 4].range;
    const auto& next = talk.phrases[k / 4 + 1].range;
    EXPECT_GE(yaw[k].time, before.end);
    EXPECT_LT(yaw[k + 1].time, next.begin);
    EXPECT_LE(yaw[k + 3].time, next.end + ms(20));
    EXPECT_EQ(yaw[k + 3].value, 5) << "where it was";
    sum += std::hypot(yaw[k + 1].value - 5, pitch[k + 1].value);
    // Carpenter 1988: 21 ms and 2.2 ms a degree.
    EXPECT_NEAR(show::to_seconds(yaw[k + 1].time - yaw[k].time), 0.021 + 0.0022 * std::hypot(yaw[k + 1].value - 5, pitch[k + 1].value), 1e-6);
  }
  EXPECT_NEAR(sum / static_cast<double>(talk.phrases.size() - 1), 6.9, 2.5);
}

TEST(Delivery, NodsHaveTheirPeakOnTheStressedVowel) {
  const Talk talk;
  const auto tracks = talk.made({0, 1, 0, 0, 1});
  const auto& keys = Talk::of(tracks, "neck").keys;
  ASSERT_EQ(keys.size(), 3 * talk.accents.size());
  for (std::size_t k = 1; k < keys.size(); k += 3) {
    EXPECT_LT(keys[k].value, 0);
    EXPECT_TRUE(talk.accents[k / 3].vowel.contains(keys[k].time));
  }
}

TEST(Delivery, TheSameSeedIsTheSame_AnotherIsNot) {
  const Talk talk;
  const Delivery d{1, 1, 0.7, 1, 7};
  const auto once = talk.made(d), again = talk.made(d);
  ASSERT_EQ(once.size(), 5u);
  for (std::size_t n = 0; n < once.size(); ++n) EXPECT_EQ(once[n].keys, again[n].keys);
  auto other = d;
  other.seed = 8;
  EXPECT_NE(talk.made(other)[2].keys, once[2].keys);
  EXPECT_TRUE(talk.made({}).empty());
}

TEST(Delivery, WhatTheRigHasNotIsLeftOutAndTold) {
  Talk talk;
  talk.face = {};
  show::Findings notes;
  EXPECT_TRUE(talk.made({1, 1, 1, 1, 1}, &notes).empty());
  ASSERT_EQ(notes.size(), 4u);
  EXPECT_THAT(notes[1].what, ::testing::HasSubstr("Nods"));
  EXPECT_THAT(notes[1].cure, ::testing::HasSubstr("neck_pitch"));
  EXPECT_EQ(notes[0].severity, show::Severity::note);
}

// A slow servo begins earlier and is in time.
TEST(Delivery, SlowServosAreGivenTheTimeThatTheyNeed) {
  Talk talk;
  talk.face.lids[0].per_s = 5;  // 1.5 / 5 = 0.3 s to close
  const auto tracks = talk.made({0, 0, 1, 0, 1});
  const auto& keys = Talk::of(tracks, "lid").keys;
  for (std::size_t k = 0; k + 1 < keys.size(); ++k)
    if (keys[k].value != keys[k + 1].value) { EXPECT_GE(show::to_seconds(keys[k + 1].time - keys[k].time), 0.3 - 1e-9); }
}

}  // namespace
}  // namespace mien::speech_tests
