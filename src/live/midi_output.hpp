// MIDI devices that can be told something: time code, and where the controls of their knobs stand.
#pragma once
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "show/finding.hpp"

namespace mien::live {

/// An open output; closing it is destroying it.
class MidiOutput {
 public:
  virtual ~MidiOutput() = default;
  /// One whole message; from one thread. False where the port is gone.
  virtual bool send(const std::uint8_t* bytes, int count) = 0;
};

/// One of a machine's MIDI systems, as far as it can be told something; tests have their own.
class MidiOutSystem {
 public:
  virtual ~MidiOutSystem() = default;
  virtual std::vector<std::string> ports() = 0;
  /// Null where the port is gone or refuses.
  virtual std::unique_ptr<MidiOutput> open(const std::string& port) = 0;
};

/// ALSA and JACK, through RtMidi.
using MidiOutSystems = std::vector<std::unique_ptr<MidiOutSystem>>;
MidiOutSystems midi_out_systems();

/// An output that was opened, and its name at that time.
struct NamedOutput {
  std::string port;
  std::unique_ptr<MidiOutput> output;
};

/// The output whose remembered name (live/devices.hpp) is `part`, else the first whose name contains it, and that opens. The finding names those that there are.
show::Result<NamedOutput> midi_output(MidiOutSystems& systems, const std::string& part);
/// Whether an output of this name is there now.
bool has_port(MidiOutSystems& systems, const std::string& port);
/// All outputs, by the names by which they are remembered, each once.
std::vector<std::string> midi_outputs(MidiOutSystems& systems);

}  // namespace mien::live
