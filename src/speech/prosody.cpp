#include "speech/prosody.hpp"

#include <algorithm>
#include <cmath>

#include "speech/lexicon.hpp"
#include "speech/phones.hpp"

namespace mien::speech {
namespace {

using show::Time;

constexpr double kLowest_hz = 60, kHighest_hz = 400, kPitchWindow_s = 0.025, kDip = 0.15, kFaintDip = 0.35;
constexpr double kPitchStep_st = 3, kLoudStep_db = 6;
constexpr double kNotable = 0.15;  // so far above the mean of its phrase

struct Vowel {
  std::size_t word;
  show::Range range;
  double pitch_st, level_db, length_log2;
};

double median(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

std::span<const float> samples_around(const Recording& r, Time middle, double length_s) {
  const double size = static_cast<double>(r.samples.size()), begin = std::clamp((show::to_seconds(middle) - length_s / 2) * r.rate_hz, 0.0, size), end = std::clamp(begin + length_s * r.rate_hz, begin, size);
  return std::span(r.samples).subspan(static_cast<std::size_t>(begin), static_cast<std::size_t>(end) - static_cast<std::size_t>(begin));
}

double level_of(std::span<const float> samples) {
  double sum = 0;
  for (const float x : samples) sum += static_cast<double>(x) * x;
  return samples.empty() || !(sum > 0) ? -120 : std::max(-120.0, 10 * std::log10(sum / static_cast<double>(samples.size())));
}

// Of a word's vowels the stressed one: an index into the alignment's phones; -1 where it has none.
int stressed_vowel(const Alignment& alignment, std::size_t first, std::size_t end, const std::string& word) {
  std::vector<int> vowels;
  for (std::size_t p = first; p < end; ++p)
    if (is_vowel(alignment.phones[p].label)) vowels.push_back(static_cast<int>(p));
  if (vowels.size() < 2) return vowels.empty() ? -1 : vowels[0];
  const auto stress = stresses(word);
  if (stress.size() == vowels.size())
    if (const auto found = std::find(stress.begin(), stress.end(), 1); found != stress.end()) return vowels[static_cast<std::size_t>(found - stress.begin())];
  return *std::max_element(vowels.begin(), vowels.end(), [&](int a, int b) {
    return alignment.phones[static_cast<std::size_t>(a)].range.length() < alignment.phones[static_cast<std::size_t>(b)].range.length();
  });
}

std::vector<Vowel> vowels_of(const Alignment& alignment, const Recording& recording) {
  std::vector<Vowel> vowels;
  for (std::size_t p = 0; p < alignment.phones.size();) {
    const int word = alignment.phones[p].word;
    std::size_t end = p + 1;
    while (end < alignment.phones.size() && alignment.phones[end].word == word) ++end;
    if (word >= 0 && static_cast<std::size_t>(word) < alignment.words.size())
      if (const int v = stressed_vowel(alignment, p, end, alignment.words[static_cast<std::size_t>(word)].text); v >= 0) {
        const auto range = alignment.phones[static_cast<std::size_t>(v)].range;
        const Time middle = range.begin + range.length() / 2;
        const double hz = pitch_hz(samples_around(recording, middle, 0.06), recording.rate_hz);
        vowels.push_back({static_cast<std::size_t>(word), range, hz > 0 ? 12 * std::log2(hz / 100) : NAN, level_of(samples_around(recording, middle, std::max(0.03, show::to_seconds(range.length())))),
                          std::log2(std::max(0.01, show::to_seconds(range.length())))});
      }
    p = end;
  }
  return vowels;
}

// How far each stands out from the line's median vowel.
std::vector<double> prominences(const std::vector<Vowel>& vowels) {
  std::vector<double> pitch, level, length;
  for (const auto& v : vowels) {
    if (std::isfinite(v.pitch_st)) pitch.push_back(v.pitch_st);
    level.push_back(v.level_db), length.push_back(v.length_log2);
  }
  const double usual_pitch = median(pitch), usual_level = median(level), usual_length = median(length);
  std::vector<double> all;
  for (const auto& v : vowels) {
    const double rise = std::isfinite(v.pitch_st) ? (v.pitch_st - usual_pitch) / kPitchStep_st : 0;
    all.push_back((std::clamp(rise, -2.0, 2.0) + std::clamp((v.level_db - usual_level) / kLoudStep_db, -2.0, 2.0) + std::clamp(v.length_log2 - usual_length, -2.0, 2.0)) / 3);
  }
  return all;
}

}  // namespace

std::vector<Phrase> phrases_of(const Alignment& alignment) {
  std::vector<Phrase> phrases;
  Time last{0};
  for (const auto& phone : alignment.phones) {
    if (phrases.empty() || show::to_seconds(phone.range.begin - last) >= kPhrasePause_s) {
      const std::size_t first = phrases.empty() ? 0 : phrases.back().end;
      phrases.push_back({first, first, phone.range});
    }
    auto& phrase = phrases.back();
    last = phrase.range.end = phone.range.end;
    if (phone.word >= 0) phrase.end = std::max(phrase.end, std::min(static_cast<std::size_t>(phone.word) + 1, alignment.words.size()));
  }
  return phrases;
}

double pitch_hz(std::span<const float> samples, int rate_hz) noexcept {
  if (rate_hz < 1000) return 0;
  const auto least = static_cast<std::size_t>(rate_hz / kHighest_hz), window = static_cast<std::size_t>(kPitchWindow_s * rate_hz);
  if (samples.size() < window + 2 * least) return 0;
  const std::size_t most = std::min(static_cast<std::size_t>(rate_hz / kLowest_hz), samples.size() - window - 1);
  std::vector<double> dip(most + 1, 1);
  double sum = 0;
  for (std::size_t lag = 1; lag <= most; ++lag) {
    double difference = 0;
    for (std::size_t n = 0; n < window; ++n) {
      const double d = static_cast<double>(samples[n]) - samples[n + lag];
      difference += d * d;
    }
    sum += difference;
    dip[lag] = sum > 0 ? difference * static_cast<double>(lag) / sum : 1;
  }
  std::size_t best = 0;
  for (std::size_t lag = least; lag < most; ++lag) {
    if (dip[lag] > dip[lag - 1] || dip[lag] > dip[lag + 1]) continue;
    if (best == 0 || dip[lag] < dip[best]) best = lag;
    if (dip[lag] < kDip) { best = lag; break; }
  }
  if (best == 0 || dip[best] > kFaintDip) return 0;
  const double a = dip[best - 1], b = dip[best], c = dip[best + 1], bend = a - 2 * b + c;
  return rate_hz / (static_cast<double>(best) + (bend > 0 ? 0.5 * (a - c) / bend : 0));
}

std::vector<Accent> accents_of(const Alignment& alignment, const Recording& recording) {
  const auto vowels = vowels_of(alignment, recording);
  const auto prominence = prominences(vowels);
  std::vector<Accent> accents;
  std::size_t v = 0;
  for (const auto& phrase : phrases_of(alignment)) {
    const std::size_t first = v;
    while (v < vowels.size() && vowels[v].word < phrase.end) ++v;
    if (v == first) continue;
    double mean = 0;
    std::size_t strongest = first;
    for (std::size_t n = first; n < v; ++n) {
      mean += prominence[n] / static_cast<double>(v - first);
      if (prominence[n] > prominence[strongest]) strongest = n;
    }
    for (std::size_t n = first; n < v; ++n) {
      const bool peak = (n == first || prominence[n] >= prominence[n - 1]) && (n + 1 == v || prominence[n] >= prominence[n + 1]) && prominence[n] > mean + kNotable;
      if (n == strongest || peak) accents.push_back({vowels[n].word, vowels[n].range, std::clamp(0.5 + 0.5 * prominence[n], 0.0, 1.0)});
    }
  }
  return accents;
}

}  // namespace mien::speech
