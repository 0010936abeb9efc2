// Counts what the whole test program allocates, while a test asks for it.
#pragma once
#include <atomic>
#include <cstdint>

namespace mien::perform::testing {
extern std::atomic<bool> counting;
extern std::atomic<std::uint64_t> allocations;
}  // namespace mien::perform::testing
