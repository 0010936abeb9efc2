// The wiring sheet: what a maker solders by. One HTML file with nothing outside it, made to be printed in black and white.
#pragma once
#include <string>

#include "show/rig.hpp"

namespace mien::app {

/// A section for each board: its rails with what feeds and fuses them, and a row for each of its outputs, spare ones included. Currents are
/// the worst case, every servo stalled (data-sheet figures, motion/servo.hpp); a rail's verdict holds that to 80 % of its rating. Names are
/// escaped. Precondition: validate() found no error.
std::string wiring_sheet(const show::Rig& rig);

}  // namespace mien::app
