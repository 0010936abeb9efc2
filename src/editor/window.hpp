// The system's window with an OpenGL 3.3 context, and the drawing library inside it. Turns what hands do into InputEvents.
#pragma once
#include <filesystem>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "editor/input.hpp"
#include "show/finding.hpp"

struct GLFWwindow;

namespace mien::editor {

class Window {
 public:
  struct Options { int width = 0, height = 0; float scale = 0; };

  /// nullptr, and `problem` says why and what to do, where no window can be had.
  static std::unique_ptr<Window> open(const Options& options, show::Finding& problem);
  ~Window();
  Window(const Window&) = delete;
  Window& operator=(const Window&) = delete;

  /// Of the monitor that it is on: another one's may be another.
  float scale() const noexcept { return scale_; }
  /// Asked first for every event, from the callback itself; true: the event goes no further.
  std::function<bool(const InputEvent&)> first_look;
  std::function<void()> asked_to_close;
  /// Files that were let go over the window.
  std::function<void(const std::vector<std::filesystem::path>&)> dropped;

  /// Waits at most that long for something to happen.
  void wait(double seconds);
  bool has_input() const noexcept { return !queue_.empty(); }
  /// Begins the drawing library's frame; returns its key presses.
  std::vector<KeyPress> begin_frame();
  void end_frame(std::uint32_t ground);
  void set_title(const std::string& title);
  /// For other programs' dialogs to stand before it, as "x11:" and its number in hexadecimal (XDG Desktop Portal, "Common Conventions"); empty where the window system isn't X11.
  std::string handle() const;
  /// After the letters were made anew.
  void upload_letters();

 private:
  Window() = default;
  void take(const InputEvent& event);
  void listen();
  GLFWwindow* window_ = nullptr;
  InputQueue queue_;
  float scale_ = 1, fixed_scale_ = 0;
  std::string title_;
};

}  // namespace mien::editor
