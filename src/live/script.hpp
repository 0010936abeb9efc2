// Touches from a file: what tests and rehearsals play a head with where nobody is at a device.
#pragma once
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "live/touch.hpp"
#include "show/finding.hpp"

namespace mien::live {

/// A line each; blank lines and what follows # are left out. Seconds since the performance began, then what is touched:
///   0.5 B0 07 40      bytes of MIDI, hexadecimal, in any portions (running status lasts from line to line)
///   1.25 axis 0 -0.5  an axis of a gamepad, -1 to 1
///   1.5 button 3 1    a button of a gamepad, 0 or 1
///   2 osc /desk/fader/1 0.25   a message to one of the map's addresses, or to /mien/control/NAME, with a number
///   2.5 slot 17 0.5   a slot of a sACN universe, 1 to 512, and its level, 0 to 1
/// Times may not fall. at_ns of a touch counts from the beginning of the performance; all are of `device`.
/// `addresses`: as compile() takes them.
show::Result<std::vector<Touch>> parse_script(std::string_view text, const std::string& file, int device = 0, std::span<const std::string> addresses = {});

}  // namespace mien::live
