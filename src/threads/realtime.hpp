// Marks where a thread performs: from there on it neither allocates, nor locks, nor calls the system but to sleep until its next tick.
#pragma once
#include <atomic>

namespace mien::threads {

/// Who looks after that promise, where anybody does: the tests' guard (tests/perform/realtime_guard.hpp). Both are called in the performing thread itself.
struct RealtimeWatch {
  void (*enter)() noexcept;
  void (*leave)() noexcept;
};

/// Set before a performing thread begins, and kept until it has ended; nullptr where nobody looks.
inline std::atomic<const RealtimeWatch*> realtime_watch{nullptr};

/// While one lives, the thread that made it performs.
class Realtime {
 public:
  Realtime() noexcept : watch_(realtime_watch.load(std::memory_order_acquire)) {
    if (watch_) watch_->enter();
  }
  ~Realtime() {
    if (watch_) watch_->leave();
  }
  Realtime(const Realtime&) = delete;
  Realtime& operator=(const Realtime&) = delete;

 private:
  const RealtimeWatch* const watch_;
};

}  // namespace mien::threads
