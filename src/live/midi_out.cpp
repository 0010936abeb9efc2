#include "live/midi_out.hpp"

#include <rtmidi/RtMidi.h>
#include <time.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <thread>

#include "live/midi_ports.hpp"
#include "threads/latest.hpp"
#include "threads/steady.hpp"

namespace mien::live {
namespace {

constexpr std::int64_t kLook_ns = 5'000'000;      // how often it looks where the show is
constexpr auto kLastBytes = std::chrono::milliseconds(50);  // in which a server takes what was sent last

void be_quiet(RtMidiError::Type, const std::string&, void*) {}

class Output final : public MidiSink {
 public:
  explicit Output(std::unique_ptr<RtMidiOut> out) : out_(std::move(out)) {}
  // RtMidi frees its ring before it leaves a JACK server, which may still read it: the port is closed first, and the server given time.
  ~Output() override {
    try {
      out_->closePort();
    } catch (...) {}
    std::this_thread::sleep_for(kLastBytes);
  }
  void send(const std::uint8_t* bytes, std::size_t count) noexcept override {
    try {
      out_->sendMessage(bytes, count);
    } catch (...) {}  // the port is gone; whoever followed freewheels
  }

 private:
  std::unique_ptr<RtMidiOut> out_;
};

std::unique_ptr<MidiSink> open(const MidiPort& port) {
  try {
    auto out = std::make_unique<RtMidiOut>(port.system == "JACK" ? RtMidi::UNIX_JACK : RtMidi::LINUX_ALSA, "Mien");
    out->setErrorCallback(be_quiet);
    for (unsigned n = 0; n < out->getPortCount(); ++n) {
      if (out->getPortName(n) != port.name) continue;
      out->openPort(n, "time code");
      return std::make_unique<Output>(std::move(out));
    }
  } catch (const RtMidiError&) {}
  return nullptr;
}

void sleep_until(std::int64_t steady_ns) noexcept {
  const timespec at{static_cast<time_t>(steady_ns / 1'000'000'000), static_cast<long>(steady_ns % 1'000'000'000)};
  clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &at, nullptr);
}

}  // namespace

show::Result<std::unique_ptr<MidiSink>> midi_output(const std::string& part) {
  std::string names;
  for (const auto& port : midi_ports()) {
    if (port.input) continue;
    names += (names.empty() ? "" : ", ") + port.name;
    if (port.name.find(part) == port.name.npos) continue;
    if (auto sink = open(port)) return sink;
  }
  return show::Finding{show::Severity::error, "", "time code", "no MIDI output whose name contains '" + part + "' can be opened",
                       names.empty() ? "This machine has none: plug a device in, or load a MIDI system's virtual one." : "There are: " + names + "."};
}

struct MtcSender::Core {
  Core(std::unique_ptr<MidiSink> s, const MtcOut& c) : sink(std::move(s)), code(c), thread([this] { run(); }) {}
  ~Core() {
    quit = true;
    thread.join();
  }
  void run() {
    std::int64_t told_ns = 0;
    while (!quit) {
      const ShowLine& line = lines.read();
      if (line.at_ns != told_ns) told_ns = line.at_ns, code.follow(line);
      const std::int64_t now = threads::steady_ns();
      for (MtcBytes bytes = code.due(now); bytes.count > 0; bytes = code.due(now)) sink->send(bytes.byte.data(), bytes.count);
      sleep_until(std::min(code.next_ns(), now + kLook_ns));
    }
  }
  std::unique_ptr<MidiSink> sink;
  MtcOut code;
  threads::Latest<ShowLine> lines;
  std::atomic<bool> quit{false};
  std::thread thread;
};

MtcSender::MtcSender(std::unique_ptr<MidiSink> sink, const MtcOut& code) : core_(std::make_unique<Core>(std::move(sink), code)) {}
MtcSender::~MtcSender() = default;
void MtcSender::follow(const ShowLine& line) noexcept { core_->lines.write(line); }

}  // namespace mien::live
