// One turn of the window's loop, the same for the program and for what measures it.
#pragma once
#include "editor/preview.hpp"
#include "editor/studio.hpp"
#include "editor/window.hpp"

namespace mien::editor {

/// Letters and colours for that window's screen; `text` is the share by which the person wants letters larger.
Look make_look(const Window& window, bool dark, float text);

class Turn {
 public:
  /// The three outlive it; the studio draws its head and faces by the preview from now on.
  Turn(Window& window, Studio& studio, Preview& preview);
  /// Builds a frame of what hands did since the last one and shows it. Letters are made anew first where their size has changed.
  void take();

 private:
  Window& window_;
  Studio& studio_;
  Preview& preview_;
  float text_ = 1;  // that letters were made for
};

}  // namespace mien::editor
