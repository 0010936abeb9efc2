// Bytes on their way between an interrupt and the loop. Counts wrap; each ring has one writer and one reader, the interrupt being one of the two.
#pragma once
#include <cstddef>
#include <cstdint>

namespace mien::board::rp2040 {

struct Heard {
  std::uint32_t at_us = 0;
  std::uint8_t byte = 0;
};

/// What came, with the time at which it came.
class HeardRing {
 public:
  /// False, and the byte is lost, where the ring is full.
  bool put(std::uint8_t byte, std::uint32_t at_us) noexcept {
    if (room() == 0) return false;
    ring_[in_ % kRoom] = {at_us, byte};
    in_ = in_ + 1;
    return true;
  }
  /// The oldest byte not taken yet; false when there is none.
  bool take(Heard& heard) noexcept {
    if (out_ == in_) return false;
    heard = ring_[out_ % kRoom];
    out_ = out_ + 1;
    return true;
  }
  std::size_t room() const noexcept { return kRoom - (in_ - out_); }

 private:
  static constexpr std::uint32_t kRoom = 512;  // a power of two
  Heard ring_[kRoom];
  volatile std::uint32_t in_ = 0, out_ = 0;
};

/// What is to be sent.
class SendRing {
 public:
  std::size_t room() const noexcept { return kRoom - (in_ - out_); }
  bool empty() const noexcept { return in_ == out_; }
  std::size_t size() const noexcept { return in_ - out_; }
  /// Puts bytes behind the last one, unseen until publish(). There must be room for them.
  void write(const std::uint8_t* bytes, std::size_t size) noexcept {
    for (std::size_t i = 0; i < size; ++i) ring_[(in_ + i) % kRoom] = bytes[i];
  }
  void publish(std::size_t size) noexcept { in_ = in_ + static_cast<std::uint32_t>(size); }
  std::uint8_t take() noexcept {
    const std::uint8_t byte = ring_[out_ % kRoom];
    out_ = out_ + 1;
    return byte;
  }
  void forget() noexcept { out_ = in_; }

 private:
  static constexpr std::uint32_t kRoom = 2048;  // a power of two
  std::uint8_t ring_[kRoom] = {};
  volatile std::uint32_t in_ = 0, out_ = 0;
};

}  // namespace mien::board::rp2040
