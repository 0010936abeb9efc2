#include <algorithm>
#include <array>

#include "sound/wave.hpp"

namespace mien::sound {
namespace {

constexpr std::size_t kBase = 256, kFactor = 4;

Peaks::Bin joined(const Peaks::Bin& a, const Peaks::Bin& b) noexcept {
  return {std::min(a.low, b.low), std::max(a.high, b.high)};
}

/// Precondition: end > begin. Eight lanes, because one running minimum may not be reordered by the compiler and these may.
Peaks::Bin bounds(const float* begin, const float* end) noexcept {
  constexpr std::size_t kLanes = 8;
  std::array<float, kLanes> low, high;
  low.fill(*begin);
  high.fill(*begin);
  for (; end - begin >= static_cast<std::ptrdiff_t>(kLanes); begin += kLanes) {
    for (std::size_t k = 0; k < kLanes; ++k) {
      low[k] = begin[k] < low[k] ? begin[k] : low[k];
      high[k] = begin[k] > high[k] ? begin[k] : high[k];
    }
  }
  for (; begin != end; ++begin) {
    low[0] = std::min(low[0], *begin);
    high[0] = std::max(high[0], *begin);
  }
  return {*std::min_element(low.begin(), low.end()), *std::max_element(high.begin(), high.end())};
}

}  // namespace

Peaks::Peaks(const Wave& wave) : frames_(wave.frames()) {
  if (frames_ == 0) return;
  const auto channels = static_cast<std::size_t>(wave.channels);
  std::vector<Bin> bins((frames_ + kBase - 1) / kBase);
  for (std::size_t i = 0; i < bins.size(); ++i) {
    const float* const samples = wave.samples.data();
    bins[i] = bounds(samples + i * kBase * channels, samples + std::min((i + 1) * kBase, frames_) * channels);
  }
  levels_.push_back(std::move(bins));
  while (levels_.back().size() > 1) {
    const std::vector<Bin>& fine = levels_.back();
    std::vector<Bin> coarse((fine.size() + kFactor - 1) / kFactor);
    for (std::size_t i = 0; i < coarse.size(); ++i) {
      coarse[i] = fine[i * kFactor];
      for (std::size_t k = i * kFactor + 1; k < std::min((i + 1) * kFactor, fine.size()); ++k) coarse[i] = joined(coarse[i], fine[k]);
    }
    levels_.push_back(std::move(coarse));
  }
}

Peaks::Bin Peaks::over(std::size_t begin, std::size_t end) const noexcept {
  end = std::min(end, frames_);
  if (begin >= end) return {};
  std::size_t first = begin / kBase, last = (end - 1) / kBase + 1;  // bins [first, last) of the level
  Bin result = levels_[0][first];
  for (std::size_t level = 0; first < last; ++level, first /= kFactor, last /= kFactor) {
    const std::vector<Bin>& bins = levels_[level];
    // Take the ragged ends at this level, so that what is left is whole bins of the next. The last bin of a level may stand
    // for fewer than four finer ones, so a span that reaches the end is taken here too: it is only ever a few bins.
    while (first < last && first % kFactor != 0) result = joined(result, bins[first++]);
    while (first < last && last % kFactor != 0) result = joined(result, bins[--last]);
  }
  return result;
}

}  // namespace mien::sound
