// Waiting for what another thread, process or device does.
#pragma once
#include <chrono>
#include <functional>
#include <thread>

namespace mien::support {

/// Whether it holds before so much time has gone; looks every 2 ms.
inline bool eventually(std::chrono::milliseconds most, const std::function<bool()>& holds) {
  const auto end = std::chrono::steady_clock::now() + most;
  while (!holds()) {
    if (std::chrono::steady_clock::now() > end) return holds();
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  }
  return true;
}
/// The same within a time so long that only a fault, never a slow machine, misses it.
inline bool eventually(const std::function<bool()>& holds) { return eventually(std::chrono::seconds(20), holds); }

}  // namespace mien::support
