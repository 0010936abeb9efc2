#include "link/desk.hpp"

#include <sys/socket.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>

namespace mien::link {
namespace {

constexpr std::int64_t kStep_ns = 1'000'000;
constexpr std::int64_t kLongestCatchUp_ns = 20'000'000'000;  ///< beyond this, as after a suspend, no watchdog has anything left to do
constexpr std::size_t kMaxAnswers = 65'536;

board::About about(const DeskBoard& what) {
  board::About about;
  about.identity = 0x4D49'454E'0000'0000u + static_cast<unsigned>(what.address);  // "MIEN" and the address
  about.firmware = "simulated";
  about.outputs = static_cast<std::uint8_t>(std::clamp(what.outputs, 0, wire::kMaxOutputs));
  about.address = static_cast<std::uint8_t>(what.address);
  return about;
}

void collect(void* context, const std::uint8_t* bytes, std::size_t size) {
  auto& answers = *static_cast<std::vector<std::uint8_t>*>(context);
  if (answers.size() + size <= kMaxAnswers) answers.insert(answers.end(), bytes, bytes + size);
}

}  // namespace

Desk::Place::Place(const DeskBoard& what, const board::Port& port) : board(about(what), port) {}

Desk::Desk(const std::vector<DeskBoard>& boards, std::int64_t now_ns, std::ostream* log)
    : log_(log), born_ns_(now_ns), now_ns_(now_ns) {
  for (const auto& each : boards)
    if (each.address >= 0 && each.address < wire::kNoAddress)
      places_.push_back(std::make_unique<Place>(each, board::Port{&answers_, collect}));
}

/// Each board was switched on a little earlier than the one before: as with hardware, no two clocks agree.
std::uint32_t Desk::clock_us(const Place& place) const noexcept {
  return static_cast<std::uint32_t>((now_ns_ - born_ns_) / 1000 + 1'000'003LL * place.board.address());
}

void Desk::advance(std::int64_t now_ns) {
  now_ns_ = std::max(now_ns_, now_ns - kLongestCatchUp_ns);
  while (now_ns_ < now_ns) {
    now_ns_ = std::min(now_ns_ + kStep_ns, now_ns);
    for (auto& place : places_) {
      place->board.tick(clock_us(*place));
      observe(*place);
    }
  }
}

void Desk::receive(std::span<const std::uint8_t> bytes) {
  for (const auto byte : bytes)
    for (auto& place : places_) {
      place->board.receive(byte, clock_us(*place));
      if (byte == wire::kDelimiter) observe(*place);
    }
}

bool Desk::exchange(int socket, std::ostream* heard) {
  for (;;) {
    std::uint8_t chunk[4096];
    const auto count = ::recv(socket, chunk, sizeof chunk, MSG_DONTWAIT);
    if (count == 0 || (count < 0 && errno != EAGAIN && errno != EINTR)) return false;
    if (count < 0) break;
    receive(std::span(chunk).first(static_cast<std::size_t>(count)));
    if (heard) heard->write(reinterpret_cast<const char*>(chunk), count).flush();
  }
  while (!answers_.empty()) {
    const auto count = ::send(socket, answers_.data(), answers_.size(), MSG_DONTWAIT | MSG_NOSIGNAL);
    if (count < 0) return errno == EAGAIN || errno == EINTR;
    answers_.erase(answers_.begin(), answers_.begin() + count);
  }
  return true;
}

int Desk::pace_ms() const noexcept {
  const bool idle = std::all_of(places_.begin(), places_.end(), [](const auto& p) {
    return p->board.state() == wire::State::unconfigured || p->board.state() == wire::State::ready;
  });
  return idle ? 20 : 1;
}

void Desk::observe(Place& place) {
  if (!log_) return;
  char text[64];
  // Steps are shorter than ticks and late frames latch one by one as they come, so no two latch between two looks.
  if (const auto latched = place.board.counters().latched; latched != place.latched) {
    std::snprintf(text, sizeof text, "frame seq %u latched", static_cast<unsigned>(place.board.sequence()));
    line(place, text);
    place.latched = latched;
  }
  if (const auto state = place.board.state(); state != place.state) {
    std::snprintf(text, sizeof text, "state %s", wire::name(state));
    line(place, text);
    place.state = state;
  }
  for (std::size_t output = 0; output < place.pulse.size(); ++output) {
    const auto pulse = place.board.pulse(static_cast<int>(output));
    if (pulse == place.pulse[output]) continue;
    std::snprintf(text, sizeof text, "output %zu pulse_us %.4f", output, pulse / static_cast<double>(wire::kUnitsPerUs));
    line(place, text);
    place.pulse[output] = pulse;
  }
}

void Desk::line(const Place& place, const char* what) {
  char text[128];
  std::snprintf(text, sizeof text, "%.6f board %d %s\n", static_cast<double>(now_ns_ - born_ns_) * 1e-9, place.board.address(), what);
  *log_ << text;
}

}  // namespace mien::link
