#include "speech/recording.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

namespace mien::speech {
namespace {

constexpr double kSilence_db = -120, kInaudible_db = -60;
constexpr double kSteadyNoise_db = 5;  // a voice's frames spread over 20 dB and more, white noise's over less than 2
constexpr int kZeroCrossings = 24;     // of the sinc on each side, at the lower of the two rates
constexpr double kPassed = 0.9;        // of the lower Nyquist frequency

// Zeroth-order modified Bessel function of the first kind, by its power series: for the Kaiser window.
double bessel_i0(double x) noexcept {
  double sum = 1, term = 1;
  for (int k = 1; k < 40; ++k) {
    term *= (x / (2 * k)) * (x / (2 * k));
    sum += term;
  }
  return sum;
}

double kaiser(double share) noexcept {  // share of the half width, -1..1
  constexpr double kBeta = 8;
  static const double norm = bessel_i0(kBeta);
  return std::abs(share) >= 1 ? 0 : bessel_i0(kBeta * std::sqrt(1 - share * share)) / norm;
}

// One filter for each phase that occurs: with up/down in lowest terms there are `up` of them.
std::vector<float> resampled(const std::vector<float>& in, int from_hz, int to_hz) {
  const int divisor = std::gcd(from_hz, to_hz), up = to_hz / divisor, down = from_hz / divisor;
  const double cut = kPassed * std::min(1.0, static_cast<double>(to_hz) / from_hz);  // relative to the input's Nyquist frequency
  const int reach = static_cast<int>(std::ceil(kZeroCrossings / cut)), taps = 2 * reach;
  const auto taps_at = [&](double offset, float* row) {
    double sum = 0;
    for (int k = 0; k < taps; ++k) {
      const double x = k - reach + 1 - offset, angle = std::numbers::pi * cut * x;
      const double tap = (x == 0 ? 1 : std::sin(angle) / angle) * kaiser(x / reach);
      row[k] = static_cast<float>(tap), sum += tap;
    }
    for (int k = 0; k < taps; ++k) row[k] = static_cast<float>(row[k] / sum);
  };
  const int phases = std::min(up, 4096);  // odd rates would want a filter for each sample: the nearest of so many does
  std::vector<float> filters(static_cast<std::size_t>(phases) * static_cast<std::size_t>(taps));
  for (int p = 0; p < phases; ++p) taps_at(static_cast<double>(p) / phases, &filters[static_cast<std::size_t>(p) * static_cast<std::size_t>(taps)]);
  const auto count = static_cast<std::int64_t>(in.size());
  std::vector<float> out(static_cast<std::size_t>(count * up / down));
  for (std::size_t n = 0; n < out.size(); ++n) {
    const std::int64_t place = static_cast<std::int64_t>(n) * down, first = place / up - reach + 1;
    const auto phase = static_cast<std::size_t>((place % up) * phases / up);
    const float* row = &filters[phase * static_cast<std::size_t>(taps)];
    float sum = 0;
    const std::int64_t begin = std::max<std::int64_t>(0, -first), end = std::min<std::int64_t>(taps, count - first);
    for (std::int64_t k = begin; k < end; ++k) sum += row[k] * in[static_cast<std::size_t>(first + k)];
    out[n] = std::clamp(sum, -1.0f, 1.0f);
  }
  return out;
}

float level_at(std::span<const float> levels, double share) {
  std::vector<float> sorted(levels.begin(), levels.end());
  const auto nth = sorted.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(sorted.size() - 1));
  std::nth_element(sorted.begin(), nth, sorted.end());
  return *nth;
}

}  // namespace

Recording recording_of(std::span<const float> interleaved, int channels, int rate_hz) {
  Recording recording;
  if (channels < 1 || rate_hz < 1) return recording;
  const auto step = static_cast<std::size_t>(channels);
  std::vector<float> mono(interleaved.size() / step);
  for (std::size_t n = 0; n < mono.size(); ++n) {
    float sum = 0;
    for (std::size_t c = 0; c < step; ++c) sum += interleaved[n * step + c];
    mono[n] = std::isfinite(sum) ? sum / static_cast<float>(channels) : 0;
  }
  recording.samples = rate_hz == kSpeechRate_hz ? std::move(mono) : resampled(mono, rate_hz, kSpeechRate_hz);
  return recording;
}

Recording part_of(const Recording& recording, show::Range range) {
  const auto at = [&](show::Time t) { return std::min(static_cast<std::size_t>(std::max(0.0, show::to_seconds(t)) * recording.rate_hz), recording.samples.size()); };
  const std::size_t begin = at(range.begin), end = std::max(begin, at(range.end));
  return {recording.rate_hz, {recording.samples.begin() + static_cast<std::ptrdiff_t>(begin), recording.samples.begin() + static_cast<std::ptrdiff_t>(end)}};
}

std::vector<float> levels_db(const Recording& recording) {
  const auto frame = static_cast<std::size_t>(recording.rate_hz * kFrame_s);
  std::vector<float> levels;
  if (frame == 0) return levels;
  levels.reserve(recording.samples.size() / frame + 1);
  for (std::size_t at = 0; at < recording.samples.size(); at += frame) {
    const std::size_t end = std::min(at + frame, recording.samples.size());
    double energy = 0;
    for (std::size_t n = at; n < end; ++n) energy += static_cast<double>(recording.samples[n]) * recording.samples[n];
    levels.push_back(static_cast<float>(std::max(kSilence_db, 10 * std::log10(energy / static_cast<double>(end - at) + 1e-30))));
  }
  return levels;
}

double pause_level_db(std::span<const float> levels) {
  if (levels.empty()) return kSilence_db;
  const double quiet = std::max<double>(level_at(levels, 0.1), -90), loud = level_at(levels, 0.9);
  return std::max(quiet + 0.35 * (loud - quiet), loud - 35);
}

std::vector<show::Range> pauses(std::span<const float> levels, show::Time least) {
  const double gate = pause_level_db(levels);
  std::vector<show::Range> found;
  const auto time_of = [](std::size_t frame) { return show::from_seconds(static_cast<double>(frame) * kFrame_s); };
  for (std::size_t at = 0; at < levels.size();) {
    if (levels[at] > gate) { ++at; continue; }
    std::size_t end = at;
    while (end < levels.size() && levels[end] <= gate) ++end;
    if (time_of(end) - time_of(at) >= least) found.push_back({time_of(at), time_of(end)});
    at = end;
  }
  return found;
}

std::optional<show::Finding> no_voice(const Recording& recording, std::span<const float> levels, const std::string& file) {
  using show::Severity;
  if (recording.samples.empty() || levels.empty())
    return show::Finding{Severity::error, file, "", "the sound has no samples", "Record it again, or name another file."};
  if (level_at(levels, 0.99) < kInaudible_db)
    return show::Finding{Severity::error, file, "", "the sound is silent: hardly any of it is louder than -60 dB", "Check that the right file was named and that the microphone was on."};
  if (levels.size() >= 50 && level_at(levels, 0.95) - level_at(levels, 0.05) < kSteadyNoise_db)
    return show::Finding{Severity::error, file, "", "no voice is heard in the sound: its level never moves", "Name a recording of a voice; take hum and hiss out of it first."};
  return {};
}

}  // namespace mien::speech
