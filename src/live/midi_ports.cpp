#include "live/midi_ports.hpp"

#include <rtmidi/RtMidi.h>

#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <string_view>
#include <thread>

#include "live/devices.hpp"
#include "live/midi_output.hpp"
#include "threads/steady.hpp"

namespace mien::live {
namespace {

// Which JACK server runs, of those that JACK would ask: the kernel's numbers of the sockets that it listens on; empty without one. Asking JACK without a server makes its library complain on the terminal,
// and a server that died is not reported: its clients read stale lists of ports, and whoever goes on sending waits forever for room. So ask only where a server listens, and the next one by a new client. A
// socket that nobody listens to any more is left in the folder, but not in the kernel's list; there, those of clients have the same name. In jackd 1 a server's
// name is a folder of the path, so that others can be told from it; sockets of another shape all count.
std::string jack_server() {
  const std::string_view listening = "00010000";  // __SO_ACCEPTCON
  const char* const asked = std::getenv("JACK_DEFAULT_SERVER");  // NOLINT(concurrency-mt-unsafe): nothing in this program changes its environment once it has threads
  const std::string name = asked && *asked ? asked : "default";
  std::string numbers;
  std::ifstream sockets("/proc/net/unix");
  for (std::string line; std::getline(sockets, line);) {
    std::istringstream words(line);
    std::string address, count, protocol, flags, type, state, number, path;
    words >> address >> count >> protocol >> flags >> type >> state >> number >> path;
    const bool jacks = path.find("/dev/shm/jack") != path.npos || path.find("/tmp/jack") != path.npos;
    const bool another = path.find("/jack-") != path.npos && path.find('/' + name + '/') == path.npos;
    if (flags == listening && jacks && !another) numbers += number + ' ';
  }
  return numbers;
}

bool alsa_runs() {
  std::error_code none;
  return std::filesystem::exists("/dev/snd/seq", none);
}

// Tells the server of one moment from that of another; empty where none runs.
std::string server(RtMidi::Api api) {
  if (api == RtMidi::UNIX_JACK) return jack_server();
  return alsa_runs() ? "the kernel's" : "";
}

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
  const auto device = server(api).empty() ? nullptr : make<Device>(api);
  if (!device) return;
  try {
    for (unsigned n = 0; n < device->getPortCount(); ++n) ports.push_back({device->getPortName(n), input, system});
  } catch (const RtMidiError&) {}
}

// Reads the names of ports, again and again; never opened, and kept from one time to the next, since each is a client of the server on JACK.
template <class Device>
class Probe {
 public:
  explicit Probe(RtMidi::Api api) : api_(api) {}
  std::vector<std::string> ports() {
    std::vector<std::string> names;
    if (const std::string now = server(api_); now != server_) {
      const bool another = !server_.empty() && !now.empty();
      device_.reset(), server_ = now;
      if (another) return names;  // none: what was open at the server that died is let go before it is found at this one, where its ports have the same names
    }
    if (!device_ && !server_.empty()) device_ = make<Device>(api_);
    if (!device_) return names;
    try {
      for (unsigned n = 0; n < device_->getPortCount(); ++n) names.push_back(device_->getPortName(n));
    } catch (const RtMidiError&) { names.clear(); }
    return names;
  }

 private:
  RtMidi::Api api_;
  std::string server_;
  std::unique_ptr<Device> device_;
};

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
  System(RtMidi::Api api, const char* name) : api_(api), name_(name), probe_(api) {}
  std::string name() const override { return name_; }
  std::vector<std::string> ports() override { return probe_.ports(); }
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
  Probe<RtMidiIn> probe_;
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
  explicit OutSystem(RtMidi::Api api) : api_(api), probe_(api) {}
  std::vector<std::string> ports() override { return probe_.ports(); }
  std::unique_ptr<MidiOutput> open(const std::string& port) override {
    auto out = make<RtMidiOut>(api_);
    if (!out) return nullptr;
    auto output = std::make_unique<Output>(std::move(out));
    if (!output->open(port)) return nullptr;
    return output;
  }

 private:
  RtMidi::Api api_;
  Probe<RtMidiOut> probe_;
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
