#include "link/conversation.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace mien::link {
namespace {

using wire::Type;

constexpr std::int64_t kHeartbeat_us = 50'000;
constexpr std::int64_t kReport_us = 100'000;
constexpr std::int64_t kLineClears_us = 1'000;     ///< by then the line has carried what a step put on it: 100 bytes at 1 Mbit/s
constexpr std::int64_t kLongestWait_us = 50'000;   ///< for a clear line; then a heartbeat goes all the same
constexpr std::int64_t kQuickHeartbeat_us = 10'000;  ///< until the board's clock is known
constexpr std::int64_t kAnswer_us = 150'000;         ///< a request without an answer by then is made again
constexpr std::int64_t kAgain_us = 500'000;          ///< after a refusal, and to look again at a board that does not fit
constexpr std::int64_t kPatience_us = 600'000;       ///< silence at the start that is worth a word
constexpr std::int64_t kRefusalShown_us = 3'000'000;
// Both have to be true: time alone would blame a board for our own thread having slept, heartbeats alone come faster at first.
// Not sooner, for boards hold by themselves meanwhile, and a computer that is busy for a moment should not cost a performance.
constexpr int kUnansweredIsGone = 6;
constexpr std::int64_t kSilenceIsGone_us = 600'000;
constexpr std::int64_t kStillThere_us = 300'000;  ///< a board heard within this shows that the cable is not the reason

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

show::Finding missing(const Peer& peer) {
  std::string without;
  for (const auto& name : peer.actuator_name)
    if (!name.empty()) without += (without.empty() ? "" : ", ") + name;
  const std::string head = without.empty() ? "the head does without it" : "the head does without " + without;
  if (peer.described) return finding(place_of(peer), "It is back and is told its limits; until then " + head, "It joins by itself", show::Severity::warning);
  return finding(place_of(peer), std::string(peer.restarts ? "It restarted and does" : "It does") + " not answer; " + head,
                 "Check its supply and the cable from the board before it; it joins by itself", show::Severity::warning);
}

/// Boards that speak the same protocol work together whatever firmware they run; a person still wants to know.
std::optional<show::Finding> other_firmware(const std::vector<Peer>& peers) {
  const Peer* first = nullptr;
  for (const auto& peer : peers) {
    if (!peer.described) continue;
    if (!first) first = &peer;
    if (std::string_view(peer.description.firmware) == first->description.firmware) continue;
    return finding(place_of(peer), std::string("It runs firmware ") + peer.description.firmware + ", board " + first->name + " runs " +
                                       first->description.firmware, "They work together; bring all to one version when you can", show::Severity::warning);
  }
  return std::nullopt;
}

}  // namespace

std::string identity_text(std::uint64_t identity) {
  char text[17];
  std::snprintf(text, sizeof text, "%016llX", static_cast<unsigned long long>(identity));
  return text;
}

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

void Conversation::receive(std::span<const std::uint8_t> bytes, std::int64_t now_ns) {
  for (const auto byte : bytes)
    if (deframer_.push(byte)) handle(deframer_.packet(), us(now_ns));
}

void Conversation::handle(wire::Bytes packet, std::int64_t now_us) {
  wire::Head head;
  const auto reading = wire::read_head(packet, head);
  wire::Description description;
  if (head.address == wire::kNoAddress && wire::decode(packet, description)) return hear_newcomer(description, now_us);
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
  wire::Acknowledgement acknowledgement;
  wire::StateReport report;
  wire::Refusal refusal;
  if (wire::decode(packet, description)) hear(*peer, description, now_us);
  else if (wire::decode(packet, acknowledgement)) hear(*peer, acknowledgement, now_us);
  else if (wire::decode(packet, report)) hear(*peer, report, now_us);
  else if (wire::decode(packet, refusal)) hear(*peer, refusal, now_us);
  else {
    ++malformed_;
    return;
  }
  peer->unanswered = 0;
  peer->heard_at_us = now_us;
}

