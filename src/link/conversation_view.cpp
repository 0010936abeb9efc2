// What the host makes of the boards: questions that change nothing.
#include <algorithm>
#include <cstdio>

#include "link/conversation.hpp"
#include "link/conversation_parts.hpp"

namespace mien::link {
namespace {

using wire::Type;

constexpr std::int64_t kRefusalShown_us = 3'000'000;
// Both have to be true: time alone would blame a board for our own thread having slept, heartbeats alone come faster at first.
// Not sooner, for boards hold by themselves meanwhile, and a computer that is busy for a moment should not cost a performance.
constexpr int kUnansweredIsGone = 6;
constexpr std::int64_t kSilenceIsGone_us = 600'000;

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

/// The rail that a board's "too low" is about, which the protocol leaves open: the lowest of those that are connected at all. -1: it measures none.
int lowest_rail(const wire::StateReport& report) noexcept {
  int lowest = -1;
  for (int i = 0; i < report.rails; ++i)
    if (report.rail[i].voltage_mv > 0 && (lowest < 0 || report.rail[i].voltage_mv < report.rail[lowest].voltage_mv)) lowest = i;
  return lowest;
}

show::Finding low_supply(const Peer& peer) {
  const int rail = lowest_rail(peer.report);
  const bool named = rail >= 0 && static_cast<std::size_t>(rail) < peer.rail_name.size();
  char volts[24] = "";
  if (rail >= 0) std::snprintf(volts, sizeof volts, ": %.1f V", peer.report.rail[rail].voltage_mv * 1e-3);
  return finding(place_of(peer) + (named ? ", rail " + peer.rail_name[static_cast<std::size_t>(rail)] : ""),
                 std::string("Its servos' supply is too low") + volts + "; servos go weak, and a baked show would stop",
                 "Charge or replace the battery, or look at supply, fuse, wire and connector; 'mien power' tells what the show draws", show::Severity::warning);
}

/// What boards complain of themselves. A fan that runs for heat is none: that is what it is for.
std::optional<show::Finding> complaint(const std::vector<Peer>& peers) {
  const auto has = [](const Peer& peer, wire::Fault fault) { return peer.fits() && peer.report_came && (peer.report.faults & fault) != 0; };
  for (const auto& peer : peers)
    if (has(peer, wire::kLowVoltage)) return low_supply(peer);
  for (const auto& peer : peers)
    if (has(peer, wire::kOverrun))
      return finding(place_of(peer), "It lost bytes before it could read them",
                     "Nothing moves wrongly for it; if it stays, check the cables for noise, and that nothing else sends on this line", show::Severity::warning);
  return std::nullopt;
}

}  // namespace

std::string identity_text(std::uint64_t identity) {
  char text[17];
  std::snprintf(text, sizeof text, "%016llX", static_cast<unsigned long long>(identity));
  return text;
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
  if (auto said = complaint(peers_)) return said;
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
    b.standing = peer.standing, b.stands_there = peer.standing == Standing::swapped ? peer.stands_there : std::string();
    b.frames_latched = c.latched, b.frames_late = c.late, b.frames_bad = c.bad, b.clamped = c.clamped, b.slewed = c.slewed;
    b.unrelayed = c.unrelayed, b.times_restarted = peer.restarts;
    b.clock_offset_us = peer.clock.samples() ? static_cast<std::int32_t>(peer.clock.offset_us(us(now_ns))) : 0;
    b.clock_drift_ppm = peer.clock.drift_ppm();
    for (int i = 0; i < peer.report.rails; ++i) b.rails.push_back({peer.report.rail[i].voltage_mv * 1e-3, peer.report.rail[i].current_ma * 1e-3});
    b.reported = b.answering && peer.fits() && peer.report_came;
    b.inputs = peer.report.inputs, b.faults = peer.report.faults, b.driven = peer.report.driven;
    std::copy(std::begin(peer.report.pulse), std::end(peer.report.pulse), b.pulse.begin());
    status.boards.push_back(std::move(b));
    if (peer.clock.samples()) status.round_trip_us = std::max(status.round_trip_us, peer.clock.round_trip_us());
  }
}

}  // namespace mien::link
