#include "editor/display_loss.hpp"

#include <X11/Xlib.h>

#include <csignal>
#include <cstdlib>
#include <utility>

namespace mien::editor {
namespace {

std::function<void()>& what_then() {
  static std::function<void()> then;
  return then;
}

int gone(Display*) {
  if (const auto then = std::exchange(what_then(), {})) then();
  std::_Exit(1);
}

}  // namespace

void on_display_loss(std::function<void()> then) {
  what_then() = std::move(then);
  std::signal(SIGPIPE, SIG_IGN);  // a request on its way to a server that is gone must be an error, not the end
  XSetIOErrorHandler(gone);
}

}  // namespace mien::editor
