// A bounded single-producer single-consumer ring: how two threads meet without a lock, an allocation or a system call.
#pragma once
#include <array>
#include <atomic>
#include <cstddef>

namespace mien::threads {

/// Exactly one thread pushes, exactly one pops. Holds at most N - 1 values; N is a power of two. T is copied.
template <class T, std::size_t N>
class Ring {
  static_assert((N & (N - 1)) == 0 && N >= 2);

 public:
  /// False, and nothing stored, when full.
  bool push(const T& value) noexcept {
    const auto head = head_.load(std::memory_order_relaxed);
    const auto next = (head + 1) & (N - 1);
    if (next == tail_.load(std::memory_order_acquire)) return false;
    slots_[head] = value;
    head_.store(next, std::memory_order_release);
    return true;
  }
  /// False, and `value` untouched, when empty.
  bool pop(T& value) noexcept {
    const auto tail = tail_.load(std::memory_order_relaxed);
    if (tail == head_.load(std::memory_order_acquire)) return false;
    value = slots_[tail];
    tail_.store((tail + 1) & (N - 1), std::memory_order_release);
    return true;
  }

 private:
  std::array<T, N> slots_{};
  alignas(64) std::atomic<std::size_t> head_{0};
  alignas(64) std::atomic<std::size_t> tail_{0};
};

}  // namespace mien::threads
