// mien ports: what this machine can be connected to.
#include <cstdio>

#include "app/commands.hpp"
#include "app/text.hpp"
#include "link/session.hpp"
#include "live/midi_ports.hpp"
#include "sound/player.hpp"

namespace mien::app {
namespace {

void print_ports(const std::vector<link::PortInfo>& serial, const std::vector<live::MidiPort>& midi, const std::vector<std::string>& audio) {
  std::printf("Serial\n");
  for (const auto& p : serial) std::printf("  %s  %s\n", p.path.c_str(), p.description.c_str());
  if (serial.empty()) std::printf("  none found; plug a board in, or use --port sim: or --port tcp:HOST:PORT\n");
  std::printf("MIDI\n");
  for (const auto& p : midi) std::printf("  %s  %s, %s\n", p.name.c_str(), p.input ? "in" : "out", p.system.c_str());
  if (midi.empty()) std::printf("  none found; plug a controller in\n");
  std::printf("Audio\n");
  for (const auto& name : audio) std::printf("  %s\n", name.c_str());
  if (audio.empty()) std::printf("  none found; shows perform silently\n");
}

void print_ports_json(const std::vector<link::PortInfo>& serial, const std::vector<live::MidiPort>& midi, const std::vector<std::string>& audio) {
  Json json;
  json.open_object().open_array("serial");
  for (const auto& p : serial) json.open_object().member("path", p.path).member("description", p.description).close();
  json.close().open_array("midi");
  for (const auto& p : midi) json.open_object().member("name", p.name).member("input", p.input).member("system", p.system).close();
  json.close().open_array("audio");
  for (const auto& name : audio) json.open_object().member("name", name).close();
  std::printf("%s\n", json.close().close().text().c_str());
}

}  // namespace

int run_ports(const PortsWords& words) {
  (words.json ? print_ports_json : print_ports)(link::serial_ports(), live::midi_ports(), sound::output_devices());
  return kFine;
}

}  // namespace mien::app
