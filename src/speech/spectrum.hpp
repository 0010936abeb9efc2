// A recording by frequency, as a picture of shades.
#pragma once
#include <cstdint>
#include <functional>
#include <vector>

#include "speech/recording.hpp"

namespace mien::speech {

/// Level by time and frequency. A column each kStep_s: the power spectrum of 32 ms (Hann window), in bands evenly spaced on the mel scale
/// (2595 log10(1 + f/700)) from 60 Hz to 8 kHz, each the strongest bin in it; shades are decibels below the loudest of all, kFaintest_db is 0.
struct Spectrogram {
  static constexpr int kLevels = 16;
  static constexpr double kStep_s = 0.01, kLowest_hz = 60, kHighest_hz = 8000, kFaintest_db = -75;
  int bands = 0;
  std::vector<std::uint8_t> shade;  ///< by column, then band from the lowest up: 0..kLevels - 1

  std::size_t columns() const noexcept { return bands > 0 ? shade.size() / static_cast<std::size_t>(bands) : 0; }
  /// The strongest of each band between two times; nothing (0) outside.
  std::vector<std::uint8_t> column(double begin_s, double end_s) const;
  /// The band that has a frequency; -1: none.
  int band_of(double hz) const noexcept;
};

/// Fewer columns where go_on, which is told the share done, says no.
Spectrogram spectrogram_of(const Recording& recording, const std::function<bool(double)>& go_on = {});

}  // namespace mien::speech
