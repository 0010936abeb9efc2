#include "link/peer.hpp"

#include <algorithm>
#include <cmath>

namespace mien::link {
namespace {

constexpr std::int64_t kClockEvery_us = 250'000;
constexpr std::int32_t kClockWorthTelling_us = 20;

show::Finding finding(std::string place, std::string what, std::string cure) {
  return {show::Severity::error, "", std::move(place), std::move(what), std::move(cure)};
}

/// Nearest whole number within the range; NaN gives the lower end.
std::int64_t whole(double value, double low, double high) noexcept {
  if (!(value > low)) return static_cast<std::int64_t>(low);
  return std::llround(std::min(value, high));
}

std::uint16_t pulse_units(double pulse_us) noexcept {
  return static_cast<std::uint16_t>(whole(pulse_us * wire::kUnitsPerUs, 0, 65535));
}

std::uint16_t milliseconds(double ms, double least) noexcept { return static_cast<std::uint16_t>(whole(ms, least, 65535)); }

wire::OutputLimits limits_of(const show::Actuator& a, int tick_hz) {
  wire::OutputLimits limits;
  limits.output = static_cast<std::uint8_t>(a.output);
  limits.min = pulse_units(a.pulse_min_us);
  limits.max = pulse_units(a.pulse_max_us);
  limits.rest = std::clamp(pulse_units(show::pulse_us(a, a.rest_deg)), limits.min, std::max(limits.min, limits.max));
  limits.slew = slew_for(a, tick_hz);
  return limits;
}

void add_actuator(Peer& peer, const show::Actuator& a, int index, int tick_hz) {
  if (a.output < 0 || a.output >= wire::kMaxOutputs || peer.actuator[static_cast<std::size_t>(a.output)] >= 0) {
    peer.misfit_in_rig = finding("actuator " + a.name, "Output " + std::to_string(a.output) + " is none, or taken twice",
                                 "Give the actuator a free output from 0 to 15 of board " + peer.name);
    return;
  }
  const auto limits = limits_of(a, tick_hz);
  if (!wire::sane(limits))
    peer.misfit_in_rig = finding("actuator " + a.name, "No board accepts its pulse range, rest or velocity",
                                 "Keep pulses within 400 to 2600 us, rest within the travel, and the velocity limit above 0");
  peer.actuator[limits.output] = index;
  peer.actuator_name[limits.output] = a.name;
}

void finish_limits(Peer& peer, const show::Rig& rig) {
  auto& all = peer.limits;
  all.watchdog = {milliseconds(rig.watchdog.hold_after_ms, 1), milliseconds(rig.watchdog.ramp_after_ms, 0),
                  milliseconds(rig.watchdog.release_after_ms, 1)};
  for (const int index : peer.actuator)  // ascending outputs, as the checksum wants them
    if (index >= 0) all.outputs[all.count++] = limits_of(rig.actuators[static_cast<std::size_t>(index)], rig.tick_hz);
  peer.checksum = wire::checksum(all);
}

Peer peer_of(const show::Rig& rig, const show::Board& board) {
  Peer peer;
  peer.name = board.name;
  peer.address = board.address;
  peer.actuator.fill(-1);
  if (board.address < 0 || board.address >= wire::kNoAddress)
    peer.misfit_in_rig = finding("board " + board.name, "Its address is outside 0 to 253", "Give it its place in the chain, 0 first");
  for (std::size_t i = 0; i < rig.actuators.size() && i < show::kMaxActuators; ++i)
    if (rig.actuators[i].board == board.name) add_actuator(peer, rig.actuators[i], static_cast<int>(i), rig.tick_hz);
  finish_limits(peer, rig);
  return peer;
}

}  // namespace

std::uint32_t slew_for(const show::Actuator& a, int tick_hz) noexcept {
  if (!(a.velocity_deg_s > 0)) return 0;  // which no board accepts
  constexpr double kLatchStep_s = 0.0012;  // boards step a thousand times a second; a fifth more for their clocks
  const double tick_s = 1.0 / std::clamp(tick_hz, 1, 400);  // faster ticks would leave nothing of the tick
  const double units_per_deg = std::abs((a.pulse_max_us - a.pulse_min_us) / (a.max_deg - a.min_deg)) * wire::kUnitsPerUs;
  const double step = a.velocity_deg_s * units_per_deg * tick_s + 1;  // one unit for the rounding of two setpoints
  return static_cast<std::uint32_t>(whole(std::ceil(step / (tick_s - kLatchStep_s)), 0, wire::kSlewCeiling));
}

std::vector<Peer> peers_of(const show::Rig& rig) {
  std::vector<Peer> peers;
  for (const auto& board : rig.boards) peers.push_back(peer_of(rig, board));
  std::stable_sort(peers.begin(), peers.end(), [](const Peer& a, const Peer& b) { return a.address < b.address; });
  return peers;
}

void Peer::forget() {
  described = armed_by_us = reported = false;
  description = {};
  misfit.reset();
  state = wire::State::unconfigured;
  clock = {};
  clock_told_us.reset();
  asked.reset();
  unanswered = 0;
  quiet_until_us = next_heartbeat_us = 0;
  refusal.reset();
}

void Peer::take(const wire::Description& said) {
  described = true;
  description = said;
  state = said.state;
  misfit.reset();
  for (int output = said.outputs; output < wire::kMaxOutputs; ++output)
    if (actuator[static_cast<std::size_t>(output)] >= 0)
      misfit = finding("board " + name,
                       "It has " + std::to_string(said.outputs) + " outputs, but actuator " +
                           actuator_name[static_cast<std::size_t>(output)] + " is on output " + std::to_string(output),
                       "Connect the board that the rig describes, or move the actuator to an output that this one has");
}

std::optional<wire::Type> Peer::want(Goal goal, std::int64_t now_us) const {
  using wire::Type;
  if (asked || now_us < quiet_until_us) return std::nullopt;
  if (!described) return Type::hello;
  if (misfit || misfit_in_rig) return Type::hello;  // perhaps the right board is there now
  if (!silent() && goal == Goal::stop) return Type::stop;
  if (!silent() && (goal == Goal::disarm || !configured()))  // only a silent board takes a configuration
    return state == wire::State::disarming ? std::nullopt : std::optional(Type::disarm);
  if (!configured()) return Type::configure;
  if (clock.known()) {
    const auto drift_us = clock_told_us ? static_cast<std::int32_t>(clock.offset_us(now_us) - *clock_told_us) : INT32_MAX;
    if (!clock_told_us || (now_us - clock_told_at_us >= kClockEvery_us && std::abs(drift_us) >= kClockWorthTelling_us))
      return Type::clock;
  }
  if (goal != Goal::arm || !clock_told_us) return std::nullopt;
  if (!armed_by_us || !wire::armed(state)) return Type::arm;
  if (!reported) return Type::query;
  return std::nullopt;
}

}  // namespace mien::link
