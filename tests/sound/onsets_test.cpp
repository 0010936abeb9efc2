// Where made sounds begin is known to the sample.
#include "sound/onsets.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

namespace mien::tests {
namespace {

sound::Wave silence(double seconds, int rate = 48000, int channels = 1) {
  sound::Wave wave;
  wave.rate_hz = rate, wave.channels = channels;
  wave.samples.resize(static_cast<std::size_t>(seconds * rate) * static_cast<std::size_t>(channels));
  return wave;
}

void click(sound::Wave& wave, double at_s, float height) {
  const auto channels = static_cast<std::size_t>(wave.channels), from = static_cast<std::size_t>(at_s * wave.rate_hz);
  for (std::size_t i = 0; i < 48; ++i)
    for (std::size_t c = 0; c < channels; ++c) wave.samples[(from + i) * channels + c] += height * (i % 2 ? -1.0f : 1.0f) * std::exp(-static_cast<float>(i) / 12);
}

void tone(sound::Wave& wave, double from_s, double until_s, double hz, double height, double attack_s = 0.002, double decay_s = 1e9) {
  for (auto i = static_cast<std::size_t>(from_s * wave.rate_hz); i < static_cast<std::size_t>(until_s * wave.rate_hz); ++i) {
    const double t = static_cast<double>(i) / wave.rate_hz - from_s;
    wave.samples[i] += static_cast<float>(height * std::min(1.0, t / attack_s) * std::exp(-t / decay_s) * std::sin(2 * std::numbers::pi * hz * t));
  }
}

void expect_at(const std::vector<show::Time>& found, const std::vector<double>& wanted, double within_s) {
  ASSERT_EQ(found.size(), wanted.size());
  for (std::size_t i = 0; i < wanted.size(); ++i) EXPECT_NEAR(show::to_seconds(found[i]), wanted[i], within_s);
}

TEST(Onsets, OfClicksAreFoundToAMillisecondAtEveryRate) {
  const std::vector<double> times{0.1, 0.35, 0.5, 1.2345, 1.9};
  for (const int rate : {8000, 22050, 44100, 48000, 96000})
    for (const int channels : {1, 2}) {
      sound::Wave wave = silence(2, rate, channels);
      for (const double t : times) click(wave, t, 0.5f);
      SCOPED_TRACE(rate);
      expect_at(sound::onsets(wave), times, 0.0011);
    }
}

TEST(Onsets, OfTonesOneAfterTheOtherAreWhereEachBegins) {
  sound::Wave wave = silence(3);
  const std::vector<double> times{0.25, 0.9, 1.6, 2.2};
  double hz = 220;
  for (const double t : times) tone(wave, t, t + 0.5, hz, 0.4, 0.002, 0.15), hz *= 1.5;
  expect_at(sound::onsets(wave), times, 0.006);
}

TEST(Onsets, QuietOnesCountAsLongAsTheyAreWithin40DecibelsOfTheLoudest) {
  sound::Wave wave = silence(2);
  click(wave, 0.5, 0.9f);
  click(wave, 1, 0.05f);      // 25 dB below
  click(wave, 1.5, 0.0009f);  // 60 dB below
  expect_at(sound::onsets(wave), {0.5, 1}, 0.0011);
}

TEST(Onsets, WhatGoesOnBeginsOnlyOnce) {
  for (const double hz : {60.0, 100.0, 440.0, 3000.0}) {
    sound::Wave wave = silence(3);
    tone(wave, 0.5, 3, hz, 0.5);
    SCOPED_TRACE(hz);
    expect_at(sound::onsets(wave), {0.5}, 0.015);
  }
  std::mt19937 random(1);
  std::normal_distribution<float> normal(0, 0.1f);
  sound::Wave noise = silence(20);
  for (auto i = static_cast<std::size_t>(0.4 * noise.rate_hz); i < noise.samples.size(); ++i) noise.samples[i] = normal(random);
  expect_at(sound::onsets(noise), {0.4}, 0.002);
}

TEST(Onsets, AClickInNoiseIsFound) {
  std::mt19937 random(2);
  std::normal_distribution<float> normal(0, 0.01f);
  sound::Wave wave = silence(4);
  for (float& x : wave.samples) x = normal(random);
  click(wave, 2, 0.8f);
  const auto found = sound::onsets(wave);
  ASSERT_EQ(found.size(), 2u);
  EXPECT_EQ(found[0], show::Time{0}) << "the noise is there from the first sample";
  EXPECT_NEAR(show::to_seconds(found[1]), 2, 0.0011);
}

TEST(Onsets, OfNothingAreNone) {
  EXPECT_TRUE(sound::onsets({}).empty());
  EXPECT_TRUE(sound::onsets(silence(1)).empty());
}

TEST(Onsets, StopWhereTheyAreToldTo) {
  sound::Wave wave = silence(10);
  for (double t = 0.5; t < 10; t += 1) click(wave, t, 0.5f);
  const auto found = sound::onsets(wave, [](double done) { return done < 0.5; });
  EXPECT_GE(found.size(), 4u);
  EXPECT_LE(found.size(), 6u);
}

}  // namespace
}  // namespace mien::tests
