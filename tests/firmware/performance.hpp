// A show, performed on emulated boards in a chain by the program's own side of the link, and what was measured on the pins.
#pragma once
#include <string>
#include <vector>

#include "firmware/bench.hpp"
#include "perform/plan.hpp"

namespace mien::firmware {

/// A pulse that an actuator got, and what it should have been.
struct Measured {
  int actuator = 0;
  double rise_us = 0, width_us = 0;  ///< as Pulse
  double error_us = 0;      ///< against the setpoint of its latch time
  double off_grid_us = 0;   ///< start of the pulse, against the shared clock's multiple of the period
};

struct Performance {
  int boards = 0;
  std::vector<Measured> pulses;
  double began_us = 0;  ///< when the show's time 0 latched
  double worst_error_us = 0;
  double skew_us = 0;        ///< most by which pulses of two boards that belong together started apart
  double jitter_p99_us = 0;  ///< of all pulses' starts about their own board's mean start
  double hop_us = 0;         ///< median, from board to board
  unsigned late = 0;         ///< frames that the boards counted as late
};

/// The first `seconds` of the show. The host sends each frame up to `jitter_us` later than it means to; the boards' crystals are up to 40 ppm
/// off and they are switched on one after the other. Throws std::runtime_error with what went wrong.
Performance perform(const perform::Plan& plan, double seconds, double jitter_us);

}  // namespace mien::firmware
