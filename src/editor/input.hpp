// What hands do, in order, on its way to the window. The drawing library looks at keys and buttons once a frame and would lose a
// press that is released within it; this queue lets one press or release through each frame, so that nothing is lost at any
// frame rate, and keeps what keyboard and mouse did in the order in which they did it.
#pragma once
#include <imgui.h>

#include <array>
#include <deque>
#include <vector>

namespace mien::editor {

/// Modifier bits, as in Chord::mods.
enum Mod : int { kShift = 1, kCtrl = 2, kAlt = 4 };

struct InputEvent {
  enum class Kind { move, button, wheel, key, text, leave };
  Kind kind = Kind::move;
  float x = 0, y = 0;   ///< move: window pixels; wheel: notches
  int code = 0;         ///< button 0..4, key code (GLFW's numbers), or the character
  bool down = false;
  bool repeat = false;  ///< a held key that fires again
  int mods = 0;

  static InputEvent move(float x, float y) { return {Kind::move, x, y}; }
  static InputEvent button(int button, bool down) { return {Kind::button, 0, 0, button, down}; }
  static InputEvent wheel(float x, float y) { return {Kind::wheel, x, y}; }
  static InputEvent key(int key, bool down, int mods = 0, bool repeat = false) { return {Kind::key, 0, 0, key, down, repeat, mods}; }
  static InputEvent text(unsigned character) { return {Kind::text, 0, 0, static_cast<int>(character)}; }
};

struct KeyPress {
  int key = 0;
  int mods = 0;
  bool repeat = false;
};

class InputQueue {
 public:
  void push(const InputEvent& event) { events_.push_back(event); }
  bool empty() const noexcept { return events_.empty(); }
  /// The window lost the keyboard: every key and button counts as released.
  void release_all();
  /// Moves the next changes into the frame about to begin. Returns the key presses among them, for shortcuts.
  std::vector<KeyPress> feed(ImGuiIO& io);

 private:
  std::deque<InputEvent> events_;
  std::array<bool, 512> keys_{};
  std::array<bool, 5> buttons_{};
  float x_ = -1e30f, y_ = -1e30f;
  int mods_ = 0;
};

/// Tells the drawing library which key numbers mean Tab, arrows and so on. Once for each context.
void name_keys(ImGuiIO& io);

}  // namespace mien::editor
