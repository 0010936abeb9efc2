#include "board/repeater.hpp"

#include "wire/messages.hpp"

namespace mien::board {

int Repeater::repeat(std::uint8_t byte, std::uint8_t* out) noexcept {
  const std::uint8_t address = address_;
  if (byte != wire::kDelimiter) {
    if (!coming_) passing_ = address != wire::kNoAddress;  // told by the packet before, whose delimiter came ahead of being obeyed
    coming_ = true;
    if (!passing_) return 0;
    look_at(byte);
    out[0] = byte;
    return 1;
  }
  const bool was_passing = coming_ ? passing_ : address != wire::kNoAddress;
  // Of its own version alone: what another one means by these bytes is not this board's to say.
  const bool mine_again = known_ == kHead && head_[0] == wire::kVersion && head_[1] == static_cast<std::uint8_t>(wire::Type::hello) && head_[2] == address && head_[4] == 1;
  known_ = left_ = 0;
  coming_ = started_ = false;
  if (!was_passing) return 0;
  int count = 0;
  if (mine_again) out[count++] = wire::kGiveUp;
  out[count++] = wire::kDelimiter;
  return count;
}

// COBS byte by byte, as far as the head goes. Its blocks are shorter than 254 bytes, so each but the first follows a zero.
void Repeater::look_at(std::uint8_t byte) noexcept {
  if (known_ == kHead) return;
  if (left_ > 0) {
    head_[known_++] = byte;
    --left_;
    return;
  }
  if (started_) head_[known_++] = 0;
  started_ = true;
  left_ = static_cast<std::uint8_t>(byte - 1);
}

}  // namespace mien::board
