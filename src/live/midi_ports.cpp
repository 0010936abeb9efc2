#include "live/midi_ports.hpp"

#include <rtmidi/RtMidi.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <string>
#include <thread>

#include "live/devices.hpp"
#include "live/midi_output.hpp"
#include "threads/steady.hpp"

namespace mien::live {
namespace {

// Asking JACK without a server makes its library complain on the terminal, and a server that died is not reported: its clients read stale lists of ports, and whoever goes on sending
// waits forever for room. So ask only where a server listens; a socket that nobody listens to any more is left in the folder, but not in the kernel's list.
bool jack_runs() {
  std::ifstream sockets("/proc/net/unix");
  for (std::string line; std::getline(sockets, line);)
    if (line.find("/dev/shm/jack") != std::string::npos || line.find("/tmp/jack") != std::string::npos) return true;
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

class Output : public MidiOutput {
 public:
  explicit Output(std::unique_ptr<RtMidiOut> out) : out_(std::move(out)) {}
  // On JACK the library frees its ring before the client is gone: the port is closed first, and two of any server's periods waited for.
  ~Output() override {
    try {
      out_->closePort();
    } catch (...) {}
    std::this_thread::sleep_for(std::chrono::milliseconds(100));
  }
  bool open(const std::string& port) {
    try {
      for (unsigned n = 0; n < out_->getPortCount(); ++n) {
        if (out_->getPortName(n) != port) continue;
        out_->openPort(n, "out");
        return out_->isPortOpen();
      }
    } catch (const RtMidiError&) {}
    return false;
  }
  bool send(const std::uint8_t* bytes, int count) override {
    try {
      out_->sendMessage(bytes, static_cast<std::size_t>(count));
      return true;
    } catch (const RtMidiError&) { return false; }
  }

 private:
  std::unique_ptr<RtMidiOut> out_;
};

class OutSystem : public MidiOutSystem {
 public:
  explicit OutSystem(RtMidi::Api api) : api_(api) {}
  std::vector<std::string> ports() override {
    std::vector<std::string> names;
    if (!runs(api_)) probe_.reset();
    else if (!probe_) probe_ = make<RtMidiOut>(api_);
    if (!probe_) return names;
    try {
      for (unsigned n = 0; n < probe_->getPortCount(); ++n) names.push_back(probe_->getPortName(n));
    } catch (const RtMidiError&) { names.clear(); }
    if (names.empty() && api_ == RtMidi::UNIX_JACK) probe_.reset();  // as above; it was never open, so that it can go
    return names;
  }
  std::unique_ptr<MidiOutput> open(const std::string& port) override {
    auto out = make<RtMidiOut>(api_);
    if (!out) return nullptr;
    auto output = std::make_unique<Output>(std::move(out));
    if (!output->open(port)) return nullptr;
    return output;
  }

 private:
  RtMidi::Api api_;
  std::unique_ptr<RtMidiOut> probe_;  // never opened, and kept: on JACK each is a client of the server
};

}  // namespace

std::vector<std::unique_ptr<MidiOutSystem>> midi_out_systems() {
  std::vector<std::unique_ptr<MidiOutSystem>> systems;
  systems.push_back(std::make_unique<OutSystem>(RtMidi::LINUX_ALSA));
  systems.push_back(std::make_unique<OutSystem>(RtMidi::UNIX_JACK));
  return systems;
}

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
