// Waiting for what the performing thread does.
#pragma once
#include <chrono>
#include <functional>
#include <thread>

namespace mien::perform::testing {

/// Whether it is so within 20 s: generous, since the machine may be busy; a test that passes never waits that long.
inline bool soon(const std::function<bool()>& done) {
  const auto deadline = std::chrono::steady_clock::now() + std::chrono::seconds(20);
  while (std::chrono::steady_clock::now() < deadline) {
    if (done()) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  }
  return done();
}

}  // namespace mien::perform::testing
