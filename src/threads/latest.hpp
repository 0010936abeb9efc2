// The newest value of one writer for one reader: the writer never waits, the reader gets the last complete value.
#pragma once
#include <array>
#include <atomic>
#include <cstdint>

namespace mien::threads {

/// Triple buffer. Exactly one thread writes and one reads; T is copied and may be of any size. Reads before the first write
/// give a value-initialised T.
template <class T>
class Latest {
 public:
  void write(const T& value) noexcept {
    slots_[back_] = value;
    back_ = shared_.exchange(static_cast<std::uint8_t>(back_ | kFresh), std::memory_order_acq_rel) & kIndex;
  }
  /// The reference stays valid and unchanged until the reader's next read().
  const T& read() noexcept {
    if (shared_.load(std::memory_order_relaxed) & kFresh) front_ = shared_.exchange(front_, std::memory_order_acq_rel) & kIndex;
    return slots_[front_];
  }

 private:
  static constexpr std::uint8_t kFresh = 4, kIndex = 3;
  std::array<T, 3> slots_{};
  std::atomic<std::uint8_t> shared_{1};
  std::uint8_t back_ = 0, front_ = 2;
};

}  // namespace mien::threads
