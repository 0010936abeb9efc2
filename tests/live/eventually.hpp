// Waiting for what another thread does.
#pragma once
#include <chrono>
#include <functional>
#include <thread>

namespace mien::live {

/// Whether it holds within a time so long that only a fault, never a slow machine, misses it.
inline bool eventually(const std::function<bool()>& holds) {
  for (int n = 0; n < 4000; ++n) {
    if (holds()) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  return false;
}

}  // namespace mien::live
