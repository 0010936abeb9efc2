#include "link/desk.hpp"

#include <sys/socket.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>

namespace mien::link {
namespace {

constexpr std::int64_t kLongestCatchUp_ns = 20'000'000'000;  ///< beyond this, as after a suspend, no watchdog has anything left to do
constexpr std::size_t kMaxAnswers = 65'536;
constexpr std::size_t kShelf = 512 * 1024;  ///< what a board can keep of a baked show
constexpr std::size_t kUpRing = 1024;  ///< what a board has to keep bytes for the line up

board::About about(const DeskBoard& what, std::size_t place, wire::Start why) {
  board::About about;
  about.identity = what.identity ? what.identity : 0x4D49'454E'0000'0000u + place;  // "MIEN" and the place
  about.firmware = what.firmware;
  about.outputs = static_cast<std::uint8_t>(std::clamp(what.outputs, 0, wire::kMaxOutputs));
  about.address = static_cast<std::uint8_t>(what.address);
  about.lines = static_cast<std::uint8_t>(std::clamp(what.lines, 0, wire::kMaxLines));
  about.inputs = wire::kMaxInputs;
  about.rails = static_cast<std::uint8_t>(std::clamp(what.rails, 0, wire::kMaxRails));
  about.outputs_per_timer = static_cast<std::uint8_t>(what.outputs_per_timer);
  about.start = why;
  return about;
}

}  // namespace

Desk::Desk(const std::vector<DeskBoard>& boards, std::int64_t now_ns, std::ostream* log, DeskTiming timing)
    : log_(log), timing_(timing), born_ns_(now_ns), now_ns_(now_ns) {
  for (const auto& each : boards) {
    if (each.address < 0 || each.address > wire::kNoAddress) continue;
    places_.push_back(std::make_unique<Place>());
    places_.back()->desk = this;
    places_.back()->index = places_.size() - 1;
    replace(places_.size() - 1, each);
  }
}

void Desk::replace(std::size_t index, const DeskBoard& with, wire::Start why) {
  Place& place = *places_[index];
  place.what = with;
  if (why == wire::Start::power) {  // another board, with another memory
    place.shelf.assign(kShelf, 0xFF);
    std::copy_n(with.baked.begin(), std::min(kShelf, with.baked.size()), place.shelf.begin());
  }
  place.board = std::make_unique<board::Board>(about(with, index, why), port_of(place));
  place.down.bytes.clear();
  place.up.bytes.clear();
  place.board->stand_alone(clock_us(place));
}

board::Port Desk::port_of(Place& place) const noexcept {
  board::Port port;
  port.context = &place;
  port.write = [](void* context, const std::uint8_t* bytes, std::size_t size) {
    auto& from = *static_cast<Place*>(context);
    from.desk->put(from, &Place::up, bytes, size);
  };
  port.forward = [](void* context, const std::uint8_t* bytes, std::size_t size) {
    auto& from = *static_cast<Place*>(context);
    if (from.index + 1 < from.desk->places_.size()) from.desk->put(*from.desk->places_[from.index + 1], &Place::down, bytes, size);
  };
  port.shelf.context = &place;
  port.shelf.bytes = place.shelf.data();
  port.shelf.capacity = kShelf;
  port.shelf.erase = [](void* context, std::uint32_t size) {
    return std::fill_n(static_cast<Place*>(context)->shelf.begin(), size, std::uint8_t{0xFF}), true;
  };
  port.shelf.write = [](void* context, std::uint32_t offset, const std::uint8_t* bytes, std::uint32_t count) {
    return std::copy_n(bytes, count, static_cast<Place*>(context)->shelf.begin() + offset), true;
  };
  port.latched = [](void* context, std::uint16_t) {
    auto& place_latched = *static_cast<Place*>(context);
    place_latched.latched_at_ns = place_latched.desk->now_ns_;
  };
  if (timing_.byte_ns > 0) port.room = [](void* context) {
    const auto waiting = static_cast<Place*>(context)->up.bytes.size();
    return waiting < kUpRing ? kUpRing - waiting : 0;
  };
  return port;
}

/// Each board was switched on a little earlier than the one before: as with hardware, no two clocks agree.
std::uint32_t Desk::clock_us(const Place& place) const noexcept {
  const auto elapsed_ns = static_cast<double>(now_ns_ - born_ns_);
  return static_cast<std::uint32_t>(static_cast<std::int64_t>(elapsed_ns * (1 + place.what.fast_ppm * 1e-6) / 1000) +
                                    1'000'003LL * static_cast<std::int64_t>(place.index)) + place.turned_us;
}

void Desk::put(Place& place, Wire Place::*wire, const std::uint8_t* bytes, std::size_t size) {
  if (!place.plugged) return;
  for (std::size_t i = 0; i < size; ++i) {
    if (timing_.byte_ns == 0) {
      arrive(place, wire, bytes[i]);
      continue;
    }
    Wire& w = place.*wire;
    w.free_ns = std::max(w.free_ns, now_ns_) + timing_.byte_ns;
    w.bytes.push_back({w.free_ns, bytes[i]});
  }
}

void Desk::arrive(Place& place, Wire Place::*wire, std::uint8_t byte) {
  if (wire == &Place::down) {
    place.board->receive(byte, clock_us(place));
    if (byte == wire::kDelimiter) observe(place);
  } else if (place.index > 0) {
    Place& above = *places_[place.index - 1];
    above.board->receive_below(byte, clock_us(above));
  } else if (answers_.size() < kMaxAnswers) {
    answers_.push_back(byte);
  }
}

/// The byte that arrives first, where one does by then.
bool Desk::deliver_next(std::int64_t until_ns) {
  Place* first = nullptr;
  Wire Place::*which = nullptr;
  std::int64_t at_ns = until_ns + 1;
  for (auto& place : places_)
    for (const auto wire : {&Place::down, &Place::up}) {
      const auto& bytes = ((*place).*wire).bytes;
      if (!bytes.empty() && bytes.front().at_ns < at_ns) at_ns = bytes.front().at_ns, first = place.get(), which = wire;
    }
  if (!first) return false;
  const auto byte = ((*first).*which).bytes.front().byte;
  ((*first).*which).bytes.pop_front();
  now_ns_ = std::max(now_ns_, at_ns);
  arrive(*first, which, byte);
  return true;
}

void Desk::advance(std::int64_t now_ns) {
  now_ns_ = std::max(now_ns_, now_ns - kLongestCatchUp_ns);
  while (now_ns_ < now_ns) {
    const auto next_ns = std::min(now_ns_ + timing_.step_ns, now_ns);
    while (deliver_next(next_ns)) {}
    now_ns_ = next_ns;
    for (auto& place : places_) {
      place->board->tick(clock_us(*place));
      observe(*place);
    }
  }
}

void Desk::receive(std::span<const std::uint8_t> bytes) {
  if (!places_.empty()) put(*places_.front(), &Place::down, bytes.data(), bytes.size());
}

void Desk::sense(std::size_t index, const board::Senses& senses) {
  Place& place = *places_[index];
  place.board->sense(senses, clock_us(place));
}

void Desk::flood(std::size_t index, std::mt19937& random, std::size_t bytes) {
  Place& place = *places_[index];
  for (std::size_t i = 0; i < bytes; ++i) {
    const auto byte = static_cast<std::uint8_t>(random() % 16 == 0 ? wire::kDelimiter : random());
    put(place, &Place::up, &byte, 1);
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
    const auto state = p->board->state();
    return (state == wire::State::unconfigured || state == wire::State::ready) && p->down.bytes.empty() && p->up.bytes.empty();
  });
  return idle ? 20 : 1;
}