void Conversation::hear(Peer& peer, const wire::Description& said, std::int64_t now_us) {
  if (said.token != wire::kUnasked && said.token == peer.release_token) {
    peer.release_token = 0;
    return;
  }
  if (peer.asked == Type::hello && said.token == peer.token) peer.asked.reset();
  peer.take(said);
  identify(peer);
  if (!peer.fits()) peer.quiet_until_us = now_us + kAgain_us;
  // Heartbeats of several boards are kept apart, so that no answer waits behind another and spoils the clock's measurement.
  peer.next_heartbeat_us = now_us + (&peer - peers_.data()) * kQuickHeartbeat_us;
  peer.next_report_us = peer.next_heartbeat_us;
}

/// Servos behind another board may have other ends of travel: it stays silent until a person says that it is meant to be there.
void Conversation::identify(Peer& peer) {
  const auto identity = peer.description.identity;
  peer.astray = false;
  if (!peer.fits()) return;
  if (!peer.identity) peer.identity = identity;  // from now on it is this one
  if (*peer.identity == identity) return;
  const auto owner = std::find_if(peers_.begin(), peers_.end(), [&](const Peer& p) { return p.identity == identity; });
  const std::string cure = "Put the boards back as they were; or, where this is as you want it, adopt them (mien adopt RIG --port PORT)";
  peer.astray = owner != peers_.end();
  peer.misfit = peer.astray ? finding(place_of(peer), "Board " + owner->name + " stands in its place; both keep silent", cure)
                            : finding(place_of(peer), "It was replaced: another board (identity " + identity_text(identity) +
                                                          ") answers in its place, and keeps silent", cure);
}

/// A board without an address says that it is there: plugged in, or restarted.
void Conversation::hear_newcomer(const wire::Description& said, std::int64_t now_us) {
  newcomer_at_us_ = now_us;
  for (auto& peer : peers_)
    if (peer.described && peer.description.identity == said.identity) restarted(peer);
  for (auto& peer : peers_) {
    if (peer.described) continue;
    if (!peer.asked) peer.quiet_until_us = std::min(peer.quiet_until_us, now_us);
    return;
  }
}

/// Whoever came without an address may stand anywhere: a board is offered one only once those before it were heard again.
bool Conversation::settled_before(const Peer& peer) const noexcept {
  return std::all_of(peers_.data(), &peer, [&](const Peer& p) { return !p.described || p.heard_at_us > newcomer_at_us_; });
}

/// Even its clock is another one.
void Conversation::restarted(Peer& peer) {
  ++peer.restarts;
  do_without(peer, others_armed(peer));
}

void Conversation::do_without(Peer& peer, bool while_armed) {
  peer.forget();
  peer.absent = peer.absent || while_armed;
}

bool Conversation::others_armed(const Peer& peer) const noexcept {
  return goal_ == Goal::arm && std::any_of(peers_.begin(), peers_.end(), [&](const Peer& p) { return &p != &peer && p.armed() && !p.absent; });
}

