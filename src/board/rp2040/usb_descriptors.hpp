// What the board says of itself on USB: one serial port. Universal Serial Bus Specification 2.0, chapter 9, and its class definitions for
// communication devices 1.2 with the PSTN subclass 1.2 (abstract control model).
#pragma once
#include <cstddef>
#include <cstdint>

namespace mien::board::rp2040::usb {

inline constexpr int kData = 1, kNotice = 2;     ///< endpoints: bytes both ways; and one for line states, of which there is never news
inline constexpr std::size_t kPacket = 64;       ///< largest of endpoint 0 and of bulk endpoints at full speed (5.5.3, 5.8.3)

struct Text {
  const std::uint8_t* bytes = nullptr;
  std::size_t size = 0;
};

/// The descriptor that a wValue of GET_DESCRIPTOR names (type in the upper byte, number in the lower one); nothing where there is none.
/// Of strings, number 3 is the identity in 16 hexadecimal digits: the serial number, by which computers know a board again.
/// What is returned holds until the next call.
Text descriptor(std::uint16_t which, std::uint64_t identity) noexcept;

}  // namespace mien::board::rp2040::usb
