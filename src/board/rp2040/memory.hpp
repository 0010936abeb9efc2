// What a board remembers without power.
#pragma once
#include <cstdint>

#include "board/storage.hpp"

namespace mien::board::rp2040 {

/// The board's identity: drawn from the noise of the ring oscillator at the first start, and kept from then on.
std::uint64_t identity() noexcept;

/// Where a baked show is kept: between the program and the identity. A board has one.
Shelf shelf() noexcept;

}  // namespace mien::board::rp2040
