// Alignment against voices that tell their phone times, and against recordings of people.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "show/text.hpp"
#include "sound/wave.hpp"
#include "speech/align.hpp"
#include "speech/made_speech.hpp"

namespace mien::speech_tests {
namespace {

TEST(Align, PhonesOfFourVoicesAtTwoSpeeds_BeginWhereTheVoiceSaysSo) {
  Errors all;
  for (int voice = 0; voice < 4; ++voice)
    for (const double stretch : {1.0, 1.3}) {
      Errors errors;
      for (const char* sentence : kSentences) {
        const auto spoken = say(voice, stretch, sentence);
        if (!spoken) GTEST_SKIP() << "flite1-dev is not installed";
        const auto found = speech::align(spoken->recording, spoken->text, "sound");
        ASSERT_TRUE(found) << show::to_text(found.problem());
        errors.add(errors_of(*found, spoken->truth));
      }
      SCOPED_TRACE("voice " + std::to_string(voice) + ", stretch " + std::to_string(stretch));
      EXPECT_LE(errors.median(), 12);
      EXPECT_LE(errors.p90(), 32);
      all.add(errors);
    }
  RecordProperty("median_ms", std::to_string(all.median()));
  RecordProperty("p90_ms", std::to_string(all.p90())), RecordProperty("hit", std::to_string(all.hit()));
  EXPECT_LE(all.median(), 9);
  EXPECT_LE(all.p90(), 27);
  EXPECT_GE(all.hit(), 0.97);
}

// LibriVox and card-game recordings of pocketsphinx-testdata, with their transcripts.
std::vector<float> noise(std::size_t count, float amplitude) {
  std::vector<float> samples(count);
  std::uint32_t state = 7;
  for (auto& s : samples) state = state * 1664525u + 1013904223u, s = amplitude * (static_cast<float>(state >> 8) / 8388608.0f - 1);
  return samples;
}

speech::Recording mono(std::vector<float> samples) { return {speech::kSpeechRate_hz, std::move(samples)}; }

TEST(Align, WhatIsNoSpeech_IsRefusedWithItsReason) {
  const auto refusal = [](const speech::Recording& r, const std::string& text) {
    const auto found = speech::align(r, text, "line.wav");
    return found ? std::string("accepted") : show::to_text(found.problem());
  };
  using ::testing::HasSubstr;
  EXPECT_THAT(refusal(mono({}), "hello"), HasSubstr("no samples"));
  EXPECT_THAT(refusal(mono(std::vector<float>(32000, 0.0f)), "hello"), HasSubstr("silent"));
  EXPECT_THAT(refusal(mono(std::vector<float>(32000, 0.0002f)), "hello"), HasSubstr("silent"));
  EXPECT_THAT(refusal(mono(noise(48000, 0.3f)), "good evening to everyone"), HasSubstr("level never moves"));
  const auto spoken = say(1, 1, kSentences[0]);
  if (!spoken) GTEST_SKIP() << "flite1-dev is not installed";
  EXPECT_THAT(refusal(spoken->recording, " ... --- "), HasSubstr("no words"));
  EXPECT_THAT(refusal(spoken->recording, "\xD0\x94\xD0\xBE\xD0\xB1\xD1\x80\xD1\x8B\xD0\xB9 \xD0\xB2\xD0\xB5\xD1\x87\xD0\xB5\xD1\x80"), HasSubstr("script"));
  std::string flood;
  for (int n = 0; n < 40; ++n) flood += std::string(kSentences[1]) + " ";
  EXPECT_THAT(refusal(spoken->recording, flood), HasSubstr("can't be fitted"));
}

TEST(Align, EightKilohertzManyChannelsAndNoise_AreUnderstood) {
  const auto spoken = say(1, 1, kSentences[1]);
  if (!spoken) GTEST_SKIP() << "flite1-dev is not installed";
  const auto& clean = spoken->recording.samples;
  std::vector<float> six, eight, noisy = clean;
  for (const float s : clean)
    for (int c = 0; c < 6; ++c) six.push_back(c == 2 ? s : 0.1f * s);
  const auto hiss = noise(noisy.size(), 0.02f);
  for (std::size_t n = 0; n < noisy.size(); ++n) noisy[n] += hiss[n];
  for (std::size_t n = 0; n + 1 < clean.size(); n += 2) eight.push_back(0.5f * (clean[n] + clean[n + 1]));
  for (const auto& [name, recording] : {std::pair{"5.1", speech::recording_of(six, 6, 16000)}, {"8 kHz", speech::recording_of(eight, 1, 8000)}, {"noise", mono(noisy)}}) {
    const auto found = speech::align(recording, spoken->text, name);
    ASSERT_TRUE(found) << show::to_text(found.problem());
    EXPECT_LE(errors_of(*found, spoken->truth).median(), 16) << name;
  }
}

TEST(Align, LongSoundsAreCutAtPauses_AndProgressCanStopThem) {
  speech::Recording all;
  speech::Alignment truth;
  std::string text;
  for (int round = 0; round < 5; ++round)
    for (const char* sentence : kSentences) {
      const auto spoken = say(1 + round % 3, 1, sentence);
      if (!spoken) GTEST_SKIP() << "flite1-dev is not installed";
      for (auto phone : spoken->truth.phones) {
        phone.range.begin += all.length(), phone.range.end += all.length();
        truth.phones.push_back(phone);
      }
      text += spoken->text + "\n";
      all.samples.insert(all.samples.end(), spoken->recording.samples.begin(), spoken->recording.samples.end());
    }
  ASSERT_GT(show::to_seconds(all.length()), 150);
  std::vector<double> done;
  const auto found = speech::align(all, text, "long", nullptr, [&](double share) { done.push_back(share); return true; });
  ASSERT_TRUE(found) << show::to_text(found.problem());
  EXPECT_GE(done.size(), 3u);
  EXPECT_TRUE(std::is_sorted(done.begin(), done.end()));
  const auto errors = errors_of(*found, truth);
  EXPECT_LE(errors.median(), 9);
  EXPECT_LE(errors.p90(), 27);
  const auto stopped = speech::align(all, text, "long", nullptr, [](double) { return false; });
  ASSERT_FALSE(stopped);
  EXPECT_EQ(stopped.problem().severity, show::Severity::note);
}

// Twenty minutes of three voices. The same 36 sentences come round and round, since what takes long is to listen, not to speak.
TEST(Align, TwentyMinutesAreAlignedInPieces_AndGivenUpOnTheWay) {
  std::vector<Spoken> sentences;
  for (int voice = 1; voice <= 3; ++voice)
    for (const char* sentence : kSentences) {
      auto spoken = say(voice, 1, sentence);
      if (!spoken) GTEST_SKIP() << "flite1-dev is not installed";
      sentences.push_back(std::move(*spoken));
    }
  speech::Recording all;
  std::vector<std::pair<show::Range, const Spoken*>> said;
  std::string text;
  for (std::size_t n = 0; show::to_seconds(all.length()) < 20 * 60; ++n) {
    const auto& one = sentences[n * 7 % sentences.size()];
    const auto begin = all.length();
    all.samples.insert(all.samples.end(), one.recording.samples.begin(), one.recording.samples.end());
    said.push_back({{begin, all.length()}, &one});
    text += one.text + "\n";
  }
  std::vector<double> done;
  const auto found = speech::align(all, text, "twenty minutes", nullptr, [&](double share) { done.push_back(share); return true; });
  ASSERT_TRUE(found) << show::to_text(found.problem());
  EXPECT_GE(done.size(), 24u) << "a piece is 50 s at most";
  EXPECT_TRUE(std::is_sorted(done.begin(), done.end()));
  EXPECT_GT(done.back(), 0.95);
  // Each sentence where it was said.
  Errors errors;
  for (const auto& [range, spoken] : said) {
    speech::Alignment part;
    for (auto phone : found->phones)
      if (range.contains(phone.range.begin + phone.range.length() / 2)) {
        phone.range.begin -= range.begin, phone.range.end -= range.begin;
        part.phones.push_back(phone);
      }
    errors.add(errors_of(part, spoken->truth));
  }
  RecordProperty("median_us", static_cast<int>(errors.median() * 1000)), RecordProperty("p90_us", static_cast<int>(errors.p90() * 1000));
  EXPECT_LE(errors.median(), 9);
  EXPECT_LE(errors.p90(), 27);
  int after = 0;
  const auto stopped = speech::align(all, text, "twenty minutes", nullptr, [&](double share) { return share < 0.2 || (++after, false); });
  ASSERT_FALSE(stopped);
  EXPECT_EQ(stopped.problem().severity, show::Severity::note);
  EXPECT_EQ(after, 1) << "it goes on once it was told to stop";
}

TEST(Align, WordsThatTheDictionaryLacks_AreMarked) {
  const auto spoken = say(1, 1, "Nobody on Ferrow Point knew the grumpling.");
  if (!spoken) GTEST_SKIP() << "flite1-dev is not installed";
  show::Findings notes;
  const auto found = speech::align(spoken->recording, spoken->text, "line", &notes);
  ASSERT_TRUE(found) << show::to_text(found.problem());
  std::vector<std::string> by_rules;
  for (const auto& word : found->words)
    if (word.origin == speech::Origin::rules) by_rules.push_back(word.text);
  EXPECT_THAT(by_rules, ::testing::ElementsAre("ferrow", "grumpling"));
  EXPECT_EQ(notes.size(), 2u);
}

TEST(Align, TimedLines_KeepToTheirTimes) {
  const auto first = say(1, 1, kSentences[0]), second = say(1, 1, kSentences[3]);
  if (!first) GTEST_SKIP() << "flite1-dev is not installed";
  speech::Recording both = first->recording;
  const show::Time gap = both.length();
  both.samples.insert(both.samples.end(), second->recording.samples.begin(), second->recording.samples.end());
  const std::vector<speech::Line> lines{{first->text, show::Range{show::Time{0}, gap}}, {second->text, show::Range{gap, both.length()}}};
  const auto found = speech::align(both, lines, "two");
  ASSERT_TRUE(found) << show::to_text(found.problem());
  EXPECT_NEAR(show::to_seconds(found->phones.back().range.end), show::to_seconds(both.length()), 0.5);
  const std::vector<speech::Line> late{{first->text, show::Range{both.length() + gap, both.length() + 2 * gap}}};
  EXPECT_FALSE(speech::align(both, late, "late"));
}

struct Human {
  speech::Recording recording;
  std::string text, name;
};

std::vector<Human> humans() {
  const std::filesystem::path data = "/usr/share/pocketsphinx/test/data";
  std::vector<Human> found;
  for (const auto& [folder, list] : {std::pair{"librivox", "transcription"}, {"cards", "cards.transcription"}}) {
    std::ifstream lines(data / folder / list);
    for (std::string line; std::getline(lines, line);) {
      const auto open = line.find("<s>"), close = line.find("</s>"), name = line.find('(');
      if (open == std::string::npos || name == std::string::npos) continue;
      const std::string id = line.substr(name + 1, line.find(')') - name - 1);
      const auto wave = sound::load(data / folder / (id + ".wav"));
      if (!wave) continue;
      found.push_back({speech::recording_of((*wave)->samples, (*wave)->channels, (*wave)->rate_hz), line.substr(open + 3, close - open - 3), id});
    }
  }
  return found;
}

TEST(Align, RecordingsOfPeople_AllAligned) {
  const auto people = humans();
  if (people.empty()) GTEST_SKIP() << "pocketsphinx-testdata is not installed";
  EXPECT_EQ(people.size(), 10u);
  for (const auto& person : people) {
    const auto found = speech::align(person.recording, person.text, person.name);
    ASSERT_TRUE(found) << show::to_text(found.problem());
    show::Time last{0};
    for (const auto& phone : found->phones) {
      EXPECT_GE(phone.range.begin, last);
      EXPECT_GT(phone.range.end, phone.range.begin);
      last = phone.range.end;
    }
    EXPECT_LE(last, found->length);
    for (const auto& word : found->words) EXPECT_FALSE(word.range.empty()) << word.text;
  }
}

TEST(Align, WrongTexts_AreRefused_RightOnesAreNot) {
  struct Case { speech::Recording recording; std::string text; };
  std::vector<Case> cases;
  for (const auto& person : humans()) cases.push_back({person.recording, person.text});
  for (int voice = 0; voice < 4; ++voice)
    for (std::size_t n = 0; n < kSentences.size(); ++n)
      if (auto spoken = say(voice, n % 2 ? 1.3 : 1.0, kSentences[n])) cases.push_back({spoken->recording, spoken->text});
  if (cases.size() < 20) GTEST_SKIP() << "flite1-dev is not installed";
  int refused_right = 0, refused_wrong = 0, wrong = 0;
  std::string accepted;
  for (std::size_t n = 0; n < cases.size(); ++n) {
    if (const auto good = speech::align(cases[n].recording, cases[n].text); !good) ++refused_right;
    for (const std::size_t other : {(n + 5) % cases.size(), (n + 17) % cases.size()}) {
      if (cases[other].text == cases[n].text) continue;
      ++wrong;
      const auto bad = speech::align(cases[n].recording, cases[other].text);
      refused_wrong += !bad;
      if (bad) accepted += "\n" + show::number_text(bad->score_per_frame) + " '" + cases[other].text + "' for '" + cases[n].text + "'";
    }
  }
  const double count = static_cast<double>(cases.size());
  RecordProperty("right_refused", refused_right), RecordProperty("right", static_cast<int>(count));
  RecordProperty("wrong_refused", refused_wrong), RecordProperty("wrong", wrong);
  EXPECT_LE(refused_right / count, 0.02) << refused_right << " of " << count;
  EXPECT_GE(static_cast<double>(refused_wrong) / wrong, 0.98) << refused_wrong << " of " << wrong << accepted;
}

}  // namespace
}  // namespace mien::speech_tests
