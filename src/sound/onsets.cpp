#include "sound/onsets.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace mien::sound {
namespace {

constexpr int kBands = 3;
constexpr double kLow_hz = 400, kHigh_hz = 2500;
constexpr std::size_t kMean = 20, kLag = 10, kApart = 60;  // ms
constexpr double kRise = 1.84;                             // 8 dB, as a logarithm of energies
constexpr double kQuiet = 1e-4, kNothing = 1e-6;           // of the loudest energy: 40 and 60 dB below
constexpr double kSilence = 1e-9;                          // mean square of a sound of nothing but rounding

using Energies = std::array<float, kBands>;

// Mean squares of the three bands, for each millisecond.
std::vector<Energies> energies(const Wave& wave, const Progress& progress) {
  std::vector<Energies> all;
  const auto channels = static_cast<std::size_t>(wave.channels);
  const double rate = wave.rate_hz, a = 1 - std::exp(-2 * std::numbers::pi * kLow_hz / rate), b = 1 - std::exp(-2 * std::numbers::pi * kHigh_hz / rate);
  double low = 0, middle = 0;
  std::array<double, kBands> sum{};
  std::size_t begin = 0;
  const std::size_t frames = wave.frames();
  all.reserve(frames * 1000 / static_cast<std::size_t>(wave.rate_hz) + 1);
  for (std::size_t n = 1; begin < frames; ++n) {
    if (n % 1000 == 0 && progress && !progress(static_cast<double>(begin) / static_cast<double>(frames))) break;
    const std::size_t end = std::min(frames, n * static_cast<std::size_t>(wave.rate_hz) / 1000);
    sum = {};
    for (std::size_t i = begin; i < end; ++i) {
      double x = 0;
      for (std::size_t c = 0; c < channels; ++c) x += static_cast<double>(wave.samples[i * channels + c]);
      x /= static_cast<double>(channels);
      low += a * (x - low), middle += b * (x - middle);
      const double mid = middle - low, high = x - middle;
      sum[0] += low * low, sum[1] += mid * mid, sum[2] += high * high;
    }
    const double count = std::max<double>(1, static_cast<double>(end - begin));
    all.push_back({static_cast<float>(sum[0] / count), static_cast<float>(sum[1] / count), static_cast<float>(sum[2] / count)});
    begin = end;
  }
  return all;
}

// The means over the last kMean milliseconds; before the first there is silence.
std::vector<Energies> means(const std::vector<Energies>& of) {
  std::vector<Energies> out(of.size());
  std::array<double, kBands> sum{};
  for (std::size_t n = 0; n < of.size(); ++n)
    for (std::size_t b = 0; b < kBands; ++b) {
      sum[b] += static_cast<double>(of[n][b]) - (n >= kMean ? static_cast<double>(of[n - kMean][b]) : 0);
      out[n][b] = static_cast<float>(std::max(0.0, sum[b] / static_cast<double>(kMean)));
    }
  return out;
}

double total(const Energies& e) noexcept { return static_cast<double>(e[0]) + static_cast<double>(e[1]) + static_cast<double>(e[2]); }

}  // namespace

std::vector<show::Time> onsets(const Wave& wave, const Progress& progress) {
  std::vector<show::Time> found;
  if (wave.frames() == 0 || wave.rate_hz < 1000) return found;
  const std::vector<Energies> fine = energies(wave, progress), smooth = means(fine);
  double loudest = 0;
  for (const Energies& e : smooth) loudest = std::max(loudest, total(e));
  if (loudest < kSilence) return found;
  const double nothing = loudest * kNothing;
  const auto rise = [&](std::size_t n) {
    double most = 0;
    for (std::size_t b = 0; b < kBands; ++b) {
      if (static_cast<double>(smooth[n][b]) < loudest * kQuiet) continue;
      const double before = n >= kLag ? static_cast<double>(smooth[n - kLag][b]) : 0;
      most = std::max(most, std::log((static_cast<double>(smooth[n][b]) + nothing) / (before + nothing)));
    }
    return most;
  };
  for (std::size_t n = 0; n < fine.size(); ++n) {
    if (rise(n) < kRise) continue;
    // The means rise while the sound does: where it rose most, a little before or after, it began.
    std::size_t at = n;
    double steepest = -1;
    for (std::size_t k = n >= kLag ? n - kLag : 0; k < std::min(fine.size(), n + kLag); ++k) {
      const double step = total(fine[k]) - (k > 0 ? total(fine[k - 1]) : 0);
      if (step > steepest) steepest = step, at = k;
    }
    const show::Time when{static_cast<std::int64_t>(at) * 1'000'000};
    if (found.empty() || when - found.back() >= show::Time{static_cast<std::int64_t>(kApart) * 1'000'000}) found.push_back(when);
    n += kApart - 1;
  }
  return found;
}

}  // namespace mien::sound
