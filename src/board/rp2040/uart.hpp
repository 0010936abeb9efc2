// A UART behind two rings: bytes with the time at which they came, and bytes to send.
#pragma once
#include <cstddef>
#include <cstdint>

#include "board/rp2040/registers.hpp"

namespace mien::board::rp2040 {

struct Heard {
  std::uint32_t at_us = 0;
  std::uint8_t byte = 0;
};

/// The chip's FIFOs stay off: with them it would tell of bytes in fours, and every byte repeated down a chain would wait
/// for three others. Bytes are fetched one by one in the interrupt, for which there are 10 us at 1 Mbit/s.
class Uart {
 public:
  /// 8 data bits, no parity, 1 stop bit. `base` is the block's address, `interrupt` its number. `listener`, where there is one, is
  /// called from the interrupt for every byte as it comes.
  void start(std::uint32_t base, int interrupt, std::uint32_t baud, void (*listener)(std::uint8_t byte) = nullptr) noexcept;

  /// The oldest byte not taken yet; false when there is none.
  bool take(Heard& heard) noexcept;
  /// Bytes to send, all or none: false, and counted as lost, where there is no room.
  bool send(const std::uint8_t* bytes, std::size_t size) noexcept;
  std::size_t room() const noexcept { return kSendRoom - (send_in_ - send_out_); }
  void on_interrupt() noexcept;

  std::uint32_t overruns() const noexcept { return overruns_; }  ///< bytes that came while the ring was full
  std::uint32_t lost() const noexcept { return lost_; }

 private:
  static constexpr std::uint32_t kHeardRoom = 512, kSendRoom = 2048;  // powers of two
  void pump() noexcept;
  Register& reg(std::uint32_t offset) const noexcept { return at(base_ + offset); }

  std::uint32_t base_ = 0;
  void (*listener_)(std::uint8_t byte) = nullptr;
  Heard heard_[kHeardRoom];
  std::uint8_t send_[kSendRoom] = {};
  // Counts that wrap; each ring has one writer and one reader, the interrupt being one of the two.
  volatile std::uint32_t heard_in_ = 0, heard_out_ = 0, send_in_ = 0, send_out_ = 0;
  std::uint32_t overruns_ = 0, lost_ = 0;
};

}  // namespace mien::board::rp2040
