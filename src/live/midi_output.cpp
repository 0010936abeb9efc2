#include "live/midi_output.hpp"

#include <algorithm>

#include "live/devices.hpp"

namespace mien::live {

show::Result<NamedOutput> midi_output(MidiOutSystems& systems, const std::string& part) {
  struct Port { MidiOutSystem* system; std::string name; };
  std::vector<Port> ports;
  std::string names;
  for (const auto& system : systems)
    for (auto& name : system->ports()) {
      names += (names.empty() ? "" : ", ") + name;
      ports.push_back({system.get(), std::move(name)});
    }
  std::stable_partition(ports.begin(), ports.end(), [&](const Port& p) { return remembered_name(p.name) == part; });
  for (const Port& p : ports) {
    if (p.name.find(part) == std::string::npos) continue;
    if (auto output = p.system->open(p.name)) return NamedOutput{p.name, std::move(output)};
  }
  return show::Finding{show::Severity::error, "", "time code", "no MIDI output whose name contains '" + part + "' can be opened",
                       names.empty() ? "This machine has none: plug a device in, or load a MIDI system's virtual one." : "There are: " + names + "."};
}

bool has_port(MidiOutSystems& systems, const std::string& port) {
  return std::any_of(systems.begin(), systems.end(), [&](const auto& system) {
    const auto ports = system->ports();
    return std::find(ports.begin(), ports.end(), port) != ports.end();
  });
}

std::vector<std::string> midi_outputs(MidiOutSystems& systems) {
  std::vector<std::string> names;
  for (const auto& system : systems)
    for (const auto& port : system->ports())
      if (const std::string name = remembered_name(port); std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  return names;
}

}  // namespace mien::live
