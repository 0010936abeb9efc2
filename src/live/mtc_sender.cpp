#include "live/mtc_sender.hpp"

#include <time.h>

#include <algorithm>
#include <atomic>
#include <thread>

#include "threads/latest.hpp"
#include "threads/steady.hpp"

namespace mien::live {
namespace {

constexpr std::int64_t kLook_ns = 5'000'000;      // how often it looks where the show is

void sleep_until(std::int64_t steady_ns) noexcept {
  const timespec at{static_cast<time_t>(steady_ns / 1'000'000'000), static_cast<long>(steady_ns % 1'000'000'000)};
  clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &at, nullptr);
}

}  // namespace

struct MtcSender::Core {
  Core(std::unique_ptr<MidiOutput> s, const MtcOut& c) : sink(std::move(s)), code(c), thread([this] { run(); }) {}
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
      for (MtcBytes bytes = code.due(now); bytes.count > 0; bytes = code.due(now)) sink->send(bytes.byte.data(), static_cast<int>(bytes.count));
      sleep_until(std::min(code.next_ns(), now + kLook_ns));
    }
  }
  std::unique_ptr<MidiOutput> sink;
  MtcOut code;
  threads::Latest<ShowLine> lines;
  std::atomic<bool> quit{false};
  std::thread thread;
};

MtcSender::MtcSender(std::unique_ptr<MidiOutput> sink, const MtcOut& code) : core_(std::make_unique<Core>(std::move(sink), code)) {}
MtcSender::~MtcSender() = default;
void MtcSender::follow(const ShowLine& line) noexcept { core_->lines.write(line); }

}  // namespace mien::live
