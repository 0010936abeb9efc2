#include "speech/mfcc.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numbers>

namespace mien::speech {
namespace {

constexpr std::size_t kSpectrum = 512, kBins = kSpectrum / 2 + 1, kFilters = 26;
constexpr double kMelWindow_s = 0.0256, kLow_hz = 130, kHigh_hz = 6800;

double hertz(double m) { return 700 * (std::pow(10, m / 2595) - 1); }

std::array<std::array<float, kBins>, kFilters> filters_of(int rate_hz) {
  std::array<std::array<float, kBins>, kFilters> filters{};
  const auto edge = [&](std::size_t n) { return hertz(mel(kLow_hz) + (mel(kHigh_hz) - mel(kLow_hz)) * static_cast<double>(n) / (kFilters + 1)); };
  for (std::size_t f = 0; f < kFilters; ++f)
    for (std::size_t b = 0; b < kBins; ++b) {
      const double hz = static_cast<double>(b) * rate_hz / kSpectrum, low = edge(f), middle = edge(f + 1), high = edge(f + 2);
      filters[f][b] = static_cast<float>(std::max(0.0, std::min((hz - low) / (middle - low), (high - hz) / (high - middle))));
    }
  return filters;
}

}  // namespace

void fourier(std::span<double> re, std::span<double> im) {
  const std::size_t n = re.size();
  for (std::size_t i = 1, j = 0; i < n; ++i) {
    std::size_t bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i < j) std::swap(re[i], re[j]), std::swap(im[i], im[j]);
  }
  for (std::size_t length = 2; length <= n; length <<= 1) {
    const double angle = -2 * std::numbers::pi / static_cast<double>(length), wr = std::cos(angle), wi = std::sin(angle);
    for (std::size_t from = 0; from < n; from += length) {
      double cr = 1, ci = 0;
      for (std::size_t k = 0; k < length / 2; ++k) {
        const std::size_t a = from + k, b = a + length / 2;
        const double xr = re[b] * cr - im[b] * ci, xi = re[b] * ci + im[b] * cr;
        re[b] = re[a] - xr, im[b] = im[a] - xi, re[a] += xr, im[a] += xi;
        const double next = cr * wr - ci * wi;
        ci = cr * wi + ci * wr, cr = next;
      }
    }
  }
}

std::vector<Cepstrum> mfcc(const Recording& recording) {
  std::vector<Cepstrum> cepstra;
  const auto window = static_cast<std::size_t>(recording.rate_hz * kMelWindow_s), hop = static_cast<std::size_t>(recording.rate_hz * kFrame_s);
  if (recording.samples.size() < window || hop == 0 || window > kSpectrum) return cepstra;
  const auto filters = filters_of(recording.rate_hz);
  std::array<double, kSpectrum> re, im;
  for (std::size_t at = 0; at + window <= recording.samples.size(); at += hop) {
    re.fill(0), im.fill(0);
    for (std::size_t n = 0; n < window; ++n) {
      const double before = at + n > 0 ? static_cast<double>(recording.samples[at + n - 1]) : 0;
      re[n] = (static_cast<double>(recording.samples[at + n]) - 0.97 * before) * (0.54 - 0.46 * std::cos(2 * std::numbers::pi * static_cast<double>(n) / static_cast<double>(window - 1)));
    }
    fourier(re, im);
    std::array<double, kFilters> logs;
    for (std::size_t f = 0; f < kFilters; ++f) {
      double sum = 0;
      for (std::size_t b = 0; b < kBins; ++b) sum += static_cast<double>(filters[f][b]) * (re[b] * re[b] + im[b] * im[b]);
      logs[f] = std::log(sum + 1e-8);
    }
    Cepstrum c{};
    for (std::size_t k = 0; k < kCepstra; ++k) {
      double sum = 0;
      for (std::size_t f = 0; f < kFilters; ++f) sum += logs[f] * std::cos(std::numbers::pi * static_cast<double>(k) * (static_cast<double>(f) + 0.5) / kFilters);
      c[k] = static_cast<float>(sum * std::sqrt((k == 0 ? 1.0 : 2.0) / kFilters));
    }
    cepstra.push_back(c);
  }
  return cepstra;
}

void normalise(std::vector<Cepstrum>& cepstra) {
  if (cepstra.empty()) return;
  const double count = static_cast<double>(cepstra.size());
  for (std::size_t k = 0; k < kCepstra; ++k) {
    double mean = 0, square = 0;
    for (const auto& c : cepstra) mean += static_cast<double>(c[k]) / count;
    for (const auto& c : cepstra) square += (static_cast<double>(c[k]) - mean) * (static_cast<double>(c[k]) - mean) / count;
    const double scale = square > 1e-9 ? 1 / std::sqrt(square) : 0;
    for (auto& c : cepstra) c[k] = static_cast<float>((static_cast<double>(c[k]) - mean) * scale);
  }
}

std::vector<int> warp(std::span<const Cepstrum> a, std::span<const Cepstrum> b) {
  const std::size_t n = a.size(), m = b.size();
  if (n == 0 || m == 0) return {};
  enum Step : std::uint8_t { both, first, second };
  std::vector<std::uint8_t> steps(n * m);
  std::vector<float> before(m, std::numeric_limits<float>::infinity()), now(m);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < m; ++j) {
      float d = 0;
      for (std::size_t k = 0; k < kCepstra; ++k) d += (a[i][k] - b[j][k]) * (a[i][k] - b[j][k]);
      d = std::sqrt(d);
      // Sakoe and Chiba's symmetric form: a diagonal step counts twice, so that all paths have the same weight.
      const float diagonal = i > 0 && j > 0 ? before[j - 1] + 2 * d : i == 0 && j == 0 ? d : std::numeric_limits<float>::infinity();
      const float up = i > 0 ? before[j] + d : std::numeric_limits<float>::infinity(), left = j > 0 ? now[j - 1] + d : std::numeric_limits<float>::infinity();
      now[j] = std::min({diagonal, up, left});
      steps[i * m + j] = now[j] == diagonal ? both : now[j] == up ? first : second;
    }
    std::swap(before, now);
  }
  std::vector<int> low(n, static_cast<int>(m)), high(n, 0), path(n);
  for (std::size_t i = n - 1, j = m - 1;;) {
    low[i] = std::min(low[i], static_cast<int>(j)), high[i] = std::max(high[i], static_cast<int>(j));
    if (i == 0 && j == 0) break;
    const auto step = steps[i * m + j];
    if (step != second && i > 0) --i;
    if (step != first && j > 0) --j;
  }
  for (std::size_t i = 0; i < n; ++i) path[i] = (low[i] + high[i]) / 2;
  return path;
}

}  // namespace mien::speech
