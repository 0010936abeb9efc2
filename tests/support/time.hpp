// Times in words.
#pragma once
#include <cstdint>

#include "show/time.hpp"

namespace mien::support {

constexpr std::int64_t kMs = 1'000'000, kSecond = 1'000'000'000;  ///< in ns

/// So many milliseconds.
inline show::Time ms(std::int64_t n) { return show::Time{n * kMs}; }

}  // namespace mien::support
