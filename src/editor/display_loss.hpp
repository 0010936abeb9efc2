// The display that went away: an X server that died or was ended, a session that was closed, a cable pulled from a remote screen.
#pragma once
#include <functional>

namespace mien::editor {

/// `then` is called once, on the thread that finds the display gone, from within whatever asked something of it; it must not ask anything of the display, and must not
/// return: Xlib has nothing to go back to (XSetIOErrorHandler, Xlib manual, 11.8.2: a handler that returns ends the process). Call after the window system is initialised.
void on_display_loss(std::function<void()> then);

}  // namespace mien::editor
