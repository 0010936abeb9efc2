#include "live/devices.hpp"

#include <algorithm>
#include <cctype>
#include <map>

#include "threads/steady.hpp"

namespace mien::live {

void MidiEar::hear(const std::uint8_t* bytes, std::size_t count, std::int64_t at_ns) noexcept {
  for (std::size_t n = 0; n < count; ++n) {
    const auto message = parser_.feed(bytes[n]);
    if (!message) continue;
    messages_.fetch_add(1, std::memory_order_relaxed);
    if (message->kind == MidiMessage::Kind::sensing) continue;  // says only that the device is there
    inlet_.push({.at_ns = at_ns, .device = device_, .kind = Touch::Kind::midi, .midi = *message});
  }
}

std::string remembered_name(const std::string& port) {
  const auto digits = [&](std::size_t from) {
    while (from > 0 && std::isdigit(static_cast<unsigned char>(port[from - 1]))) --from;
    return from;
  };
  const std::size_t colon = digits(port.size());
  if (colon == port.size() || colon == 0 || port[colon - 1] != ':') return port;
  const std::size_t client = digits(colon - 1);
  if (client == colon - 1 || client < 2 || port[client - 1] != ' ') return port;
  return port.substr(0, client - 1);
}

struct Devices::Known {
  Known(Inlet& inlet, int number, std::string named) : name(std::move(named)), ear(inlet, number) {}
  std::string name, system, port;
  MidiEar ear;
  std::unique_ptr<MidiConnection> connection;
};

Devices::Devices(Inlet& inlet, std::vector<std::unique_ptr<MidiSystem>> systems) : inlet_(inlet), systems_(std::move(systems)) {}
Devices::~Devices() = default;

void Devices::only(std::string part) { only_ = std::move(part); }

int Devices::number_of(const std::string& name) {
  for (std::size_t n = 0; n < known_.size(); ++n)
    if (known_[n]->name == name) return static_cast<int>(n);
  if (known_.size() == kMostDevices) return -1;
  known_.push_back(std::make_unique<Known>(inlet_, static_cast<int>(known_.size()), name));
  return static_cast<int>(known_.size()) - 1;
}

bool Devices::poll() {
  const std::size_t before = known_.size();
  for (const auto& system : systems_) {
    const auto ports = system->ports();
    for (std::size_t n = 0; n < known_.size(); ++n) {
      Known& known = *known_[n];
      if (!known.connection || known.system != system->name() || std::find(ports.begin(), ports.end(), known.port) != ports.end()) continue;
      known.connection.reset();  // first, so that its thread pushes no more
      inlet_.push({.at_ns = threads::steady_ns(), .device = static_cast<std::uint8_t>(n), .kind = Touch::Kind::gone});
    }
    std::map<std::string, int> times;
    for (const auto& port : ports) {
      std::string name = remembered_name(port);
      if (const int time = ++times[name]; time > 1) name += " (" + std::to_string(time) + ")";
      if (!only_.empty() && name.find(only_) == name.npos) continue;
      const int number = number_of(name);
      if (number < 0) continue;
      Known& known = *known_[static_cast<std::size_t>(number)];
      if (known.connection) continue;
      known.system = system->name(), known.port = port;
      known.connection = system->open(port, known.ear);
    }
  }
  return known_.size() != before;
}

std::vector<Devices::Device> Devices::seen() const {
  std::vector<Device> devices;
  for (const auto& known : known_) devices.push_back({known->name, known->system, bool(known->connection), known->ear.messages()});
  return devices;
}

std::vector<std::string> Devices::names() const {
  std::vector<std::string> names;
  for (const auto& known : known_) names.push_back(known->name);
  return names;
}

}  // namespace mien::live
