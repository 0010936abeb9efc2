// The one clock that every thread compares: CLOCK_MONOTONIC in integer nanoseconds.
#pragma once
#include <chrono>
#include <cstdint>

namespace mien::threads {

inline std::int64_t steady_ns() noexcept {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

}  // namespace mien::threads
