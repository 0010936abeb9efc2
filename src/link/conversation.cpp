#include "link/conversation.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "link/conversation_parts.hpp"

namespace mien::link {
namespace {

using wire::Type;

constexpr std::int64_t kHeartbeat_us = 50'000;
constexpr std::int64_t kReport_us = 100'000;
constexpr std::int64_t kLineClears_us = 1'000;    ///< by then the line has carried what a step put on it: 100 bytes at 1 Mbit/s
constexpr std::int64_t kLongestWait_us = 50'000;  ///< for a clear line; then a heartbeat goes all the same
constexpr std::int64_t kStillThere_us = 300'000;  ///< a board heard within this shows that the cable is not the reason

}  // namespace

Conversation::Conversation(const show::Rig& rig) : peers_(peers_of(rig)) {}

void Conversation::begin(std::int64_t now_ns) {
  for (auto& peer : peers_) {
    peer.forget();
    peer.absent = peer.released = false;
    peer.joined = 0;
  }
  rejoined_ = 0;
  newcomer_at_us_ = 0;
  outbox_.clear();
  deframer_.reset();
  began_us_ = us(now_ns);
  // Ends whatever an earlier host left half said on the line.
  const std::uint8_t delimiter[] = {wire::kDelimiter};
  outbox_.put(delimiter);
}

void Conversation::set_rig(const show::Rig& rig, std::int64_t now_ns) {
  earlier_acknowledged_ = acknowledged();
  earlier_refused_ = refused();
  peers_ = peers_of(rig);
  adopted_ = false;
  begin(now_ns);
}

bool Conversation::serves(const show::Rig& rig) const {
  const auto others = peers_of(rig);
  return std::equal(peers_.begin(), peers_.end(), others.begin(), others.end(), [](const Peer& a, const Peer& b) {
    return a.name == b.name && a.address == b.address && a.checksum == b.checksum && a.actuator == b.actuator &&
           a.actuator_name == b.actuator_name && a.auxiliary == b.auxiliary && a.misfit_in_rig == b.misfit_in_rig;
  });
}

template <class Message>
void Conversation::put(const Message& message) {
  std::uint8_t packet[wire::kMaxOnWire];
  const auto size = wire::encode(message, packet, sizeof packet);
  if (size > 0) outbox_.put({packet, size});
  spoke_ = true;
}

std::uint8_t Conversation::next_token() noexcept { return token_ = static_cast<std::uint8_t>(token_ % 255 + 1); }

Peer* Conversation::find(int address) noexcept {
  const auto found = std::find_if(peers_.begin(), peers_.end(), [&](const Peer& p) { return p.address == address; });
  return found == peers_.end() ? nullptr : &*found;
}

void Conversation::ask(Peer& peer, Type type, std::int64_t now_us) {
  peer.asked = type;
  peer.asked_at_us = now_us;
  peer.token = next_token();
  if (type == Type::clock) {
    wire::Clock clock;
    clock.offset_us = peer.clock.offset_us(now_us);
    clock.board_us = static_cast<std::uint32_t>(now_us) - clock.offset_us;
    clock.rate_ppb = static_cast<std::int32_t>(std::lround(peer.clock.drift_ppm() * 1000));
    peer.clock_told = clock;
    peer.clock_told_at_us = now_us;
  }
  put_request(peer, type);
}

void Conversation::put_request(Peer& peer, Type type) {
  const auto address = static_cast<std::uint8_t>(peer.address);
  if (type == Type::hello) {
    // The next board without an address takes the first one that it hears, so only the first that is missing is offered one.
    const bool first = std::all_of(peers_.data(), &peer, [](const Peer& p) { return p.described; });
    const bool release = peer.astray && !std::exchange(peer.released, true);
    put(wire::Hello{address, peer.token, first && !release, release});
    if (release) peer.release_token = peer.token, peer.forget();
  } else if (type == Type::clock) {
    auto clock = *peer.clock_told;
    clock.address = address;
    clock.token = peer.token;
    put(clock);
  } else if (type == Type::configure) {
    put_limits(peer);
  } else {
    put(wire::Order{type, address, peer.token});
  }
}

/// In one part where that fits; else in two, of which the board's answer to the last one counts.
void Conversation::put_limits(const Peer& peer) {
  auto last = peer.limits;
  last.address = static_cast<std::uint8_t>(peer.address);
  last.token = peer.token;
  if (last.timings > 0 || last.channels > 0) {
    auto first = last;
    first.token = next_token();
    first.last = false;
    first.timings = first.channels = 0;
    put(first);
    last.first = false;
    last.count = 0;
  }
  put(last);
}

/// A heartbeat that waits on the line behind a frame, or behind the one for the board before, shows a way out that is too long; and the same
/// board's always waits behind the same. So each goes alone where there is room for that.
bool Conversation::line_is_clear_for(const Peer& peer, std::int64_t now_us) const noexcept {
  return (!spoke_ && now_us >= line_clear_at_us_) || now_us - peer.next_heartbeat_us >= kLongestWait_us;
}

void Conversation::beat(Peer& peer, std::int64_t now_us) {
  ++peer.unanswered;
  peer.next_heartbeat_us = now_us + (peer.clock.settled() ? kHeartbeat_us : kQuickHeartbeat_us * static_cast<int>(peers_.size()));
  put(wire::Heartbeat{static_cast<std::uint8_t>(peer.address), next_token(), static_cast<std::uint32_t>(now_us)});
}

void Conversation::step(std::int64_t now_ns) {
  const auto now_us = us(now_ns);
  if (std::exchange(spoke_, false)) line_clear_at_us_ = now_us + kLineClears_us;
  look_for_missing(now_us);
  share_delay();
  for (auto& peer : peers_) {
    if (peer.asked && now_us - peer.asked_at_us >= kAnswer_us) {
      if (peer.asked == Type::clock) peer.clock_told.reset();
      peer.asked.reset();
      if (peer.absent && !peer.described) peer.quiet_until_us = now_us + kAgain_us - kAnswer_us;
    }
    if (!peer.described && peer.missed_since_us == 0) peer.missed_since_us = now_us;
    if (const auto type = peer.want(goal_, now_us); type && (peer.described || settled_before(peer))) ask(peer, *type, now_us);
    if (peer.fits() && now_us >= peer.next_heartbeat_us && line_is_clear_for(peer, now_us)) beat(peer, now_us);
    if (peer.fits() && now_us >= peer.next_report_us) {
      peer.next_report_us = now_us + kReport_us;
      put(wire::Order{Type::query, static_cast<std::uint8_t>(peer.address), next_token()});
    }
    // Boards without an address number themselves in the order of the chain, so each is greeted only when those before it are known.
    if (!peer.described && !peer.absent) break;
  }
  welcome_back();
}

/// A board that never answered, or no longer does while others do, is one that the head does without.
void Conversation::look_for_missing(std::int64_t now_us) {
  const bool anybody = std::any_of(peers_.begin(), peers_.end(), [&](const Peer& p) { return p.described && now_us - p.heard_at_us < kStillThere_us; });
  if (!anybody) return;
  for (auto& peer : peers_) {
    if (!peer.described) {
      if (peer.missed_since_us != 0 && now_us - peer.missed_since_us >= kPatience_us) peer.absent = true;
    } else if (quiet(peer, now_us)) {
      do_without(peer, true);
    }
  }
}

/// Out to the boards a packet takes the same time for all, but for a byte a board; back it is sent anew by every board between. So the delay
/// of the way out is taken as that of the nearest board for all, and what error it has is the same for all: they latch together.
void Conversation::share_delay() {
  double least_us = HUGE_VAL;
  for (const auto& peer : peers_)
    if (peer.clock.known()) least_us = std::min(least_us, peer.clock.delay_us());
  for (auto& peer : peers_)
    if (peer.clock.known()) peer.clock.set_delay_us(least_us);
}

void Conversation::welcome_back() {
  for (auto& peer : peers_) {
    if (!peer.absent || !peer.configured() || !peer.clock_told) continue;
    if (goal_ == Goal::arm && !peer.armed()) continue;
    peer.absent = false;
    if (goal_ != Goal::arm || !others_armed(peer)) continue;
    peer.joined = UINT32_MAX;  // until joined() tells
    for (const int index : peer.actuator)
      if (index >= 0) rejoined_ |= std::uint64_t{1} << index;
  }
}

std::uint64_t Conversation::take_rejoined() { return std::exchange(rejoined_, 0); }

void Conversation::joined(std::uint32_t joins) noexcept {
  for (auto& peer : peers_)
    if (peer.joined == UINT32_MAX) peer.joined = joins;
}

void Conversation::adopt() {
  adopted_ = true;
  for (auto& peer : peers_) {
    peer.identity.reset();
    if (peer.misfit) peer.described = false;
    peer.quiet_until_us = 0;
  }
}

void Conversation::take_identities(const show::Rig& rig) {
  for (const auto& said : peers_of(rig))
    for (auto& peer : peers_) {
      if (peer.name != said.name || !said.identity || adopted_) continue;
      peer.identity = said.identity;
      if (peer.described) identify(peer);
    }
}

std::int64_t Conversation::next_due_ns(std::int64_t now_ns) const {
  auto due_us = us(now_ns) + kHeartbeat_us;
  const auto clear_us = spoke_ ? us(now_ns) : line_clear_at_us_;  // the next step notes when the line will be
  for (const auto& peer : peers_) {
    const auto beat_us = std::max(peer.next_heartbeat_us, std::min(clear_us, peer.next_heartbeat_us + kLongestWait_us));
    if (peer.fits()) due_us = std::min({due_us, beat_us, peer.next_report_us});
    if (peer.asked) due_us = std::min(due_us, peer.asked_at_us + kAnswer_us);
    else if (peer.quiet_until_us > us(now_ns)) due_us = std::min(due_us, peer.quiet_until_us);
    if (!peer.described && !peer.absent) break;
  }
  return due_us * 1000;
}

void Conversation::set_goal(Goal goal, std::int64_t now_ns) {
  goal_ = goal;
  for (auto& peer : peers_) {
    peer.armed_by_us = peer.reported = false;
    peer.quiet_until_us = 0;
    // Whatever was asked before is overtaken. A clock that was on its way may not have arrived.
    if (peer.asked == Type::clock) peer.clock_told.reset();
    peer.asked.reset();
    peer.joined = 0;
  }
  rejoined_ = 0;
  if (goal != Goal::stop) return;
  const auto token = next_token();
  std::uint8_t packet[wire::kMaxOnWire];
  outbox_.put_first({packet, wire::encode(wire::Order{Type::stop, wire::kEveryone, token}, packet, sizeof packet)});
  for (auto& peer : peers_) {  // every board answers it
    peer.asked = Type::stop;
    peer.token = token;
    peer.asked_at_us = us(now_ns);
  }
}

void Conversation::send(const Frame& frame) {
  wire::Frame out;
  out.sequence = static_cast<std::uint16_t>(frame.sequence);
  out.latch_us = static_cast<std::uint32_t>(us(frame.latch_ns));
  const auto count = std::clamp(frame.count, 0, show::kMaxActuators);
  for (const auto& peer : peers_) {
    if (peer.absent || frame.joins < peer.joined) continue;
    wire::Block block;
    block.address = static_cast<std::uint8_t>(peer.address);
    for (std::size_t n = 0; n < wire::kMaxOutputs; ++n) {
      const int index = peer.actuator[n];
      if (index < 0 || index >= count || frame.pulse[static_cast<std::size_t>(index)] == 0) continue;
      block.mask = static_cast<std::uint16_t>(block.mask | 1u << n);
      block.pulse[n] = frame.pulse[static_cast<std::size_t>(index)];
    }
    for (std::size_t k = 0; k < wire::kMaxChannels; ++k) {
      const int index = peer.auxiliary[k];
      if (index < 0 || index >= std::min(frame.values, show::kMaxAuxiliaries)) continue;
      block.channels = static_cast<std::uint8_t>(block.channels | 1u << k);
      block.value[k] = frame.value[static_cast<std::size_t>(index)];
    }
    if ((block.mask != 0 || block.channels != 0) && out.count < wire::kMaxBlocks) out.blocks[out.count++] = block;
  }
  std::uint8_t packet[wire::kMaxOnWire];
  const auto size = wire::encode(out, packet, sizeof packet);
  if (size > 0) outbox_.put_frame({packet, size}), spoke_ = true;
}

}  // namespace mien::link
