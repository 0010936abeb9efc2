// Mel-frequency cepstra against a reference library: sphinxbase's front end (Debian: libsphinxbase-dev), told to do what speech/mfcc.hpp says of itself.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "speech/mfcc.hpp"

#ifdef MIEN_SPHINX
#include <sphinxbase/cmd_ln.h>
#include <sphinxbase/err.h>
#include <sphinxbase/fe.h>
#endif

namespace mien::speech {
namespace {

#ifdef MIEN_SPHINX

std::vector<Cepstrum> reference(const std::vector<std::int16_t>& samples) {
  err_set_logfp(nullptr);
  // 409 samples a window: the reference rounds where we cut off. Its filters have height 1 and edges where the formula says, not where a bin is.
  cmd_ln_t* config = cmd_ln_init(nullptr, fe_get_args(), TRUE, "-samprate", "16000", "-frate", "100", "-wlen", "0.0255625", "-nfft", "512", "-alpha", "0.97", "-lowerf", "130", "-upperf", "6800", "-nfilt", "26",
                                 "-ncep", "13", "-transform", "dct", "-lifter", "0", "-unit_area", "no", "-round_filters", "no", "-remove_dc", "no", "-remove_noise", "no", "-remove_silence", "no", "-dither", "no", nullptr);
  fe_t* fe = fe_init_auto_r(config);
  std::vector<Cepstrum> all;
  if (!fe) return all;
  std::vector<std::array<mfcc_t, kCepstra>> values(samples.size() / 160 + 2);
  std::vector<mfcc_t*> rows;
  for (auto& v : values) rows.push_back(v.data());
  const std::int16_t* at = samples.data();
  std::size_t left = samples.size();
  int32 frames = static_cast<int32>(rows.size());
  fe_start_utt(fe);
  fe_process_frames(fe, &at, &left, rows.data(), &frames, nullptr);
  for (int32 f = 0; f < frames; ++f) {
    Cepstrum c{};
    for (std::size_t k = 0; k < kCepstra; ++k) c[k] = values[static_cast<std::size_t>(f)][k];
    all.push_back(c);
  }
  fe_free(fe);
  cmd_ln_free_r(config);
  return all;
}

TEST(Mfcc, AreTheReferences) {
  std::mt19937 random(5);
  std::normal_distribution<double> noise(0, 2000);
  // A buzz whose pitch and formant glide, in noise: something in every filter, and no two frames alike.
  std::vector<std::int16_t> samples;
  double phase = 0;
  for (int n = 0; n < 16000; ++n) {
    const double t = n / 16000.0;
    phase += 2 * std::numbers::pi * (100 + 80 * t) / 16000;
    double x = 0;
    for (int h = 1; h < 40; ++h) x += std::sin(h * phase) * 3000 / (1 + std::pow((h * (100 + 80 * t) - 700 - 1500 * t) / 400, 2));
    samples.push_back(static_cast<std::int16_t>(std::clamp(x + noise(random), -32767.0, 32767.0)));
  }
  Recording recording;
  for (const auto s : samples) recording.samples.push_back(static_cast<float>(s) / 32768.0f);
  const auto ours = mfcc(recording), theirs = reference(samples);
  ASSERT_GE(ours.size(), 95u);
  ASSERT_GE(theirs.size() + 1, ours.size());
  // Theirs counts in steps of 16 bits: 32768^2 of the power, ln of that in each of 26 filters, all of it in the first coefficient.
  const double scale = std::sqrt(26.0) * 2 * std::log(32768.0);
  for (std::size_t f = 1; f < std::min(ours.size(), theirs.size()); ++f) {
    EXPECT_NEAR(static_cast<double>(ours[f][0]) + scale, static_cast<double>(theirs[f][0]), 0.01) << "frame " << f;
    for (std::size_t k = 1; k < kCepstra; ++k) EXPECT_NEAR(ours[f][k], theirs[f][k], 0.005) << "frame " << f << ", coefficient " << k;
  }
}

#else

TEST(Mfcc, AreTheReferences) { GTEST_SKIP() << "libsphinxbase-dev is not installed"; }

#endif

}  // namespace
}  // namespace mien::speech
