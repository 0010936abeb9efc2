// The gamepads of this machine, asked from the window's thread.
#pragma once
#include <memory>
#include <vector>

#include "live/devices.hpp"
#include "live/gamepad.hpp"

namespace mien::editor {

class Gamepads {
 public:
  explicit Gamepads(live::Inlet& inlet) noexcept : inlet_(inlet) {}
  /// Looks at all of them, and says how many there are. Devices give each a number by its name, so that maps can name it. Does nothing without a window.
  int poll(live::Devices& devices);

 private:
  struct Known { int joystick; bool there; std::unique_ptr<live::Gamepad> pad; };
  live::Inlet& inlet_;
  std::vector<Known> known_;
};

}  // namespace mien::editor
