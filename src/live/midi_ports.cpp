#include "live/midi_ports.hpp"

#include <rtmidi/RtMidi.h>

#include <filesystem>

namespace mien::live {
namespace {

// Asking JACK without a server makes its library complain on the terminal, so ask only where a server has left its mark.
bool jack_runs() {
  std::error_code none;
  for (const auto& entry : std::filesystem::directory_iterator("/dev/shm", none))
    if (entry.path().filename().string().starts_with("jack")) return true;
  return false;
}

void be_quiet(RtMidiError::Type, const std::string&, void*) {}

template <class Device>
void collect(std::vector<MidiPort>& ports, RtMidi::Api api, const char* system, bool input) {
  try {
    Device device(api, "Mien");
    device.setErrorCallback(be_quiet);
    for (unsigned n = 0; n < device.getPortCount(); ++n) ports.push_back({device.getPortName(n), input, system});
  } catch (const RtMidiError&) {
    // No sequencer, no server: no ports.
  }
}

}  // namespace

std::vector<MidiPort> midi_ports() {
  std::vector<MidiPort> ports;
  std::error_code none;
  if (std::filesystem::exists("/dev/snd/seq", none)) {
    collect<RtMidiIn>(ports, RtMidi::LINUX_ALSA, "ALSA", true);
    collect<RtMidiOut>(ports, RtMidi::LINUX_ALSA, "ALSA", false);
  }
  if (jack_runs()) {
    collect<RtMidiIn>(ports, RtMidi::UNIX_JACK, "JACK", true);
    collect<RtMidiOut>(ports, RtMidi::UNIX_JACK, "JACK", false);
  }
  return ports;
}

}  // namespace mien::live
