#include "link/conversation.hpp"

#include <algorithm>

namespace mien::link {
namespace {

using wire::Type;

constexpr std::int64_t kHeartbeat_us = 50'000;
constexpr std::int64_t kQuickHeartbeat_us = 10'000;  ///< until the board's clock is known
constexpr std::int64_t kAnswer_us = 150'000;         ///< a request without an answer by then is made again
constexpr std::int64_t kAgain_us = 500'000;          ///< after a refusal, and to look again at a board that does not fit
constexpr std::int64_t kPatience_us = 600'000;       ///< silence at the start that is worth a word
constexpr std::int64_t kRefusalShown_us = 3'000'000;
// Both have to be true: time alone would blame a board for our own thread having slept, heartbeats alone come faster at first.
// Not sooner, for boards hold by themselves meanwhile, and a computer that is busy for a moment should not cost a performance.
constexpr int kUnansweredIsGone = 6;
constexpr std::int64_t kSilenceIsGone_us = 600'000;

std::int64_t us(std::int64_t ns) noexcept { return ns / 1000; }

show::Finding finding(std::string place, std::string what, std::string cure, show::Severity severity = show::Severity::error) {
  return {severity, "", std::move(place), std::move(what), std::move(cure)};
}

std::string place_of(const Peer& peer) { return "board " + peer.name + " (address " + std::to_string(peer.address) + ")"; }

show::Finding other_version(const Peer& peer, int version) {
  return finding(place_of(peer), "It speaks protocol version " + std::to_string(version) + ", this program version " +
                                     std::to_string(wire::kVersion),
                 version > wire::kVersion ? "Install a newer Mien, or firmware of protocol version " + std::to_string(wire::kVersion)
                                          : "Install newer firmware on the board");
}

/// The actuator or the number that a refusal's detail stands for.
std::string detail_of(const Peer& peer, const wire::Refusal& said) {
  const bool output = said.reason == wire::Reason::bad_value || said.reason == wire::Reason::unknown_output;
  if (said.reason == wire::Reason::bad_value && said.detail == 0xFF) return ": the watchdog's times";
  if (!output || said.detail >= wire::kMaxOutputs) return "";
  const auto& name = peer.actuator_name[said.detail];
  return ": output " + std::to_string(said.detail) + (name.empty() ? "" : " (actuator " + name + ")");
}

}  // namespace

Conversation::Conversation(const show::Rig& rig) : peers_(peers_of(rig)) {}

void Conversation::begin(std::int64_t now_ns) {
  for (auto& peer : peers_) peer.forget();
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
  begin(now_ns);
}

bool Conversation::serves(const show::Rig& rig) const {
  const auto others = peers_of(rig);
  return std::equal(peers_.begin(), peers_.end(), others.begin(), others.end(), [](const Peer& a, const Peer& b) {
    return a.name == b.name && a.address == b.address && a.checksum == b.checksum && a.actuator == b.actuator &&
           a.actuator_name == b.actuator_name && a.misfit_in_rig == b.misfit_in_rig;
  });
}

template <class Message>
void Conversation::put(const Message& message) {
  std::uint8_t packet[wire::kMaxOnWire];
  const auto size = wire::encode(message, packet, sizeof packet);
  if (size > 0) outbox_.put({packet, size});
}

std::uint8_t Conversation::next_token() noexcept { return token_ = static_cast<std::uint8_t>(token_ % 255 + 1); }

Peer* Conversation::find(int address) noexcept {
  const auto found = std::find_if(peers_.begin(), peers_.end(), [&](const Peer& p) { return p.address == address; });
  return found == peers_.end() ? nullptr : &*found;
}

void Conversation::receive(std::span<const std::uint8_t> bytes, std::int64_t now_ns) {
  for (const auto byte : bytes)
    if (deframer_.push(byte)) handle(deframer_.packet(), us(now_ns));
}

void Conversation::handle(wire::Bytes packet, std::int64_t now_us) {
  wire::Head head;
  const auto reading = wire::read_head(packet, head);
  Peer* peer = find(head.address);
  if (reading == wire::Reading::malformed || !peer) {
    malformed_ += reading == wire::Reading::malformed;
    return;
  }
  if (reading == wire::Reading::other_version) {
    peer->misfit = other_version(*peer, head.version);
    peer->described = true;
    peer->asked.reset();
    peer->quiet_until_us = now_us + kAgain_us;
    return;
  }
  wire::Description description;
  wire::Acknowledgement acknowledgement;
  wire::StateReport report;
  wire::Refusal refusal;
  if (wire::decode(packet, description)) hear(*peer, description, now_us);
  else if (wire::decode(packet, acknowledgement)) hear(*peer, acknowledgement, now_us);
  else if (wire::decode(packet, report)) hear(*peer, report);
  else if (wire::decode(packet, refusal)) hear(*peer, refusal, now_us);
  else {
    ++malformed_;
    return;
  }
  peer->unanswered = 0;
  peer->heard_at_us = now_us;
}

void Conversation::hear(Peer& peer, const wire::Description& said, std::int64_t now_us) {
  if (peer.asked == Type::hello && said.token == peer.token) peer.asked.reset();
  peer.take(said);
  if (!peer.fits()) peer.quiet_until_us = now_us + kAgain_us;
  // Heartbeats of several boards are kept apart, so that no answer waits behind another and spoils the clock's measurement.
  peer.next_heartbeat_us = now_us + (&peer - peers_.data()) * kQuickHeartbeat_us;
}

void Conversation::hear(Peer& peer, const wire::Acknowledgement& said, std::int64_t now_us) {
  if (peer.configured() && said.state == wire::State::unconfigured) {
    peer.forget();  // it restarted: even its clock is another one
    return;
  }
  peer.state = said.state;
  peer.counters = said.counters;
  peer.latched.see(said.counters.latched);
  peer.refused.see(said.counters.refused);
  if (said.of == Type::heartbeat) {
    const auto on_the_way_us = static_cast<std::uint32_t>(now_us) - said.host_us;  // wraps as the heartbeat's time did
    peer.clock.add(now_us - on_the_way_us, said.received_us, said.sent_us, now_us);
  }
  if (!peer.asked || said.of != *peer.asked || said.token != peer.token) return;
  peer.asked.reset();
  if (said.of == Type::configure) peer.description.configuration = peer.checksum;
  if (said.of == Type::arm) peer.armed_by_us = true;
}

void Conversation::hear(Peer& peer, const wire::StateReport& said) {
  peer.state = said.state;
  if (peer.asked != Type::query || said.token != peer.token) return;
  peer.asked.reset();
  peer.report = said;
  peer.reported = true;
}

void Conversation::hear(Peer& peer, const wire::Refusal& said, std::int64_t now_us) {
  if (peer.configured() && said.reason == wire::Reason::not_configured) {
    peer.forget();  // it restarted
    return;
  }
  if (peer.asked && said.token == peer.token) {
    peer.asked.reset();
    peer.quiet_until_us = now_us + kAgain_us;
  }
  peer.refused_at_us = now_us;
  peer.refusal = finding(place_of(peer), std::string("It refuses '") + wire::name(static_cast<Type>(said.of)) + "', for it says '" +
                                             wire::name(said.reason) + "'" + detail_of(peer, said),
                         said.reason == wire::Reason::bad_value || said.reason == wire::Reason::unknown_output
                             ? "Correct that entry in the rig"
                             : "It is tried again by itself; if this stays, switch the boards off and on",
                         show::Severity::warning);
}

void Conversation::ask(Peer& peer, Type type, std::int64_t now_us) {
  peer.asked = type;
  peer.asked_at_us = now_us;
  peer.token = next_token();
  if (type == Type::clock) {
    peer.clock_told_us = peer.clock.offset_us(now_us);
    peer.clock_told_at_us = now_us;
  }
  put_request(peer, type, peer.clock_told_us.value_or(0));
}

void Conversation::put_request(const Peer& peer, Type type, std::uint32_t clock_offset_us) {
  const auto address = static_cast<std::uint8_t>(peer.address);
  if (type == Type::hello) {
    put(wire::Hello{address, peer.token, true});
  } else if (type == Type::clock) {
    put(wire::Clock{address, peer.token, 0, clock_offset_us, 0});
  } else if (type == Type::configure) {
    auto limits = peer.limits;
    limits.address = address;
    limits.token = peer.token;
    put(limits);
  } else {
    put(wire::Order{type, address, peer.token});
  }
}

void Conversation::beat(Peer& peer, std::int64_t now_us) {
  ++peer.unanswered;
  peer.next_heartbeat_us = now_us + (peer.clock.known() ? kHeartbeat_us : kQuickHeartbeat_us * static_cast<int>(peers_.size()));
  put(wire::Heartbeat{static_cast<std::uint8_t>(peer.address), next_token(), static_cast<std::uint32_t>(now_us)});
}

void Conversation::step(std::int64_t now_ns) {
  const auto now_us = us(now_ns);
  for (auto& peer : peers_) {
    if (peer.asked && now_us - peer.asked_at_us >= kAnswer_us) {
      if (peer.asked == Type::clock) peer.clock_told_us.reset();
      peer.asked.reset();
    }
    if (const auto type = peer.want(goal_, now_us)) ask(peer, *type, now_us);
    if (peer.fits() && now_us >= peer.next_heartbeat_us) beat(peer, now_us);
    // Boards without an address number themselves in the order of the chain, so each is greeted only when those before it are known.
    if (!peer.described) break;
  }
}

std::int64_t Conversation::next_due_ns(std::int64_t now_ns) const {
  auto due_us = us(now_ns) + kHeartbeat_us;
  for (const auto& peer : peers_) {
    if (peer.fits()) due_us = std::min(due_us, peer.next_heartbeat_us);
    if (peer.asked) due_us = std::min(due_us, peer.asked_at_us + kAnswer_us);
    else if (peer.quiet_until_us > us(now_ns)) due_us = std::min(due_us, peer.quiet_until_us);
    if (!peer.described) break;
  }
  return due_us * 1000;
}

void Conversation::set_goal(Goal goal, std::int64_t now_ns) {
  goal_ = goal;
  for (auto& peer : peers_) {
    peer.armed_by_us = peer.reported = false;
    peer.quiet_until_us = 0;
    // Whatever was asked before is overtaken. A clock that was on its way may not have arrived.
    if (peer.asked == Type::clock) peer.clock_told_us.reset();
    peer.asked.reset();
  }
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
    wire::Block block;
    block.address = static_cast<std::uint8_t>(peer.address);
    for (std::size_t n = 0; n < wire::kMaxOutputs; ++n) {
      const int index = peer.actuator[n];
      if (index < 0 || index >= count || frame.pulse[static_cast<std::size_t>(index)] == 0) continue;
      block.mask = static_cast<std::uint16_t>(block.mask | 1u << n);
      block.pulse[n] = frame.pulse[static_cast<std::size_t>(index)];
    }
    if (block.mask != 0 && out.count < wire::kMaxBlocks) out.blocks[out.count++] = block;
  }
  std::uint8_t packet[wire::kMaxOnWire];
  const auto size = wire::encode(out, packet, sizeof packet);
  if (size > 0) outbox_.put_frame({packet, size});
}

