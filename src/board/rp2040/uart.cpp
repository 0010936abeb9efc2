#include "board/rp2040/uart.hpp"

#include "board/rp2040/chip.hpp"

namespace mien::board::rp2040 {

void Uart::start(std::uint32_t base, int interrupt, std::uint32_t baud, void (*listener)(std::uint8_t byte)) noexcept {
  base_ = base;
  listener_ = listener;
  const std::uint32_t divisor_64 = (kSystem_hz * 4u + baud / 2) / baud;  // clk_peri / (16 baud), in 64ths (4.2.7.1)
  reg(uart::kDivisor) = divisor_64 >> 6;
  reg(uart::kFraction) = divisor_64 & 63u;
  reg(uart::kLine) = 3u << 5;              // 8 bits, FIFOs off; a write here takes the divisor over, too
  reg(uart::kControl) = 1u | 3u << 8;      // on, both directions
  reg(uart::kMask) = uart::kReceive | uart::kReceiveTimeout;
  enable_interrupt(interrupt, 0);
}

bool Uart::send(const std::uint8_t* bytes, std::size_t size) noexcept {
  if (room() < size) {
    ++lost_;
    return false;
  }
  send_.write(bytes, size);
  const Undisturbed undisturbed;
  send_.publish(size);
  pump();  // the interrupt comes when a byte has left, so the first one is on us (4.2.6.4)
  return true;
}

void Uart::pump() noexcept {
  while (!send_.empty() && (reg(uart::kFlags) & uart::kTransmitFull) == 0) reg(uart::kData) = send_.take();
  reg(uart::kMask) = uart::kReceive | uart::kReceiveTimeout | (send_.empty() ? 0u : uart::kTransmit);
}

void Uart::on_interrupt() noexcept {
  while ((reg(uart::kFlags) & uart::kReceiveEmpty) == 0) {
    const std::uint32_t at_us = now_us();
    const std::uint8_t byte = static_cast<std::uint8_t>(reg(uart::kData));
    if (listener_ != nullptr) listener_(byte);
    if (!heard_.put(byte, at_us)) ++overruns_;
  }
  reg(uart::kClear) = uart::kReceiveTimeout;
  if ((reg(uart::kMasked) & uart::kTransmit) != 0) {
    reg(uart::kClear) = uart::kTransmit;
    pump();
  }
}

}  // namespace mien::board::rp2040
