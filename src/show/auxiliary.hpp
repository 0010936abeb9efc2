// What stands beside the servos: lamps, relays, fans, and modules that are told a state over a few digital lines.
#pragma once
#include <string>
#include <variant>

namespace mien::show {

inline constexpr int kMaxAuxiliaries = 32;
inline constexpr int kMaxAuxiliariesPerBoard = 8;
inline constexpr int kMaxLinesPerBoard = 16;

/// On from the middle of its control's range up.
struct Switch {
  friend bool operator==(const Switch&, const Switch&) = default;
};

/// On for a share of the time: none at the control's minimum, always at its maximum.
struct Dimmer {
  friend bool operator==(const Dimmer&, const Dimmer&) = default;
};

/// Runs while a rail is hot, which the board sees to by itself, with no host needed; and, where it has a control, as a switch. Heat is the
/// rail's current, smoothed; where the board measures none, estimated from how many servos move.
struct Fan {
  std::string rail;        ///< empty: estimated
  double draw_a = 0.3;     ///< what one moving servo is taken to draw where the current is estimated
  double on_a = 2, off_a = 1;
  double smooth_s = 30;
  friend bool operator==(const Fan&, const Fan&) = default;
};

/// The number of a control's state, in binary. Without a strobe the number goes out in Gray code and walks from state to state, so that
/// one line changes at a time; with one, the lines are valid while the strobe's line is on.
struct Code {
  int lines = 1;      ///< 1..8, from Auxiliary::line up
  int strobe = -1;    ///< its line; -1: none
  double settle_ms = 1;  ///< how long a line must stand before the module may read it
  friend bool operator==(const Code&, const Code&) = default;
};

using AuxiliaryKind = std::variant<Switch, Dimmer, Fan, Code>;

struct Auxiliary {
  std::string name;
  std::string board;
  std::string control;  ///< what drives it; only a fan may have none
  int line = 0;         ///< digital line of the board, the lowest of a code's
  AuxiliaryKind kind;
  friend bool operator==(const Auxiliary&, const Auxiliary&) = default;
};

}  // namespace mien::show
