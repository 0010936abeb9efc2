#include "live/feedback_out.hpp"

#include <algorithm>
#include <atomic>
#include <chrono>

#include "live/devices.hpp"
#include "threads/steady.hpp"

namespace mien::live {
namespace {

constexpr std::int64_t kLookEvery_ns = 1'000'000'000;
constexpr auto kPause = std::chrono::milliseconds(10);

std::string client_of(const std::string& port) { return port.substr(0, port.find(':')); }

}  // namespace

int output_of(const std::string& device, const std::vector<std::string>& ports) {
  for (std::size_t n = 0; n < ports.size(); ++n)
    if (remembered_name(ports[n]) == device) return static_cast<int>(n);
  for (std::size_t n = 0; n < ports.size(); ++n)
    if (ports[n].find(':') != std::string::npos && client_of(ports[n]) == client_of(device)) return static_cast<int>(n);
  return -1;
}

struct FeedbackOut::Core {
  explicit Core(std::vector<std::unique_ptr<MidiOutSystem>> s) : systems(std::move(s)), thread([this] { run(); }) {}
  ~Core() {
    quit = true;
    thread.join();
  }

  struct Opened { std::string device; std::unique_ptr<MidiOutput> output; };

  void run() {
    for (std::int64_t look_ns = 0; !quit; std::this_thread::sleep_for(kPause)) {
      const std::int64_t now_ns = threads::steady_ns();
      std::vector<FeedbackMessage> messages;
      std::vector<std::string> wanted;
      {
        const std::lock_guard lock(mutex);
        if (program && now_ns >= look_ns) wanted = devices;
        if (fresh) messages = feedback.tell(control, running, bank, now_ns, lit);
        fresh = false;
      }
      if (now_ns >= look_ns) look(wanted), look_ns = now_ns + kLookEvery_ns;
      for (const auto& message : messages) send(message);
    }
  }

  // Outputs that came are opened, those that went are closed; what a new one should show is told again.
  void look(const std::vector<std::string>& wanted) {
    std::vector<std::vector<std::string>> ports;
    for (const auto& system : systems) ports.push_back(system->ports());
    bool news = false;
    opened.resize(wanted.size());
    for (std::size_t n = 0; n < wanted.size(); ++n) {
      if (opened[n].device != wanted[n]) opened[n] = {wanted[n], nullptr};
      std::size_t s = 0;
      int port = -1;
      for (; s < ports.size() && (port = output_of(wanted[n], ports[s])) < 0;) ++s;
      if (port < 0) opened[n].output.reset();
      if (port < 0 || opened[n].output) continue;
      opened[n].output = systems[s]->open(ports[s][static_cast<std::size_t>(port)]);
      news |= opened[n].output != nullptr;
    }
    if (!news) return;
    const std::lock_guard lock(mutex);
    feedback.forget();
  }

  void send(const FeedbackMessage& message) {
    for (std::size_t n = 0; n < opened.size(); ++n) {
      if (!opened[n].output || (message.device >= 0 && message.device != static_cast<int>(n))) continue;
      // Both halves of a 14-bit controller are messages of their own.
      for (int at = 0; at < message.count; at += 3)
        if (!opened[n].output->send(message.bytes.data() + at, std::min(3, message.count - at))) {
          opened[n].output.reset();
          break;
        }
    }
  }

  std::vector<std::unique_ptr<MidiOutSystem>> systems;
  std::vector<Opened> opened;  // by device; the thread's own
  std::mutex mutex;            // for the rest
  HandProgramPtr program;
  std::vector<std::string> devices;
  Feedback feedback{nullptr};
  std::vector<double> control;
  std::vector<char> running, lit;
  int bank = 1;
  std::uint64_t heard = 0;
  bool fresh = false;
  std::atomic<bool> quit{false};
  std::thread thread;  // last, so that it starts when all else is there
};

FeedbackOut::FeedbackOut(std::vector<std::unique_ptr<MidiOutSystem>> systems) : core_(std::make_unique<Core>(std::move(systems))) {}
FeedbackOut::~FeedbackOut() = default;

void FeedbackOut::set(HandProgramPtr program, std::vector<std::string> devices) {
  const std::lock_guard lock(core_->mutex);
  core_->devices = std::move(devices);
  // The same lines: what was told stays told, so that an edit of the show sends nothing.
  const auto same = [](const HandProgram& a, const HandProgram& b) {
    return a.knob_line == b.knob_line && a.trigger_line == b.trigger_line &&
           std::equal(a.knobs.begin(), a.knobs.end(), b.knobs.begin(), b.knobs.end(), [](const auto& x, const auto& y) { return x.ear.kind == y.ear.kind && x.ear.number == y.ear.number && x.ear.channel == y.ear.channel && x.ear.device == y.ear.device && x.control == y.control && x.low == y.low && x.high == y.high; });
  };
  if (!(program && core_->program && same(*program, *core_->program))) core_->feedback = Feedback(program);
  core_->program = std::move(program);
}

void FeedbackOut::now(std::span<const double> control, std::span<const char> running, std::span<const char> lit, int bank, std::uint64_t heard, const Touch& last, const Touch& before) {
  const std::int64_t now_ns = threads::steady_ns();
  const std::lock_guard lock(core_->mutex);
  if (heard != core_->heard) {
    if (heard > core_->heard + 1) core_->feedback.touched(before, now_ns);
    core_->feedback.touched(last, now_ns);
    core_->heard = heard;
  }
  core_->control.assign(control.begin(), control.end());
  core_->running.assign(running.begin(), running.end());
  core_->lit.assign(lit.begin(), lit.end());
  core_->bank = bank, core_->fresh = true;
}

}  // namespace mien::live
