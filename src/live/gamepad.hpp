// A gamepad as a source of touches, and what it moves where nobody said anything else. Knows no library: whoever can ask a gamepad gives its state.
//
// Numbers are those of the SDL game controller mappings that GLFW 3.3 uses (glfw.org, "Gamepad input"): axes 0 and 1 the left stick, 2 and 3 the right one, right and down
// positive; 4 and 5 the triggers, -1 let go; buttons from 0, the lower one of the four, to 14.
#pragma once
#include <array>
#include <cstdint>
#include <vector>

#include "live/hand_map.hpp"
#include "live/touch.hpp"

namespace mien::live {

inline constexpr std::size_t kPadAxes = 6, kPadButtons = 15;

struct PadState {
  std::array<float, kPadAxes> axis{0, 0, 0, 0, -1, -1};
  std::array<bool, kPadButtons> button{};
  friend bool operator==(const PadState&, const PadState&) = default;
};

/// One gamepad. All calls are for one thread, the window's; the inlet outlives it.
class Gamepad {
 public:
  Gamepad(Inlet& inlet, int device) noexcept : inlet_(inlet), device_(static_cast<std::uint8_t>(device)) {}
  /// Says what changed since it was seen last. A stick that trembles by less than half a per cent of its way says nothing, but where it comes to an end or its middle.
  void see(const PadState& state, std::int64_t at_ns) noexcept;
  /// It was unplugged: what it held is let go.
  void gone(std::int64_t at_ns) noexcept;

 private:
  Inlet& inlet_;
  const std::uint8_t device_;
  PadState told_;
};

/// Sticks lead gaze and head, triggers lids and jaw, as far as the rig has them; found by roles. Right on a stick is right for whoever faces the head. They all spring
/// back, so that a gamepad that lies about does nothing.
std::vector<Knob> pad_knobs(const show::Rig& rig);
/// The map with these knobs, unless it has a knob or trigger of any gamepad already.
HandMap with_pad(HandMap map, const show::Rig& rig);

}  // namespace mien::live
