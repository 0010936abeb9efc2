#include "sound/loudness.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace mien::sound {
namespace {

constexpr double kGate_lu = 10, kStep_s = 0.1;
constexpr std::size_t kSteps = 4;  // in a momentary block

// Second order, direct form 1.
struct Filter {
  double b0, b1, b2, a1, a2;
  double x1 = 0, x2 = 0, y1 = 0, y2 = 0;
  double operator()(double x) noexcept {
    const double y = b0 * x + b1 * x1 + b2 * x2 - a1 * y1 - a2 * y2;
    x2 = x1, x1 = x, y2 = y1, y1 = y;
    return y;
  }
};

// The analogue prototypes behind the table of BS.1770: its coefficients at 48 kHz come out of these, and those for other rates, too.
Filter shelf(double rate_hz) noexcept {
  const double f = 1681.974450955533, gain_db = 3.999843853973347, q = 0.7071752369554196;
  const double k = std::tan(std::numbers::pi * f / rate_hz), high = std::pow(10, gain_db / 20), band = std::pow(high, 0.4996667741545416), a0 = 1 + k / q + k * k;
  return {(high + band * k / q + k * k) / a0, 2 * (k * k - high) / a0, (high - band * k / q + k * k) / a0, 2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0};
}
Filter high_pass(double rate_hz) noexcept {
  const double f = 38.13547087602444, q = 0.5003270373238773, k = std::tan(std::numbers::pi * f / rate_hz), a0 = 1 + k / q + k * k;
  return {1, -2, 1, 2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0};
}

double lufs(double power) noexcept { return power > 0 ? std::max(kSilent_lufs, -0.691 + 10 * std::log10(power)) : kSilent_lufs; }

// Mean square of all channels together, of every 100 ms.
std::vector<double> powers(const Wave& wave) {
  const auto channels = static_cast<std::size_t>(wave.channels);
  std::vector<Filter> shelves(channels, shelf(wave.rate_hz)), passes(channels, high_pass(wave.rate_hz));
  std::vector<double> all;
  for (std::size_t n = 0;; ++n) {
    // NOLINTNEXTLINE(bugprone-incorrect-roundings): neither is negative
    const auto begin = static_cast<std::size_t>(static_cast<double>(n) * kStep_s * wave.rate_hz + 0.5), end = static_cast<std::size_t>(static_cast<double>(n + 1) * kStep_s * wave.rate_hz + 0.5);
    if (end > wave.frames() || end <= begin) return all;
    double sum = 0;
    for (std::size_t i = begin; i < end; ++i)
      for (std::size_t c = 0; c < channels; ++c) {
        const double y = passes[c](shelves[c](wave.samples[i * channels + c]));
        sum += y * y;
      }
    all.push_back(sum / static_cast<double>(end - begin));
  }
}

double mean_above(const std::vector<double>& blocks, double least_lufs) noexcept {
  double sum = 0;
  std::size_t count = 0;
  for (const double power : blocks)
    if (lufs(power) > least_lufs) sum += power, ++count;
  return count > 0 ? sum / static_cast<double>(count) : 0;
}

double integrated(const std::vector<double>& blocks) noexcept { return lufs(mean_above(blocks, std::max(kSilent_lufs, lufs(mean_above(blocks, kSilent_lufs)) - kGate_lu))); }

}  // namespace

double Loudness::momentary_at(double seconds) const noexcept {
  const double block = seconds / kStep_s - static_cast<double>(kSteps);
  if (!(block > -1) || block >= static_cast<double>(momentary_lufs.size())) return kSilent_lufs;
  return momentary_lufs[static_cast<std::size_t>(std::max(0.0, block))];
}

Loudness Loudness::of_part(double begin_s, double end_s) const {
  Loudness part;
  std::vector<double> blocks;
  constexpr double kSlack = 1e-6;  // times are nanoseconds, blocks are not
  for (std::size_t n = 0; n < momentary_lufs.size(); ++n) {
    const double begin = static_cast<double>(n) * kStep_s;
    if (begin < begin_s - kSlack || begin + kSteps * kStep_s > end_s + kSlack) continue;
    const double level = momentary_lufs[n];
    blocks.push_back(level > kSilent_lufs ? std::pow(10, (level + 0.691) / 10) : 0);
    part.most_momentary_lufs = std::max(part.most_momentary_lufs, level);
  }
  part.integrated_lufs = integrated(blocks);
  return part;
}

Loudness loudness_of(const Wave& wave) {
  Loudness loudness;
  if (wave.rate_hz < 1000 || wave.channels < 1) return loudness;
  const auto steps = powers(wave);
  std::vector<double> blocks;
  for (std::size_t n = 0; n + kSteps <= steps.size(); ++n) blocks.push_back((steps[n] + steps[n + 1] + steps[n + 2] + steps[n + 3]) / kSteps);
  for (const double power : blocks) loudness.momentary_lufs.push_back(static_cast<float>(lufs(power))), loudness.most_momentary_lufs = std::max(loudness.most_momentary_lufs, lufs(power));
  loudness.integrated_lufs = integrated(blocks);
  return loudness;
}

}  // namespace mien::sound