bool Conversation::configured() const noexcept {
  return !peers_.empty() && std::all_of(peers_.begin(), peers_.end(), [](const Peer& p) { return p.configured(); });
}

bool Conversation::silent() const noexcept {
  return std::all_of(peers_.begin(), peers_.end(), [](const Peer& p) {
    return p.silent() && p.asked != Type::arm && p.asked != Type::disarm && p.asked != Type::stop;
  });
}

bool Conversation::creeping_to_rest() const noexcept {
  return std::any_of(peers_.begin(), peers_.end(), [](const Peer& p) { return p.state == wire::State::ramping; });
}

bool Conversation::armed() const noexcept {
  return goal_ == Goal::arm && configured() && std::all_of(peers_.begin(), peers_.end(), [](const Peer& p) { return p.armed(); });
}

const Peer* Conversation::gone_quiet(std::int64_t now_ns) const noexcept {
  const auto found = std::find_if(peers_.begin(), peers_.end(), [&](const Peer& p) {
    return p.unanswered >= kUnansweredIsGone && us(now_ns) - p.heard_at_us >= kSilenceIsGone_us;
  });
  return found == peers_.end() ? nullptr : &*found;
}

std::array<std::uint16_t, show::kMaxActuators> Conversation::pulses() const {
  std::array<std::uint16_t, show::kMaxActuators> pulse{};
  for (const auto& peer : peers_)
    for (int i = 0; i < peer.limits.count; ++i) {
      const auto& limits = peer.limits.outputs[i];
      const bool known = peer.reported && (peer.report.known >> limits.output & 1) != 0;
      const auto now = std::clamp(peer.report.pulse[limits.output], limits.min, limits.max);
      pulse[static_cast<std::size_t>(peer.actuator[limits.output])] = known ? now : limits.rest;
    }
  return pulse;
}