void Desk::observe(Place& place) {
  if (!log_) return;
  char text[64];
  // Steps are shorter than ticks and late frames latch one by one as they come, so no two latch between two looks.
  if (const auto latched = place.board->counters().latched; latched != place.latched) {
    std::snprintf(text, sizeof text, "frame seq %u latched", static_cast<unsigned>(place.board->sequence()));
    line(place, text);
    place.latched = latched;
  }
  if (const auto state = place.board->state(); state != place.state) {
    std::snprintf(text, sizeof text, "state %s", wire::name(state));
    line(place, text);
    place.state = state;
  }
  if (const auto phase = place.board->player().phase(); phase != place.phase) {
    std::snprintf(text, sizeof text, "phase %s", wire::name(phase));
    line(place, text);
    place.phase = phase;
  }
  for (std::size_t output = 0; output < place.pulse.size(); ++output) {
    const auto pulse = place.board->pulse(static_cast<int>(output));
    if (pulse == place.pulse[output]) continue;
    std::snprintf(text, sizeof text, "output %zu pulse_us %.4f", output, pulse / static_cast<double>(wire::kUnitsPerUs));
    line(place, text);
    place.pulse[output] = pulse;
  }
  for (std::size_t n = 0; n < place.level.size(); ++n) {
    const auto level = place.board->level(static_cast<int>(n));
    if (level == place.level[n]) continue;
    std::snprintf(text, sizeof text, "line %zu level %d", n, int{level});
    line(place, text);
    place.level[n] = level;
  }
}

void Desk::line(const Place& place, const char* what) {
  char text[128];
  std::snprintf(text, sizeof text, "%.6f board %zu %s\n", static_cast<double>(now_ns_ - born_ns_) * 1e-9, place.index, what);
  *log_ << text;
}

}  // namespace mien::link
