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

bool Uart::take(Heard& heard) noexcept {
  if (heard_out_ == heard_in_) return false;
  heard = heard_[heard_out_ % kHeardRoom];
  heard_out_ = heard_out_ + 1;
  return true;
}

bool Uart::send(const std::uint8_t* bytes, std::size_t size) noexcept {
  if (room() < size) {
    ++lost_;
    return false;
  }
  for (std::size_t i = 0; i < size; ++i) send_[(send_in_ + i) % kSendRoom] = bytes[i];
  const Undisturbed undisturbed;
  send_in_ = send_in_ + static_cast<std::uint32_t>(size);
  pump();  // the interrupt comes when a byte has left, so the first one is on us (4.2.6.4)
  return true;
}

void Uart::pump() noexcept {
  while (send_out_ != send_in_ && (reg(uart::kFlags) & uart::kTransmitFull) == 0) {
    reg(uart::kData) = send_[send_out_ % kSendRoom];
    send_out_ = send_out_ + 1;
  }
  reg(uart::kMask) = uart::kReceive | uart::kReceiveTimeout | (send_out_ != send_in_ ? uart::kTransmit : 0u);
}

void Uart::on_interrupt() noexcept {
  while ((reg(uart::kFlags) & uart::kReceiveEmpty) == 0) {
    const std::uint32_t at_us = now_us();
    const std::uint8_t byte = static_cast<std::uint8_t>(reg(uart::kData));
    if (listener_ != nullptr) listener_(byte);
    if (heard_in_ - heard_out_ == kHeardRoom) {
      ++overruns_;
      continue;
    }
    heard_[heard_in_ % kHeardRoom] = {at_us, byte};
    heard_in_ = heard_in_ + 1;
  }
  reg(uart::kClear) = uart::kReceiveTimeout;
  if ((reg(uart::kMasked) & uart::kTransmit) != 0) {
    reg(uart::kClear) = uart::kTransmit;
    pump();
  }
}

}  // namespace mien::board::rp2040
