#include "live/mtc_sender.hpp"

#include <time.h>

#include <algorithm>
#include <atomic>
#include <mutex>
#include <thread>

#include "threads/latest.hpp"
#include "threads/steady.hpp"

namespace mien::live {
namespace {

constexpr std::int64_t kLook_ns = 5'000'000;            // how often it looks where the show is
constexpr std::int64_t kLookForPort_ns = 500'000'000;

void sleep_until(std::int64_t steady_ns) noexcept {
  const timespec at{static_cast<time_t>(steady_ns / 1'000'000'000), static_cast<long>(steady_ns % 1'000'000'000)};
  clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &at, nullptr);
}

}  // namespace

std::string to_text(const CodeSent& sent) {
  if (!sent.on) return "";
  return sent.there ? "time code goes to " + sent.port : sent.port + " is gone: time code goes on when it is back";
}

struct MtcSender::Core {
  Core(const SendCode& what, MidiOutSystems all, NamedOutput opened)
      : part(what.output), systems(std::move(all)), output(std::move(opened)), code(what.rate, what.zero), sent{true, true, output.port, 0, 0}, thread([this] { run(); }) {}
  ~Core() {
    quit = true;
    thread.join();
  }

  void run() {
    std::int64_t told_ns = 0, look_ns = threads::steady_ns() + kLookForPort_ns;
    while (!quit) {
      const ShowLine& line = lines.read();
      if (line.at_ns != told_ns) told_ns = line.at_ns, code.follow(line);
      for (MtcBytes bytes = code.due(threads::steady_ns()); bytes.count > 0; bytes = code.due(threads::steady_ns())) send(bytes);
      if (threads::steady_ns() >= look_ns) look(), look_ns = threads::steady_ns() + kLookForPort_ns;
      sleep_until(std::min(code.next_ns(), threads::steady_ns() + kLook_ns));
    }
  }

  void send(const MtcBytes& bytes) {
    if (!output.output) return;
    if (!output.output->send(bytes.byte.data(), static_cast<int>(bytes.count))) return lose();
    const std::lock_guard lock(mutex);
    ++sent.messages;
  }

  // An output without a machine behind it swallows what it is told, so the list of ports says whether it is there.
  void look() {
    if (output.output) {
      if (!has_port(systems, output.port)) lose();
      return;
    }
    auto found = midi_output(systems, part);
    if (!found) return;
    output = std::move(*found);
    code.begin_anew(threads::steady_ns());
    const std::lock_guard lock(mutex);
    sent.there = true, sent.port = output.port;
  }

  void lose() {
    output.output.reset();
    const std::lock_guard lock(mutex);
    sent.there = false, ++sent.times_gone;
  }

  const std::string part;
  MidiOutSystems systems;
  NamedOutput output;
  MtcOut code;
  threads::Latest<ShowLine> lines;
  mutable std::mutex mutex;  // for `sent`
  CodeSent sent;
  std::atomic<bool> quit{false};
  std::thread thread;  // last, so that it starts when all else is there
};

show::Result<std::unique_ptr<MtcSender>> MtcSender::open(const SendCode& what, MidiOutSystems systems) {
  auto output = midi_output(systems, what.output);
  if (!output) return output.problem();
  return std::unique_ptr<MtcSender>(new MtcSender(std::make_unique<Core>(what, std::move(systems), std::move(*output))));
}

MtcSender::MtcSender(std::unique_ptr<Core> core) : core_(std::move(core)) {}
MtcSender::~MtcSender() = default;
void MtcSender::follow(const ShowLine& line) noexcept { core_->lines.write(line); }

CodeSent MtcSender::status() const {
  const std::lock_guard lock(core_->mutex);
  return core_->sent;
}

}  // namespace mien::live
