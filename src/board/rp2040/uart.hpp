// A UART behind two rings: bytes with the time at which they came, and bytes to send.
#pragma once
#include <cstddef>
#include <cstdint>

#include "board/rp2040/registers.hpp"
#include "board/rp2040/rings.hpp"

namespace mien::board::rp2040 {

/// The chip's FIFOs stay off: with them it would tell of bytes in fours, and every byte repeated down a chain would wait
/// for three others. Bytes are fetched one by one in the interrupt, for which there are 10 us at 1 Mbit/s.
class Uart {
 public:
  /// 8 data bits, no parity, 1 stop bit. `base` is the block's address, `interrupt` its number. `listener`, where there is one, is
  /// called from the interrupt for every byte as it comes.
  void start(std::uint32_t base, int interrupt, std::uint32_t baud, void (*listener)(std::uint8_t byte) = nullptr) noexcept;

  /// The oldest byte not taken yet; false when there is none.
  bool take(Heard& heard) noexcept { return heard_.take(heard); }
  /// Bytes to send, all or none: false, and counted as lost, where there is no room.
  bool send(const std::uint8_t* bytes, std::size_t size) noexcept;
  std::size_t room() const noexcept { return send_.room(); }
  void on_interrupt() noexcept;

  std::uint32_t overruns() const noexcept { return overruns_; }  ///< bytes that came while the ring was full
  std::uint32_t lost() const noexcept { return lost_; }

 private:
  void pump() noexcept;
  Register& reg(std::uint32_t offset) const noexcept { return at(base_ + offset); }

  std::uint32_t base_ = 0;
  void (*listener_)(std::uint8_t byte) = nullptr;
  HeardRing heard_;
  SendRing send_;
  std::uint32_t overruns_ = 0, lost_ = 0;
};

}  // namespace mien::board::rp2040