std::optional<show::Finding> Conversation::trouble(std::int64_t now_ns) const {
  if (peers_.empty()) return finding("", "The rig has no boards", "Add the head's boards to the rig");
  for (const auto& peer : peers_) {
    if (peer.misfit_in_rig) return peer.misfit_in_rig;
    if (peer.misfit) return peer.misfit;
  }
  for (const auto& peer : peers_) {
    if (peer.described) continue;
    if (us(now_ns) - began_us_ < kPatience_us) return std::nullopt;
    if (&peer == &peers_.front())
      return finding("", "No board answers", "Check that the boards have power, that this is their port, and its baud rate");
    return finding(place_of(peer), "It does not answer, though the boards before it do",
                   "Check its supply and the cable from the board before it, or take it out of the rig");
  }
  for (const auto& peer : peers_)
    if (peer.refusal && us(now_ns) - peer.refused_at_us < kRefusalShown_us) return peer.refusal;
  return std::nullopt;
}

/// A frame counts once the last of the boards has latched it.
std::uint64_t Conversation::acknowledged() const noexcept {
  std::uint64_t least = peers_.empty() ? 0 : UINT64_MAX;
  for (const auto& peer : peers_) least = std::min(least, peer.latched.total());
  return earlier_acknowledged_ + least;
}

std::uint64_t Conversation::refused() const noexcept {
  std::uint64_t sum = earlier_refused_;
  for (const auto& peer : peers_) sum += peer.refused.total();
  return sum;
}

void Conversation::describe(Status& status, std::int64_t now_ns) const {
  const auto& line = deframer_.counters();
  status.messages_garbled = malformed_ + line.bad_crc + line.malformed + line.overlong;
  status.frames_acknowledged = acknowledged();
  status.frames_refused = refused();
  status.round_trip_us = 0;
  status.boards.clear();
  for (const auto& peer : peers_) {
    const auto& c = peer.counters;
    const double offset_us = peer.clock.samples() ? static_cast<std::int32_t>(peer.clock.offset_us(us(now_ns))) : 0;
    status.boards.push_back({peer.name, peer.address, peer.described && peer.unanswered < kUnansweredIsGone,
                             peer.described ? peer.description.newest_version : 0, peer.description.firmware,
                             peer.description.identity, c.latched, c.late, c.bad, c.clamped, c.slewed, offset_us});
    if (peer.clock.samples()) status.round_trip_us = std::max(status.round_trip_us, peer.clock.round_trip_us());
  }
}

}  // namespace mien::link
