// The MIDI devices of this machine.
#pragma once
#include <string>
#include <vector>

namespace mien::live {

struct MidiPort {
  std::string name;
  bool input = false;  ///< false: an output
  std::string system;  ///< "ALSA" or "JACK"
};

/// Empty where there is no device or no MIDI system; never an error.
std::vector<MidiPort> midi_ports();

}  // namespace mien::live
