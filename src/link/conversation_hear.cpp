// What boards say, and what follows from it.
#include <algorithm>

#include "link/conversation.hpp"
#include "link/conversation_parts.hpp"

namespace mien::link {
namespace {

using wire::Type;

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
  const std::string cure = "Put the boards back as they were; or, where this is as you want it, take them over (Link menu; for good: mien adopt RIG --port PORT)";
  peer.astray = owner != peers_.end();
  peer.standing = peer.astray ? Standing::swapped : Standing::replaced;
  peer.stands_there = peer.astray ? owner->name : std::string();
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
  peer.report_came = true;
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

}  // namespace mien::link
