// Frames that wait for their latch time, in the order in which they came.
#pragma once
#include <cstdint>

#include "wire/messages.hpp"

namespace mien::board {

/// One board's share of a frame, its latch time on the board's own clock.
struct Setpoints {
  std::uint16_t sequence = 0;
  std::uint32_t latch_us = 0;
  std::uint16_t mask = 0;
  std::uint16_t pulse[wire::kMaxOutputs] = {};
  std::uint8_t channels = 0;
  std::uint8_t value[wire::kMaxChannels] = {};
};

class FrameQueue {
 public:
  static constexpr int kRoom = 8;

  bool empty() const noexcept { return count_ == 0; }
  bool full() const noexcept { return count_ == kRoom; }
  void clear() noexcept { count_ = 0; }
  void push(const Setpoints& s) noexcept { ring_[(first_ + count_++) % kRoom] = s; }  ///< not when full()
  const Setpoints& front() const noexcept { return ring_[first_]; }                   ///< not when empty()
  void pop() noexcept { first_ = (first_ + 1) % kRoom, --count_; }

 private:
  Setpoints ring_[kRoom];
  int first_ = 0, count_ = 0;
};

}  // namespace mien::board
