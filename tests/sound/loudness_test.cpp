// Loudness against EBU Tech 3341's signals, the table of ITU-R BS.1770-4, and libebur128.
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "sound/loudness.hpp"
#include "sound/made.hpp"

#ifdef MIEN_EBUR128
#include <ebur128.h>
#endif

namespace mien::sound {
namespace {

// Stereo, both channels alike: a sine of 1 kHz whose peak is so many dB below full scale.
std::vector<float> sine(double peak_db, double seconds, int rate_hz = 48000) {
  const double level = std::pow(10, peak_db / 20);
  std::vector<float> samples;
  for (int n = 0; n < static_cast<int>(seconds * rate_hz); ++n) {
    const auto x = static_cast<float>(level * std::sin(2 * std::numbers::pi * 1000 * n / rate_hz));
    samples.push_back(x), samples.push_back(x);
  }
  return samples;
}
Wave stereo(std::vector<float> samples, int rate_hz = 48000) { return {rate_hz, 2, std::move(samples)}; }
std::vector<float> joined(std::initializer_list<std::vector<float>> parts) {
  std::vector<float> all;
  for (const auto& part : parts) all.insert(all.end(), part.begin(), part.end());
  return all;
}

// EBU Tech 3341, table 1, test cases 1 to 4 and the tolerance of 0.1 LU.
TEST(Loudness, TheSignalsOfTech3341) {
  EXPECT_NEAR(loudness_of(stereo(sine(-23, 20))).integrated_lufs, -23, 0.1);
  EXPECT_NEAR(loudness_of(stereo(sine(-33, 20))).integrated_lufs, -33, 0.1);
  EXPECT_NEAR(loudness_of(stereo(joined({sine(-36, 10), sine(-23, 60), sine(-36, 10)}))).integrated_lufs, -23, 0.1) << "the quiet ends are gated by the relative threshold";
  EXPECT_NEAR(loudness_of(stereo(joined({sine(-72, 10), sine(-36, 10), sine(-23, 60), sine(-36, 10), sine(-72, 10)}))).integrated_lufs, -23, 0.1) << "and silence by the absolute one";
  EXPECT_NEAR(loudness_of(stereo(sine(-23, 20))).most_momentary_lufs, -23, 0.1);
}

TEST(Loudness, IsTheSameAtEveryRate) {
  for (const int rate : {8000, 16000, 22050, 44100, 96000}) EXPECT_NEAR(loudness_of(stereo(sine(-23, 5, rate), rate)).integrated_lufs, -23, 0.1) << rate;
}

// Test case 3 of Tech 3341 without its quiet ends, and the ends alone.
TEST(Loudness, OfAPartIsThatOfThePartAlone) {
  const auto all = loudness_of(stereo(joined({sine(-36, 10), sine(-23, 20), sine(-36, 10)})));
  EXPECT_NEAR(all.of_part(10, 30).integrated_lufs, -23, 0.1);
  EXPECT_NEAR(all.of_part(0, 10).integrated_lufs, -36, 0.1);
  EXPECT_NEAR(all.of_part(0, 10).most_momentary_lufs, -36, 0.1);
  EXPECT_NEAR(all.of_part(0, 40).integrated_lufs, all.integrated_lufs, 1e-4);
  EXPECT_EQ(all.of_part(5, 5.3).integrated_lufs, kSilent_lufs) << "shorter than a block";
  EXPECT_EQ(all.of_part(50, 60).integrated_lufs, kSilent_lufs);
}

TEST(Loudness, SilenceAndTooLittleHaveNone) {
  EXPECT_EQ(loudness_of(stereo(std::vector<float>(96000, 0.0f))).integrated_lufs, kSilent_lufs);
  EXPECT_TRUE(loudness_of(stereo(sine(-10, 0.39))).momentary_lufs.empty());
  EXPECT_EQ(loudness_of({}).integrated_lufs, kSilent_lufs);
  const auto l = loudness_of(stereo(sine(-23, 2)));
  EXPECT_EQ(l.momentary_at(0.1), kSilent_lufs);
  EXPECT_NEAR(l.momentary_at(1), -23, 0.1);
  EXPECT_EQ(l.momentary_at(3), kSilent_lufs);
}

TEST(Loudness, AgreesWithLibebur128OnNoiseWhoseLevelComesAndGoes) {
#ifdef MIEN_EBUR128
  std::mt19937 random(5);
  std::uniform_real_distribution<float> noise(-1, 1);
  for (const int channels : {1, 2})
    for (const int rate : {16000, 44100, 48000}) {
      Wave wave{rate, channels, {}};
      for (int n = 0; n < 12 * rate; ++n)
        for (int c = 0; c < channels; ++c) wave.samples.push_back(noise(random) * static_cast<float>(0.02 + 0.3 * std::pow(std::sin(0.7 * n / rate), 4)));
      ebur128_state* state = ebur128_init(static_cast<unsigned>(channels), static_cast<unsigned long>(rate), EBUR128_MODE_I | EBUR128_MODE_M);
      ASSERT_TRUE(state);
      const auto ours = loudness_of(wave);
      const auto step = static_cast<std::size_t>(rate / 10);
      for (std::size_t n = 0; n < 120; ++n) {
        ebur128_add_frames_float(state, wave.samples.data() + n * step * static_cast<std::size_t>(channels), step);
        double momentary = 0;
        ebur128_loudness_momentary(state, &momentary);
        if (n >= 3) { EXPECT_NEAR(ours.momentary_lufs[n - 3], momentary, 0.05) << channels << " channels at " << rate << ", block " << n; }
      }
      double integrated = 0;
      ebur128_loudness_global(state, &integrated);
      EXPECT_NEAR(ours.integrated_lufs, integrated, 0.05);
      ebur128_destroy(&state);
    }
#else
  GTEST_SKIP() << "libebur128-dev is not installed";
#endif
}

}  // namespace
}  // namespace mien::sound
