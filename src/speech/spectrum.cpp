#include "speech/spectrum.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "speech/mfcc.hpp"

namespace mien::speech {
namespace {

constexpr int kBands = 64;
constexpr std::size_t kWindow = 512;
constexpr std::size_t kColumnsPerQuestion = 256;


// 0..kBands of a frequency, fractions within the band.
double place_of(double hz) noexcept {
  const double low = mel(Spectrogram::kLowest_hz), high = mel(Spectrogram::kHighest_hz);
  return (mel(hz) - low) / (high - low) * kBands;
}

}  // namespace

int Spectrogram::band_of(double hz) const noexcept {
  const double place = std::floor(place_of(hz));
  return place >= 0 && place < bands ? static_cast<int>(place) : -1;
}

std::vector<std::uint8_t> Spectrogram::column(double begin_s, double end_s) const {
  std::vector<std::uint8_t> most(static_cast<std::size_t>(std::max(bands, 0)), 0);
  if (!(end_s > 0)) return most;
  const auto first = static_cast<std::size_t>(std::max(0.0, begin_s) / kStep_s), end = std::max(first + 1, static_cast<std::size_t>(std::min(end_s / kStep_s, 1e9)));
  for (std::size_t c = first; c < std::min(end, columns()); ++c)
    for (std::size_t b = 0; b < most.size(); ++b) most[b] = std::max(most[b], shade[c * most.size() + b]);
  return most;
}

Spectrogram spectrogram_of(const Recording& recording, const std::function<bool(double)>& go_on) {
  Spectrogram result;
  result.bands = kBands;
  std::array<double, kWindow> window{};
  for (std::size_t n = 0; n < kWindow; ++n) window[n] = 0.5 - 0.5 * std::cos(2 * std::numbers::pi * static_cast<double>(n) / kWindow);
  std::array<int, kWindow / 2 + 1> band_of_bin{};
  for (std::size_t k = 0; k < band_of_bin.size(); ++k) band_of_bin[k] = result.band_of(static_cast<double>(k) * recording.rate_hz / kWindow);
  const auto step = static_cast<std::size_t>(Spectrogram::kStep_s * recording.rate_hz);
  const std::size_t columns = step > 0 ? recording.samples.size() / step : 0;
  std::vector<float> power;
  power.reserve(columns * kBands);
  float loudest = 1e-12f;
  std::vector<double> real(kWindow), imaginary(kWindow);
  for (std::size_t c = 0; c < columns; ++c) {
    if (go_on && c % kColumnsPerQuestion == 0 && !go_on(static_cast<double>(c) / static_cast<double>(columns))) break;
    for (std::size_t n = 0; n < kWindow; ++n) {
      const std::size_t at = c * step + n;  // centred on the column's time
      const bool inside = at >= kWindow / 2 && at - kWindow / 2 < recording.samples.size();
      real[n] = inside ? window[n] * recording.samples[at - kWindow / 2] : 0, imaginary[n] = 0;
    }
    fourier(real, imaginary);
    power.resize(power.size() + kBands, 0);
    float* const column = power.data() + power.size() - kBands;
    // A band narrower than a bin has its lower neighbour's.
    for (std::size_t k = 0; k < band_of_bin.size(); ++k)
      if (const int b = band_of_bin[k]; b >= 0) column[b] = std::max(column[b], static_cast<float>(real[k] * real[k] + imaginary[k] * imaginary[k]));
    for (int b = 1; b < kBands; ++b)
      if (column[b] == 0) column[b] = column[b - 1];
    loudest = std::max(loudest, *std::max_element(column, column + kBands));
  }
  result.shade.reserve(power.size());
  for (const float p : power) {
    const double db = 10 * std::log10(std::max(1e-30, static_cast<double>(p) / loudest));
    result.shade.push_back(static_cast<std::uint8_t>(std::clamp((1 - db / Spectrogram::kFaintest_db) * (Spectrogram::kLevels - 1), 0.0, Spectrogram::kLevels - 1.0)));
  }
  return result;
}

}  // namespace mien::speech
