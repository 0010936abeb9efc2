// Little-endian fields in and out of a buffer, checked: past the end, a writer or reader turns bad and stays so, which is
// asked once, at the end. For those who know the bytes.
#pragma once
#include "wire/framing.hpp"

namespace mien::wire {

class Writer {
 public:
  Writer(std::uint8_t* at, std::size_t room) noexcept : start_(at), room_(room) {}

  void u8(unsigned value) noexcept {
    if (size_ == room_) ok_ = false;
    else start_[size_++] = static_cast<std::uint8_t>(value);
  }
  void u16(std::uint32_t value) noexcept { u8(value & 0xFFu), u8((value >> 8) & 0xFFu); }
  void u32(std::uint32_t value) noexcept { u16(value & 0xFFFFu), u16(value >> 16); }
  void u64(std::uint64_t value) noexcept { u32(static_cast<std::uint32_t>(value)), u32(static_cast<std::uint32_t>(value >> 32)); }

  void fail() noexcept { ok_ = false; }
  bool ok() const noexcept { return ok_; }
  Bytes bytes() const noexcept { return {start_, size_}; }

 private:
  std::uint8_t* start_;
  std::size_t room_, size_ = 0;
  bool ok_ = true;
};

class Reader {
 public:
  explicit Reader(Bytes bytes) noexcept : bytes_(bytes) {}

  std::uint8_t u8() noexcept {
    if (at_ < bytes_.size) return bytes_.data[at_++];
    ok_ = false;
    return 0;
  }
  std::uint16_t u16() noexcept {
    const unsigned low = u8();
    return static_cast<std::uint16_t>(low | static_cast<unsigned>(u8()) << 8);
  }
  std::uint32_t u32() noexcept {
    const std::uint32_t low = u16();
    return low | static_cast<std::uint32_t>(u16()) << 16;
  }
  std::uint64_t u64() noexcept {
    const std::uint64_t low = u32();
    return low | static_cast<std::uint64_t>(u32()) << 32;
  }
  bool flag() noexcept {
    const std::uint8_t value = u8();
    if (value > 1) ok_ = false;
    return value == 1;
  }

  void fail() noexcept { ok_ = false; }
  bool ok() const noexcept { return ok_; }
  bool more() const noexcept { return ok_ && at_ < bytes_.size; }
  std::size_t left() const noexcept { return bytes_.size - at_; }
  /// All read, nothing left over, nothing wrong.
  bool done() const noexcept { return ok_ && at_ == bytes_.size; }

 private:
  Bytes bytes_;
  std::size_t at_ = 0;
  bool ok_ = true;
};

}  // namespace mien::wire
