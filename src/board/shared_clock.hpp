// The host's clock, which all boards of a head share, as one board tells it by its own.
#pragma once
#include "wire/messages.hpp"

namespace mien::board {

/// Both clocks are microseconds modulo 2^32. host = board + offset + (board - reference) * rate.
class SharedClock {
 public:
  void set(const wire::Clock& c) noexcept {
    reference_us_ = c.board_us;
    offset_us_ = c.offset_us;
    rate_ = (static_cast<std::int64_t>(c.rate_ppb) << 32) / 1'000'000'000;  // one division now, none at run time
    known_ = true;
  }
  bool known() const noexcept { return known_; }
  /// Before any Clock message both clocks count as one.
  std::uint32_t host_us(std::uint32_t board_us) const noexcept { return board_us + offset_us_ + gained_us(board_us); }
  /// Right to a microsecond as long as the message's board_us is less than half an hour away.
  std::uint32_t board_us(std::uint32_t host_us) const noexcept {
    const std::uint32_t nearly = host_us - offset_us_;
    return nearly - gained_us(nearly);
  }

 private:
  std::uint32_t gained_us(std::uint32_t board_us) const noexcept {
    const std::int64_t elapsed_us = static_cast<std::int32_t>(board_us - reference_us_);
    return static_cast<std::uint32_t>((elapsed_us * rate_ + (std::int64_t{1} << 31)) >> 32);
  }

  std::uint32_t reference_us_ = 0, offset_us_ = 0;
  std::int64_t rate_ = 0;  // 32 fractional bits
  bool known_ = false;
};

}  // namespace mien::board
