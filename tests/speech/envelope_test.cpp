// Mouths from the sound alone, held against how open the spoken phones are.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "speech/envelope.hpp"
#include "speech/made_speech.hpp"

namespace mien::speech_tests {
namespace {

using namespace speech;

double correlation(const std::vector<double>& a, const std::vector<double>& b) {
  const std::size_t n = std::min(a.size(), b.size());
  double ma = 0, mb = 0, ab = 0, aa = 0, bb = 0;
  for (std::size_t k = 0; k < n; ++k) ma += a[k] / static_cast<double>(n), mb += b[k] / static_cast<double>(n);
  for (std::size_t k = 0; k < n; ++k) ab += (a[k] - ma) * (b[k] - mb), aa += (a[k] - ma) * (a[k] - ma), bb += (b[k] - mb) * (b[k] - mb);
  return ab / std::sqrt(aa * bb);
}

// How open the jaw is in each phone: openness of vowels as the IPA's chart orders them (open, open-mid, mid, near-close, close), consonants by
// what they need (common practice); a jaw takes some 70 ms from one to the next.
std::vector<double> true_openness(const Alignment& truth, std::size_t frames) {
  const auto openness = [](std::string_view p) {
    for (const auto& [names, value] : {std::pair{"AA AE AW AY ", 1.0}, {"AO AH EH OY OW ", 0.7}, {"ER EY IH UH ", 0.45}, {"IY UW ", 0.3}, {"HH W R L Y NG K G ", 0.25}, {"N D T TH DH ", 0.18}, {"CH JH SH ZH S Z F V ", 0.1}})
      if (std::string(names).find(std::string(p) + " ") != std::string::npos) return value;
    return 0.0;  // P B M
  };
  std::vector<double> open(frames, 0), smooth(frames, 0);
  for (const auto& phone : truth.phones)
    for (auto f = static_cast<std::size_t>(show::to_seconds(phone.range.begin) / kFrame_s); f < frames && static_cast<double>(f) * kFrame_s < show::to_seconds(phone.range.end); ++f) open[f] = openness(phone.label);
  for (std::size_t f = 0; f < frames; ++f) {
    double sum = 0;
    for (int k = -3; k <= 3; ++k) sum += open[static_cast<std::size_t>(std::clamp<int>(static_cast<int>(f) + k, 0, static_cast<int>(frames) - 1))];
    smooth[f] = sum / 7;
  }
  return smooth;
}

TEST(Envelope, TheJawFollowsHowOpenTheVoiceIs) {
  std::vector<double> jaw, rms, truth, spread, side;
  for (int voice = 0; voice < 4; ++voice)
    for (const char* sentence : kSentences) {
      const auto spoken = say(voice, 1, sentence);
      if (!spoken) GTEST_SKIP() << "flite1-dev is not installed";
      const auto heeded = heed(spoken->recording);
      const auto open = true_openness(spoken->truth, heeded.jaw.size());
      jaw.insert(jaw.end(), heeded.jaw.begin(), heeded.jaw.end()), truth.insert(truth.end(), open.begin(), open.end());
      const auto levels = levels_db(spoken->recording);
      double loudest = 0;
      for (std::size_t f = 0; f < open.size(); ++f) loudest = std::max(loudest, f < levels.size() ? std::pow(10, levels[f] / 20) : 0.0);
      for (std::size_t f = 0; f < open.size(); ++f) rms.push_back(f < levels.size() ? std::pow(10, levels[f] / 20) / loudest : 0);
      for (const auto& phone : spoken->truth.phones) {
        const bool wide = phone.label == "IY" || phone.label == "IH" || phone.label == "EY", round = phone.label == "UW" || phone.label == "OW" || phone.label == "UH" || phone.label == "W";
        const auto middle = static_cast<std::size_t>(show::to_seconds(phone.range.begin + phone.range.length() / 2) / kFrame_s);
        if ((wide || round) && middle < heeded.spread.size()) spread.push_back(heeded.spread[middle]), side.push_back(wide);
      }
    }
  RecordProperty("jaw_r", std::to_string(correlation(jaw, truth)));
  EXPECT_GE(correlation(jaw, truth), 0.75);
  EXPECT_GT(correlation(jaw, truth), correlation(rms, truth));
  EXPECT_GE(correlation(spread, side), 0.5);
}

TEST(Envelope, SilenceMovesNothing_AndShortGapsCloseTheLips) {
  Recording recording;
  const auto tone = [&](double seconds, float amplitude) {
    for (int n = 0; n < static_cast<int>(seconds * kSpeechRate_hz); ++n)
      recording.samples.push_back(amplitude * std::sin(static_cast<float>(n) * 500.0f * 6.2831853f / static_cast<float>(kSpeechRate_hz)));
  };
  tone(0.5, 0.0001f), tone(0.3, 0.5f), tone(0.08, 0.0001f), tone(0.3, 0.5f), tone(0.5, 0.0001f);
  const auto heeded = heed(recording);
  EXPECT_LT(heeded.jaw[20], 0.01);
  EXPECT_GT(heeded.jaw[65], 0.7);
  ASSERT_EQ(heeded.closures.size(), 1u);
  EXPECT_NEAR(show::to_seconds(heeded.closures[0].begin), 0.8, 0.025);
  VisemeTable table = standard_phones();
  table.visemes[1].targets = {{"close", 1, true}};
  table.visemes[10].targets = {{"jaw", 1, false}};
  const std::vector<Ability> abilities{{"jaw", 20, 400, 0, 1, 0, {}}, {"close", 20, 400, 0, 1, 0, {}}, {"other", 20, 400, 0, 1, 0, {}}};
  const auto mouth = mouth_of_sound(recording, table, abilities);
  ASSERT_EQ(mouth.tracks.size(), 2u);
  EXPECT_EQ(mouth.tracks[0].keys.front().value, 0);
  EXPECT_EQ(mouth.tracks[0].keys.back().value, 0);
  const auto closed = std::max_element(mouth.tracks[1].keys.begin(), mouth.tracks[1].keys.end(), [](const auto& a, const auto& b) { return a.value < b.value; });
  EXPECT_EQ(closed->value, 1);
  EXPECT_NEAR(show::to_seconds(closed->time), 0.83, 0.04);
  EXPECT_EQ(std::count_if(mouth.alignment.phones.begin(), mouth.alignment.phones.end(), [](const Phone& p) { return p.label == "P"; }), 1);
  EXPECT_TRUE(heed({}).jaw.empty());
}

}  // namespace
}  // namespace mien::speech_tests
