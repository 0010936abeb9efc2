#include "live/midi_ports.hpp"

#include <rtmidi/RtMidi.h>

#include <filesystem>

#include "live/devices.hpp"
#include "threads/steady.hpp"

namespace mien::live {
namespace {

// Asking JACK without a server makes its library complain on the terminal, so ask only where a server has left its mark.
bool jack_runs() {
  std::error_code none;
  for (const auto& entry : std::filesystem::directory_iterator("/dev/shm", none))
    if (entry.path().filename().string().starts_with("jack")) return true;
  return false;
}

bool alsa_runs() {
  std::error_code none;
  return std::filesystem::exists("/dev/snd/seq", none);
}

bool runs(RtMidi::Api api) { return api == RtMidi::UNIX_JACK ? jack_runs() : alsa_runs(); }

void be_quiet(RtMidiError::Type, const std::string&, void*) {}

template <class Device>
std::unique_ptr<Device> make(RtMidi::Api api) {
  try {
    auto device = std::make_unique<Device>(api, "Mien");
    device->setErrorCallback(be_quiet);
    return device;
  } catch (const RtMidiError&) { return nullptr; }  // no sequencer, no server
}

template <class Device>
void collect(std::vector<MidiPort>& ports, RtMidi::Api api, const char* system, bool input) {
  const auto device = runs(api) ? make<Device>(api) : nullptr;
  if (!device) return;
  try {
    for (unsigned n = 0; n < device->getPortCount(); ++n) ports.push_back({device->getPortName(n), input, system});
  } catch (const RtMidiError&) {}
}

class Connection : public MidiConnection {
 public:
  Connection(std::unique_ptr<RtMidiIn> in, MidiEar& ear) : in_(std::move(in)), ear_(ear) {}
  bool open(const std::string& port) {
    try {
      in_->ignoreTypes(false, false, true);  // time code comes as exclusive messages and quarter frames; active sensing says nothing
      for (unsigned n = 0; n < in_->getPortCount(); ++n) {
        if (in_->getPortName(n) != port) continue;
        in_->setCallback(&Connection::hear, this);
        in_->openPort(n, "in");
        return in_->isPortOpen();
      }
    } catch (const RtMidiError&) {}
    return false;
  }
  ~Connection() override {
    try {
      in_->closePort();
      in_->cancelCallback();
    } catch (...) {}
  }

 private:
  // The library's own time stamps are deltas that drift by milliseconds, so the stamp is taken here.
  static void hear(double, std::vector<unsigned char>* bytes, void* self) {
    static_cast<Connection*>(self)->ear_.hear(bytes->data(), bytes->size(), threads::steady_ns());
  }
  std::unique_ptr<RtMidiIn> in_;
  MidiEar& ear_;
};

class System : public MidiSystem {
 public:
  System(RtMidi::Api api, const char* name) : api_(api), name_(name) {}
  std::string name() const override { return name_; }
  std::vector<std::string> ports() override {
    std::vector<std::string> names;
    if (!runs(api_)) probe_.reset();
    else if (!probe_) probe_ = make<RtMidiIn>(api_);
    if (!probe_) return names;
    try {
      for (unsigned n = 0; n < probe_->getPortCount(); ++n) names.push_back(probe_->getPortName(n));
    } catch (const RtMidiError&) { names.clear(); }
    // A server that died is not reported, its port count just stays 0: ask the next one, if there is one, next time.
    if (names.empty() && api_ == RtMidi::UNIX_JACK) probe_.reset();
    return names;
  }
  std::unique_ptr<MidiConnection> open(const std::string& port, MidiEar& ear) override {
    auto in = make<RtMidiIn>(api_);
    if (!in) return nullptr;
    auto connection = std::make_unique<Connection>(std::move(in), ear);
    if (!connection->open(port)) return nullptr;
    return connection;
  }

 private:
  RtMidi::Api api_;
  const char* name_;
  std::unique_ptr<RtMidiIn> probe_;  // kept: on JACK each is a client of the server
};

}  // namespace

std::vector<MidiPort> midi_ports() {
  std::vector<MidiPort> ports;
  collect<RtMidiIn>(ports, RtMidi::LINUX_ALSA, "ALSA", true);
  collect<RtMidiOut>(ports, RtMidi::LINUX_ALSA, "ALSA", false);
  collect<RtMidiIn>(ports, RtMidi::UNIX_JACK, "JACK", true);
  collect<RtMidiOut>(ports, RtMidi::UNIX_JACK, "JACK", false);
  return ports;
}

std::vector<std::unique_ptr<MidiSystem>> midi_systems() {
  std::vector<std::unique_ptr<MidiSystem>> systems;
  systems.push_back(std::make_unique<System>(RtMidi::LINUX_ALSA, "ALSA"));
  systems.push_back(std::make_unique<System>(RtMidi::UNIX_JACK, "JACK"));
  return systems;
}

}  // namespace mien::live
