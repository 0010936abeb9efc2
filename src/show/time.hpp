// Show time: integer nanoseconds since the show's start. Floating-point seconds appear only where a person or a formula
// wants them, and never travel back into a stored or compared time except through from_seconds().
#pragma once
#include <chrono>
#include <cmath>
#include <cstdint>

namespace mien::show {

using Time = std::chrono::nanoseconds;

/// Half-open: begin belongs to the range, end does not.
struct Range {
  Time begin{0};
  Time end{0};
  constexpr Time length() const noexcept { return end - begin; }
  constexpr bool empty() const noexcept { return end <= begin; }
  constexpr bool contains(Time t) const noexcept { return t >= begin && t < end; }
  friend constexpr bool operator==(const Range&, const Range&) = default;
};

constexpr double to_seconds(Time t) noexcept { return static_cast<double>(t.count()) * 1e-9; }

/// Nearest nanosecond. NaN gives 0; values beyond +-9e9 s (285 years) are clamped there, so the result is always valid.
inline Time from_seconds(double seconds) noexcept {
  if (!(seconds == seconds)) return Time{0};
  constexpr double kLimit = 9e9;
  if (seconds > kLimit) seconds = kLimit;
  if (seconds < -kLimit) seconds = -kLimit;
  return Time{static_cast<std::int64_t>(std::llround(seconds * 1e9))};
}

/// Where a clock that never runs backward stands inside a loop: times before loop.end are themselves, later ones wrap to
/// [begin, end). An empty loop wraps nothing.
constexpr Time wrapped(Time unwrapped, Range loop) noexcept {
  if (loop.empty() || unwrapped < loop.end) return unwrapped;
  return loop.begin + (unwrapped - loop.begin) % loop.length();
}

}  // namespace mien::show
