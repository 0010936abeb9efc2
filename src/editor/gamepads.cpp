#include "editor/gamepads.hpp"

#include <GLFW/glfw3.h>

#include <algorithm>

#include "threads/steady.hpp"

namespace mien::editor {
namespace {

live::PadState state_of(const GLFWgamepadstate& from) {
  static_assert(live::kPadAxes == GLFW_GAMEPAD_AXIS_LAST + 1 && live::kPadButtons == GLFW_GAMEPAD_BUTTON_LAST + 1);
  live::PadState state;
  std::copy_n(from.axes, live::kPadAxes, state.axis.begin());
  for (std::size_t n = 0; n < live::kPadButtons; ++n) state.button[n] = from.buttons[n] == GLFW_PRESS;
  return state;
}

}  // namespace

int Gamepads::poll(live::Devices& devices) {
  if (!glfwGetCurrentContext()) return 0;
  const std::int64_t now_ns = threads::steady_ns();
  for (Known& known : known_) {
    const bool there = glfwJoystickIsGamepad(known.joystick) == GLFW_TRUE;
    if (known.there && !there) known.pad->gone(now_ns);
    known.there = there;
  }
  int count = 0;
  for (int j = GLFW_JOYSTICK_1; j <= GLFW_JOYSTICK_LAST; ++j) {
    GLFWgamepadstate state;
    if (!glfwJoystickIsGamepad(j) || !glfwGetGamepadState(j, &state)) continue;
    ++count;
    auto known = std::find_if(known_.begin(), known_.end(), [&](const Known& k) { return k.joystick == j; });
    if (known == known_.end()) {
      std::string name = glfwGetGamepadName(j);
      if (j != GLFW_JOYSTICK_1) name += " (" + std::to_string(j + 1) + ")";
      const int device = devices.number_of(name);
      if (device < 0) continue;
      known_.push_back({j, true, std::make_unique<live::Gamepad>(inlet_, device)});
      known = known_.end() - 1;
    }
    known->there = true;
    known->pad->see(state_of(state), now_ns);
  }
  return count;
}

}  // namespace mien::editor
