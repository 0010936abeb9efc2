// The newest value of one writer for any number of readers, without a lock.
#pragma once
#include <array>
#include <atomic>
#include <cstdint>
#include <cstring>
#include <type_traits>

namespace mien::sound {

/// A value lies complete in one of eight slots before it is announced, so a reader never waits for a writer that was put to
/// sleep in the middle of a write; it looks again only when eight writes went by during one read. T is plain data. Reads
/// before the first write give a value-initialised T.
template <class T>
class Posted {
  static_assert(std::is_trivially_copyable_v<T>);
  static constexpr std::size_t kSlots = 8, kWords = (sizeof(T) + 7) / 8;
  using Words = std::array<std::uint64_t, kWords>;

 public:
  Posted() { write(T{}); }

  /// One thread only.
  void write(const T& value) noexcept {
    Words words{};
    std::memcpy(words.data(), &value, sizeof(T));
    const std::uint64_t next = newest_.load(std::memory_order_relaxed) + 1;
    // Release and acquire on each word: who sees a word of a later write also sees that the slots moved on.
    for (std::size_t i = 0; i < kWords; ++i) slots_[next % kSlots][i].store(words[i], std::memory_order_release);
    newest_.store(next, std::memory_order_release);
  }

  /// Any thread.
  T read() const noexcept {
    for (;;) {
      const std::uint64_t at = newest_.load(std::memory_order_acquire);
      Words words;
      for (std::size_t i = 0; i < kWords; ++i) words[i] = slots_[at % kSlots][i].load(std::memory_order_acquire);
      if (newest_.load(std::memory_order_relaxed) - at >= kSlots - 1) continue;
      T value;
      std::memcpy(static_cast<void*>(&value), words.data(), sizeof(T));
      return value;
    }
  }

 private:
  std::array<std::array<std::atomic<std::uint64_t>, kWords>, kSlots> slots_{};
  std::atomic<std::uint64_t> newest_{0};
};

}  // namespace mien::sound