void Conversation::hear(Peer& peer, const wire::Acknowledgement& said, std::int64_t now_us) {
  if (peer.configured() && said.state == wire::State::unconfigured) return restarted(peer);
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

void Conversation::hear(Peer& peer, const wire::StateReport& said, std::int64_t now_us) {
  if (peer.configured() && said.state == wire::State::unconfigured) return restarted(peer);
  peer.state = said.state;
  peer.report = said;
  peer.report_at_us = now_us;
  if (peer.asked != Type::query || said.token != peer.token) return;
  peer.asked.reset();
  peer.reported = true;
}

void Conversation::hear(Peer& peer, const wire::Refusal& said, std::int64_t now_us) {
  if (peer.configured() && said.reason == wire::Reason::not_configured) return restarted(peer);
  // Of a configuration in several parts each is refused after the first that was: that one's reason counts.
  const bool echo = said.of == static_cast<std::uint8_t>(Type::configure) && said.reason == wire::Reason::not_configured &&
                    peer.refusal && now_us - peer.refused_at_us < kAnswer_us;
  if (peer.asked && said.token == peer.token) {
    peer.asked.reset();
    peer.quiet_until_us = now_us + kAgain_us;
  }
  if (echo) return;
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
  for (const auto& peer : peers_) {
    if (peer.fits()) due_us = std::min({due_us, peer.next_heartbeat_us, peer.next_report_us});
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

bool Conversation::configured() const noexcept {
  return std::any_of(peers_.begin(), peers_.end(), [](const Peer& p) { return p.configured() && !p.absent; }) &&
         std::all_of(peers_.begin(), peers_.end(), [](const Peer& p) { return p.configured() || p.absent; });
}

bool Conversation::silent() const noexcept {
  return std::all_of(peers_.begin(), peers_.end(), [](const Peer& p) {
    return p.silent() && p.asked != Type::arm && p.asked != Type::disarm && p.asked != Type::stop;
  });
}

bool Conversation::creeping_to_rest() const noexcept {
  return std::any_of(peers_.begin(), peers_.end(), [](const Peer& p) { return !p.absent && p.state == wire::State::ramping; });
}

bool Conversation::armed() const noexcept {
  return goal_ == Goal::arm && configured() && std::all_of(peers_.begin(), peers_.end(), [](const Peer& p) { return p.armed() || p.absent; });
}

bool Conversation::quiet(const Peer& peer, std::int64_t now_us) noexcept {
  return peer.unanswered >= kUnansweredIsGone && now_us - peer.heard_at_us >= kSilenceIsGone_us;
}

const Peer* Conversation::gone_quiet(std::int64_t now_ns) const noexcept {
  const Peer* first = nullptr;
  for (const auto& peer : peers_) {
    if (!peer.described) continue;
    if (!quiet(peer, us(now_ns))) return nullptr;
    if (!first) first = &peer;
  }
  return first;
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
  if (const auto& root = peers_.front(); !root.described && !root.absent) {
    if (us(now_ns) - began_us_ < kPatience_us) return std::nullopt;
    return finding("", "No board answers", "Check that the boards have power, that this is their port, and its baud rate");
  }
  for (const auto& peer : peers_)
    if (peer.absent) return missing(peer);
  for (const auto& peer : peers_)
    if (peer.refusal && us(now_ns) - peer.refused_at_us < kRefusalShown_us) return peer.refusal;
  return other_firmware(peers_);
}

/// A frame counts once the last of the boards has latched it.
std::uint64_t Conversation::acknowledged() const noexcept {
  std::uint64_t least = peers_.empty() ? 0 : UINT64_MAX;
  for (const auto& peer : peers_)
    if (!peer.absent) least = std::min(least, peer.latched.total());
  return earlier_acknowledged_ + (least == UINT64_MAX ? 0 : least);
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
    BoardStatus b;
    b.name = peer.name, b.address = peer.address;
    b.answering = peer.described && peer.unanswered < kUnansweredIsGone;
    b.performing = goal_ == Goal::arm && peer.armed() && !peer.absent;
    b.protocol_version = peer.described ? peer.description.newest_version : 0;
    b.firmware = peer.description.firmware, b.identity = peer.description.identity;
    b.frames_latched = c.latched, b.frames_late = c.late, b.frames_bad = c.bad, b.clamped = c.clamped, b.slewed = c.slewed;
    b.unrelayed = c.unrelayed, b.times_restarted = peer.restarts;
    b.clock_offset_us = peer.clock.samples() ? static_cast<std::int32_t>(peer.clock.offset_us(us(now_ns))) : 0;
    b.clock_drift_ppm = peer.clock.drift_ppm();
    for (int i = 0; i < peer.report.rails; ++i) b.rails.push_back({peer.report.rail[i].voltage_mv * 1e-3, peer.report.rail[i].current_ma * 1e-3});
    b.inputs = peer.report.inputs, b.faults = peer.report.faults, b.driven = peer.report.driven;
    std::copy(std::begin(peer.report.pulse), std::end(peer.report.pulse), b.pulse.begin());
    status.boards.push_back(std::move(b));
    if (peer.clock.samples()) status.round_trip_us = std::max(status.round_trip_us, peer.clock.round_trip_us());
  }
}

}  // namespace mien::link
