// How a thread that sleeps in poll(2) is woken by another.
#pragma once
#include <cstdint>

namespace mien::link {

/// An eventfd. ring() may come from any thread, never blocks and never allocates; rings before a clear() count as one.
class Wake {
 public:
  Wake();
  ~Wake();
  Wake(const Wake&) = delete;
  Wake& operator=(const Wake&) = delete;

  void ring() const noexcept;
  void clear() const noexcept;
  bool rung() const noexcept;  ///< since the last clear()
  int handle() const noexcept { return handle_; }

 private:
  int handle_;
};

}  // namespace mien::link
