// One turn of the window's loop, the same for the program and for what measures it.
#pragma once
#include <future>
#include <memory>

#include "editor/preview.hpp"
#include "editor/studio.hpp"
#include "editor/window.hpp"

namespace mien::editor {

/// Letters and colours for that window's screen; `text` is the share by which the person wants letters larger.
Look make_look(const Window& window, bool dark, float text);

/// Letters of another size, from a thread of their own: drawing a thousand of them takes longer than a frame.
struct Letters;

class Turn {
 public:
  /// The three outlive it; the studio draws its head and faces by the preview from now on.
  Turn(Window& window, Studio& studio, Preview& preview);
  ~Turn();
  Turn(const Turn&) = delete;
  Turn& operator=(const Turn&) = delete;
  /// Builds a frame of what hands did since the last one and shows it. Where the size of letters has changed, they are made beside the window, and the first frame after that has them.
  void take();
  /// Whether letters are being made that a later frame will show.
  bool letters_pending() const noexcept { return coming_.valid(); }

 private:
  void follow_size();
  Window& window_;
  Studio& studio_;
  Preview& preview_;
  float size_;          // that letters were made for
  bool shown_ = false;  // whether there has been a frame yet
  std::future<std::unique_ptr<Letters>> coming_;
};

}  // namespace mien::editor
