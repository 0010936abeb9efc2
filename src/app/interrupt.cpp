#include "app/interrupt.hpp"

#include <poll.h>

#include <atomic>
#include <csignal>

namespace mien::app {
namespace {

std::atomic<bool> asked{false};
const link::Wake* wake = nullptr;

void on_signal(int) {
  asked = true;
  wake->ring();
}

}  // namespace

const link::Wake& interrupt() {
  static const link::Wake instance;
  if (!wake) {
    wake = &instance;
    std::signal(SIGINT, on_signal);
    std::signal(SIGTERM, on_signal);
    std::signal(SIGPIPE, SIG_IGN);
  }
  return instance;
}

bool interrupted() noexcept {
  interrupt();
  return asked;
}

bool wait_ms(int milliseconds) {
  pollfd ring{interrupt().handle(), POLLIN, 0};
  poll(&ring, 1, milliseconds);
  return asked;
}

}  // namespace mien::app
