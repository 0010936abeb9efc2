// Frames of the one rate that everything is mixed and played at, and show time, exactly.
#pragma once
#include <cstdint>

#include "show/time.hpp"

namespace mien::sound {

constexpr int kRate_hz = 48000;

// A frame lasts 62500 / 3 ns. All three stay exact up to kFarthest.
constexpr show::Time kFarthest{1'000'000'000'000'000'000};  ///< 31 years

constexpr std::int64_t frames_to_ns(std::int64_t frames) noexcept { return frames * 62500 / 3; }

/// The fewest frames that last `ns` or longer; 0 for spans of nothing or less.
constexpr std::int64_t frames_covering(std::int64_t ns) noexcept { return ns <= 0 ? 0 : (ns * 3 + 62499) / 62500; }

/// The frame nearest to a time; halves go up. Times before zero give frames before zero.
constexpr std::int64_t nearest_frame(show::Time t) noexcept {
  const std::int64_t x = t.count() * 3 + 31250;
  return x / 62500 - (x % 62500 < 0 ? 1 : 0);
}

}  // namespace mien::sound
