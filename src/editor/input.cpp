#include "editor/input.hpp"

#include <GLFW/glfw3.h>

namespace mien::editor {

void InputQueue::release_all() {
  for (int key = 0; key < static_cast<int>(keys_.size()); ++key)
    if (keys_[static_cast<std::size_t>(key)]) push(InputEvent::key(key, false));
  for (int button = 0; button < static_cast<int>(buttons_.size()); ++button)
    if (buttons_[static_cast<std::size_t>(button)]) push(InputEvent::button(button, false));
}

std::vector<KeyPress> InputQueue::feed(ImGuiIO& io) {
  using Kind = InputEvent::Kind;
  std::vector<KeyPress> presses;
  bool moved = false, rolled = false, clicked = false, keyed = false;
  for (; !events_.empty(); events_.pop_front()) {
    const InputEvent& e = events_.front();
    // A press meets a pointer that already rested there for a frame, and nothing shares its frame with another press.
    if (e.kind == Kind::move && (clicked || rolled)) break;
    if (e.kind == Kind::wheel && clicked) break;
    if (e.kind == Kind::button && (moved || rolled || clicked || keyed)) break;
    if (e.kind == Kind::key && (clicked || keyed)) break;
    switch (e.kind) {
      case Kind::move: x_ = e.x, y_ = e.y, moved = true; break;
      case Kind::leave: x_ = y_ = -1e30f; break;
      case Kind::wheel: io.MouseWheelH += e.x, io.MouseWheel += e.y, rolled = true; break;
      case Kind::button:
        if (e.code >= 0 && e.code < static_cast<int>(buttons_.size())) buttons_[static_cast<std::size_t>(e.code)] = e.down;
        clicked = true;
        break;
      case Kind::key:
        if (e.code >= 0 && e.code < static_cast<int>(keys_.size())) keys_[static_cast<std::size_t>(e.code)] = e.down;
        mods_ = e.mods;
        if (e.down) presses.push_back({e.code, e.mods, e.repeat});
        keyed = true;
        break;
      case Kind::text: io.AddInputCharacter(static_cast<unsigned>(e.code)); break;
    }
  }
  io.MousePos = {x_, y_};
  for (std::size_t b = 0; b < buttons_.size(); ++b) io.MouseDown[b] = buttons_[b];
  for (std::size_t k = 0; k < keys_.size(); ++k) io.KeysDown[k] = keys_[k];
  io.KeyShift = mods_ & kShift, io.KeyCtrl = mods_ & kCtrl, io.KeyAlt = mods_ & kAlt, io.KeySuper = false;
  return presses;
}

void name_keys(ImGuiIO& io) {
  io.KeyMap[ImGuiKey_Tab] = GLFW_KEY_TAB;
  io.KeyMap[ImGuiKey_LeftArrow] = GLFW_KEY_LEFT, io.KeyMap[ImGuiKey_RightArrow] = GLFW_KEY_RIGHT;
  io.KeyMap[ImGuiKey_UpArrow] = GLFW_KEY_UP, io.KeyMap[ImGuiKey_DownArrow] = GLFW_KEY_DOWN;
  io.KeyMap[ImGuiKey_PageUp] = GLFW_KEY_PAGE_UP, io.KeyMap[ImGuiKey_PageDown] = GLFW_KEY_PAGE_DOWN;
  io.KeyMap[ImGuiKey_Home] = GLFW_KEY_HOME, io.KeyMap[ImGuiKey_End] = GLFW_KEY_END;
  io.KeyMap[ImGuiKey_Insert] = GLFW_KEY_INSERT, io.KeyMap[ImGuiKey_Delete] = GLFW_KEY_DELETE;
  io.KeyMap[ImGuiKey_Backspace] = GLFW_KEY_BACKSPACE, io.KeyMap[ImGuiKey_Space] = GLFW_KEY_SPACE;
  io.KeyMap[ImGuiKey_Enter] = GLFW_KEY_ENTER, io.KeyMap[ImGuiKey_Escape] = GLFW_KEY_ESCAPE;
  io.KeyMap[ImGuiKey_KeyPadEnter] = GLFW_KEY_KP_ENTER;
  io.KeyMap[ImGuiKey_A] = GLFW_KEY_A, io.KeyMap[ImGuiKey_C] = GLFW_KEY_C, io.KeyMap[ImGuiKey_V] = GLFW_KEY_V;
  io.KeyMap[ImGuiKey_X] = GLFW_KEY_X, io.KeyMap[ImGuiKey_Y] = GLFW_KEY_Y, io.KeyMap[ImGuiKey_Z] = GLFW_KEY_Z;
}

}  // namespace mien::editor
