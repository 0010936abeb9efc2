// The one clock that every thread compares: CLOCK_MONOTONIC in integer nanoseconds.
#pragma once
#include <chrono>
#include <cstdint>

namespace mien::threads {

inline constexpr std::int64_t kMs = 1'000'000;  ///< a millisecond in nanoseconds

inline std::int64_t steady_ns() noexcept {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

}  // namespace mien::threads
