// What goes on to the next board of a chain: every byte from the host, as it comes.
#pragma once
#include <cstdint>

#include "wire/framing.hpp"

namespace mien::board {

/// Cut-through: a byte is repeated before anybody knows what it belongs to, so that a frame reaches the last board a few byte times
/// after the first. A board without an address repeats nothing, so that each hello that assigns one is heard by one such board; and
/// a hello that assigns the board's own address again (its answer was lost) is spoilt at its end, or the next board would take that
/// address too. Small enough for an interrupt; the rest of the board may lag behind.
class Repeater {
 public:
  static constexpr int kMost = 2;

  /// Repeats from the next packet on; wire::kNoAddress: nothing.
  void set_address(std::uint8_t address) noexcept { address_ = address; }

  /// Writes what the next board is to get for a byte from the host and returns how many bytes those are: 0 to kMost.
  int repeat(std::uint8_t byte, std::uint8_t* out) noexcept;

 private:
  void look_at(std::uint8_t byte) noexcept;

  volatile std::uint8_t address_ = 0xFE;  // set from outside the interrupt
  bool coming_ = false;                   // a packet has begun
  bool passing_ = false;                  // it is repeated
  bool started_ = false;                  // its first code byte is known
  static constexpr int kHead = 5 + static_cast<int>(wire::kCrcSize);  // a whole hello, so that no byte of a shorter packet's CRC is taken for its last
  std::uint8_t head_[kHead] = {};         // its first bytes, un-stuffed
  std::uint8_t known_ = 0;                // how many of them are there
  std::uint8_t left_ = 0;                 // bytes until the next code byte
};

}  // namespace mien::board
