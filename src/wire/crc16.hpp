// CRC-16/IBM-3740: polynomial 0x1021, start 0xFFFF, no reflection, no final xor. Check value of "123456789": 0x29B1.
#pragma once
#include <cstddef>
#include <cstdint>

namespace mien::wire {

inline constexpr std::uint16_t kCrcStart = 0xFFFF;

/// The CRC of size bytes, continued from `crc`; no bytes return `crc` itself. A message followed by its CRC, most
/// significant byte first, gives 0.
std::uint16_t crc16(const std::uint8_t* bytes, std::size_t size, std::uint16_t crc = kCrcStart) noexcept;

}  // namespace mien::wire
