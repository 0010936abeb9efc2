// The serial flash above the program: written through the functions in the chip's boot ROM, read where it is mapped.
#pragma once
#include <cstddef>
#include <cstdint>

namespace mien::board::rp2040::flash {

inline constexpr std::uint32_t kSector = 4096, kPage = 256;
inline constexpr std::uint32_t kBegin = 256 * 1024;         ///< below it is the program
inline constexpr std::uint32_t kEnd = 2 * 1024 * 1024;      ///< of the smallest flash that such modules carry

/// Bytes at `offset` from the beginning of the flash.
inline const std::uint8_t* bytes(std::uint32_t offset) noexcept {
  return reinterpret_cast<const std::uint8_t*>(0x1000'0000u + offset);
}

/// Whole sectors become FF. Takes 45 ms for each as a rule and 0.4 s at worst (data sheets of such flash), during which the caller stands:
/// not while anything moves. Interrupts go on, pulses of the PWM too, and the watchdog is fed.
/// False, and nothing done, where offset and size are not whole sectors between kBegin and kEnd.
bool erase(std::uint32_t offset, std::uint32_t size) noexcept;
/// Whole pages, erased before; some 0.5 ms each. `data` is in RAM. False as above, and where they then don't read as they should.
bool program(std::uint32_t offset, const std::uint8_t* data, std::uint32_t size) noexcept;

}  // namespace mien::board::rp2040::flash
