#include "speech/envelope.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace mien::speech {
namespace {

using show::Time;

// Second-order sections by the bilinear transform, Butterworth (R. Bristow-Johnson's cookbook formulae, Q = 1 / sqrt 2).
struct Section {
  double b0 = 1, b1 = 0, b2 = 0, a1 = 0, a2 = 0, z1 = 0, z2 = 0;
  double operator()(double x) noexcept {
    const double y = b0 * x + z1;
    z1 = b1 * x - a1 * y + z2, z2 = b2 * x - a2 * y;
    return y;
  }
};
Section section(double at_hz, double rate_hz, bool high) noexcept {
  const double w = 2 * std::numbers::pi * at_hz / rate_hz, c = std::cos(w), alpha = std::sin(w) / std::numbers::sqrt2, a0 = 1 + alpha;
  const double edge = (high ? 1 + c : 1 - c) / a0;
  return {edge / 2, high ? -edge : edge, edge / 2, -2 * c / a0, (1 - alpha) / a0};
}

// Level of one band in every frame, dB, over a window of three frames.
std::vector<double> band_db(const Recording& recording, double low_hz, double high_hz) {
  Section low = section(low_hz, recording.rate_hz, true), low2 = low, high = section(high_hz, recording.rate_hz, false), high2 = high;
  const auto frame = static_cast<std::size_t>(recording.rate_hz * kFrame_s);
  std::vector<double> energy(recording.samples.size() / frame + 1, 0);
  for (std::size_t n = 0; n < recording.samples.size(); ++n) {
    const double y = high2(high(low2(low(static_cast<double>(recording.samples[n])))));
    energy[n / frame] += y * y / static_cast<double>(frame);
  }
  std::vector<double> db(energy.size());
  for (std::size_t n = 0; n < db.size(); ++n) {
    const double sum = energy[n] + (n > 0 ? energy[n - 1] : 0) + (n + 1 < energy.size() ? energy[n + 1] : 0);
    db[n] = 10 * std::log10(sum / 3 + 1e-12);
  }
  return db;
}

double share_of(std::vector<double> values, double share) {
  if (values.empty()) return 0;
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

// Gaussian of that width, both ways, so that nothing comes late.
std::vector<double> smoothed(const std::vector<double>& in, double sigma_frames) {
  const auto reach = static_cast<std::ptrdiff_t>(std::ceil(3 * sigma_frames));
  std::vector<double> out(in.size());
  for (std::ptrdiff_t n = 0; n < static_cast<std::ptrdiff_t>(in.size()); ++n) {
    double sum = 0, weights = 0;
    for (std::ptrdiff_t k = -reach; k <= reach; ++k) {
      const auto at = std::clamp<std::ptrdiff_t>(n + k, 0, static_cast<std::ptrdiff_t>(in.size()) - 1);
      const double w = std::exp(-0.5 * static_cast<double>(k * k) / (sigma_frames * sigma_frames));
      sum += w * in[static_cast<std::size_t>(at)], weights += w;
    }
    out[static_cast<std::size_t>(n)] = sum / weights;
  }
  return out;
}

Time frame_time(std::size_t frame) { return show::from_seconds(static_cast<double>(frame) * kFrame_s); }

constexpr double kCompressed_db = 36;      // below the loud frames: from there the jaw is shut
constexpr double kBend = 1.5;              // loudness rises slower than the mouth opens
constexpr std::size_t kGapLeast = 4, kGapMost = 16;  // frames of a stop's silence
constexpr double kGapDepth_db = 14;

}  // namespace

Heeded heed(const Recording& recording) {
  Heeded heeded;
  if (recording.samples.empty()) return heeded;
  const auto voice = band_db(recording, 600, 1500), whole = band_db(recording, 100, 4000), front = band_db(recording, 1600, 3200);
  const std::vector<float> whole_f(whole.begin(), whole.end());
  const double gate = pause_level_db(whole_f), loud = share_of(voice, 0.95);
  std::vector<double> jaw(voice.size(), 0), spread(voice.size(), 0.5), tilts;
  // The jaw's own band is where open vowels are loud: hisses, which are made with it nearly shut, lie above, hums and close vowels below.
  for (std::size_t n = 0; n < voice.size(); ++n)
    if (whole[n] > gate) jaw[n] = std::pow(std::clamp((voice[n] - loud + kCompressed_db) / kCompressed_db, 0.0, 1.1), kBend);
  for (std::size_t n = 0; n < voice.size(); ++n)
    if (jaw[n] > 0.3) tilts.push_back(front[n] - voice[n]);
  const double round = share_of(tilts, 0.15), wide = share_of(tilts, 0.9);
  for (std::size_t n = 0; n < voice.size(); ++n)
    if (jaw[n] > 0.2 && wide > round + 1) spread[n] = std::clamp((front[n] - voice[n] - round) / (wide - round), 0.0, 1.0);
  for (std::size_t n = 1; n < whole.size();) {  // a gap: quiet between two loud sides
    const double side = std::max(gate, loud - kGapDepth_db - 6);
    if (!(whole[n] < side - 6 && whole[n - 1] >= side - 6)) { ++n; continue; }
    std::size_t end = n;
    while (end < whole.size() && whole[end] < side - 6) ++end;
    if (end < whole.size() && end - n >= kGapLeast && end - n <= kGapMost) heeded.closures.push_back({frame_time(n), frame_time(end)});
    n = end;
  }
  heeded.jaw = smoothed(jaw, 2.5);
  heeded.spread = smoothed(spread, 4);
  for (auto& value : heeded.jaw) value = std::clamp(value, 0.0, 1.0);
  return heeded;
}

MouthOfSound mouth_of_sound(const Recording& recording, const VisemeTable& table, std::span<const Ability> abilities, const Manner& manner) {
  MouthOfSound result;
  result.alignment.length = recording.length();
  const auto heeded = heed(recording);
  if (heeded.jaw.size() < 2) return result;
  const auto find = [&](int viseme, const std::string& control) -> const Target* {
    for (const auto& target : table.visemes[static_cast<std::size_t>(viseme)].targets)
      if (target.control == control) return &target;
    return nullptr;
  };
  const auto moved = controls_of(table);
  const auto count = static_cast<std::size_t>(show::to_seconds(recording.length()) / kCurveStep_s) + 80;
  for (const auto& ability : abilities) {
    if (std::find(moved.begin(), moved.end(), ability.control) == moved.end()) continue;
    const auto value_of = [&](int viseme) { const auto* t = find(viseme, ability.control); return t ? t->value : ability.rest; };
    const double open = value_of(10), wide = value_of(12), round = value_of(14);
    std::vector<double> curve(count, ability.rest);
    std::vector<bool> held(count, false);
    for (std::size_t n = 0; n < count; ++n) {
      const auto frame = static_cast<std::size_t>(static_cast<double>(n) * kCurveStep_s / kFrame_s);
      if (frame >= heeded.jaw.size()) break;
      const double jaw = heeded.jaw[frame], side = 2 * heeded.spread[frame] - 1;
      // Open by the jaw; sideways by the spectrum, as far as the mouth is open at all.
      const double shape = open + std::max(0.0, side) * 0.6 * (wide - open) + std::max(0.0, -side) * 0.6 * (round - open);
      const double way = ability.control.empty() ? 0 : jaw;
      curve[n] = std::clamp(ability.rest + way * (shape - ability.rest) * manner.amount, ability.min, ability.max);
    }
    if (const auto* shut = [&]() -> const Target* { const auto* t = find(1, ability.control); return t && t->held ? t : nullptr; }())
      for (const auto& gap : heeded.closures) {
        const auto begin = static_cast<std::size_t>(show::to_seconds(gap.begin) / kCurveStep_s) + 2, end = static_cast<std::size_t>(show::to_seconds(gap.end) / kCurveStep_s);
        for (std::size_t n = begin; n + 1 < end && n < count; ++n) curve[n] = shut->value, held[n] = true;
      }
    Track track{ability.control, keys_of(curve, held, kCurveStep_s, ability)};
    for (auto& key : track.keys) key.time -= ability.lead;
    result.tracks.push_back(std::move(track));
  }
  // Where somebody speaks, for the check.
  std::size_t begin = 0;
  const auto voiced = [&](std::size_t from, std::size_t to) {
    Time at = frame_time(from);
    const Time end = std::min(frame_time(to), recording.length());
    for (const auto& gap : heeded.closures) {
      if (gap.begin < at || gap.end > end) continue;
      if (gap.begin > at) result.alignment.phones.push_back({{at, gap.begin}, "AH", 0, -1});
      result.alignment.phones.push_back({gap, "P", 0, -1});
      at = gap.end;
    }
    if (end > at) result.alignment.phones.push_back({{at, end}, "AH", 0, -1});
  };
  bool on = false;
  for (std::size_t n = 0; n < heeded.jaw.size(); ++n) {
    const bool now = heeded.jaw[n] > 0.02;
    if (now && !on) begin = n;
    if (!now && on) voiced(begin, n);
    on = now;
  }
  if (on) voiced(begin, heeded.jaw.size());
  return result;
}

}  // namespace mien::speech
