#include "link/peer.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "link/conversation_parts.hpp"

namespace mien::link {
namespace {

constexpr std::int64_t kClockEvery_us = 100'000;
constexpr std::int64_t kClockAtLeastEvery_us = 60'000'000;
constexpr double kClockWorthTelling_us = 5;

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

wire::Timing timing_of(const show::Actuator& a) {
  wire::Timing timing;
  timing.output = static_cast<std::uint8_t>(a.output);
  timing.period_us = static_cast<std::uint16_t>(whole(std::floor(1e6 / std::max(a.pulse_rate_hz, 1.0)), wire::kShortestPeriod_us, wire::kLongestPeriod_us));
  timing.phase_us = static_cast<std::uint16_t>(whole(a.pulse_offset_us, 0, timing.period_us - 1));
  return timing;
}

std::uint16_t milliamperes(double a) noexcept { return static_cast<std::uint16_t>(whole(a * 1000, 0, 65535)); }

void put(wire::ChannelSetup&, const show::Switch&, const show::Board&) {}

void put(wire::ChannelSetup& c, const show::Dimmer&, const show::Board&) { c.kind = wire::ChannelKind::dimmer; }

void put(wire::ChannelSetup& c, const show::Fan& fan, const show::Board& board) {
  c.kind = wire::ChannelKind::fan;
  c.rail = wire::kEstimated;
  for (std::size_t i = 0; i < board.rails.size(); ++i)
    if (!fan.rail.empty() && board.rails[i].name == fan.rail) c.rail = static_cast<std::uint8_t>(i);
  c.draw_ma = milliamperes(fan.draw_a), c.on_ma = milliamperes(fan.on_a), c.off_ma = milliamperes(fan.off_a);
  c.smooth_s = static_cast<std::uint8_t>(whole(fan.smooth_s, 1, 255));
}

void put(wire::ChannelSetup& c, const show::Code& code, const show::Board&) {
  c.kind = wire::ChannelKind::code;
  c.lines = static_cast<std::uint8_t>(whole(code.lines, 0, 255));
  c.order = code.strobe < 0 ? wire::CodeOrder::gray : wire::CodeOrder::strobe;
  c.strobe = static_cast<std::uint8_t>(whole(code.strobe, 0, 255));
  c.settle_ms = static_cast<std::uint16_t>(whole(std::ceil(code.settle_ms), 0, 65535));
}

wire::ChannelSetup channel_of(const show::Rig& rig, const show::Auxiliary& a, const show::Board& board) {
  wire::ChannelSetup c;
  c.line = static_cast<std::uint8_t>(whole(a.line, 0, 255));
  std::visit([&](const auto& kind) { put(c, kind, board); }, a.kind);
  for (const auto& control : rig.controls)
    if (control.name == a.control) c.rest = show::auxiliary_value(a, control, control.rest);
  return c;
}

void add_auxiliaries(Peer& peer, const show::Rig& rig, const show::Board& board) {
  auto& all = peer.limits;
  for (std::size_t i = 0; i < rig.auxiliaries.size() && i < show::kMaxAuxiliaries && all.channels < wire::kMaxChannels; ++i) {
    if (rig.auxiliaries[i].board != board.name) continue;
    auto setup = channel_of(rig, rig.auxiliaries[i], board);
    setup.channel = all.channels;
    if (!wire::sane(setup))
      peer.misfit_in_rig = finding("auxiliary " + rig.auxiliaries[i].name, "No board accepts its lines or figures", "Let 'mien check' tell what is wrong with it");
    peer.auxiliary[all.channels] = static_cast<int>(i);
    all.channel[all.channels++] = setup;
  }
}

std::optional<std::uint64_t> identity_of(const show::Board& board) {
  std::uint64_t identity = 0;
  const auto* end = board.identity.data() + board.identity.size();
  const auto [at, error] = std::from_chars(board.identity.data(), end, identity, 16);
  return error == std::errc{} && at == end && !board.identity.empty() ? std::optional(identity) : std::nullopt;
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
    if (index >= 0) {
      const auto& actuator = rig.actuators[static_cast<std::size_t>(index)];
      all.outputs[all.count++] = limits_of(actuator, rig.tick_hz);
      const auto timing = timing_of(actuator);
      if (timing.period_us != wire::kPeriod_us || timing.phase_us != 0) all.timing[all.timings++] = timing;
    }
  peer.checksum = wire::checksum(all);
}

Peer peer_of(const show::Rig& rig, const show::Board& board) {
  Peer peer;
  peer.name = board.name;
  peer.address = board.address;
  for (const auto& rail : board.rails) peer.rail_name.push_back(rail.name);
  peer.actuator.fill(-1);
  peer.auxiliary.fill(-1);
  peer.identity = identity_of(board);
  if (board.address < 0 || board.address >= wire::kNoAddress)
    peer.misfit_in_rig = finding("board " + board.name, "Its address is outside 0 to 253", "Give it its place in the chain, 0 first");
  for (std::size_t i = 0; i < rig.actuators.size() && i < show::kMaxActuators; ++i)
    if (rig.actuators[i].board == board.name) add_actuator(peer, rig.actuators[i], static_cast<int>(i), rig.tick_hz);
  add_auxiliaries(peer, rig, board);
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
  described = armed_by_us = reported = astray = report_came = false;
  standing = Standing::expected;
  missed_since_us = 0;
  description = {};
  misfit.reset();
  state = wire::State::unconfigured;
  clock = {};
  clock_told.reset();
  asked.reset();
  unanswered = 0;
  quiet_until_us = next_heartbeat_us = next_report_us = 0;
  refusal.reset();
}

void Peer::take(const wire::Description& said) {
  described = true;
  description = said;
  state = said.state;
  misfit.reset();
  standing = Standing::expected;
  for (int output = said.outputs; output < wire::kMaxOutputs; ++output)
    if (actuator[static_cast<std::size_t>(output)] >= 0)
      misfit = finding("board " + name,
                       "It has " + std::to_string(said.outputs) + " outputs, but actuator " +
                           actuator_name[static_cast<std::size_t>(output)] + " is on output " + std::to_string(output),
                       "Connect the board that the rig describes, or move the actuator to an output that this one has");
  for (int i = 0; i < limits.channels; ++i)
    if (wire::lines_of(limits.channel[i]) >> said.lines != 0)
      misfit = finding("board " + name, "It has " + std::to_string(said.lines) + " digital lines, fewer than the rig's auxiliaries use",
                       "Connect the board that the rig describes, or move the auxiliary to a line that this one has");
}

double Peer::clock_error_us(std::int64_t now_us) const {
  const auto offset_us = clock.offset_us(now_us);
  const auto board_us = static_cast<std::uint32_t>(now_us) - offset_us;
  const auto elapsed_us = static_cast<std::int32_t>(board_us - clock_told->board_us);
  return static_cast<std::int32_t>(clock_told->offset_us - offset_us) + elapsed_us * (clock_told->rate_ppb * 1e-9);
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
    const auto since_us = now_us - clock_told_at_us;
    if (!clock_told || since_us >= kClockAtLeastEvery_us || (since_us >= kClockEvery_us && std::abs(clock_error_us(now_us)) >= kClockWorthTelling_us))
      return Type::clock;
  }
  if (goal != Goal::arm || !clock_told) return std::nullopt;
  if (!armed_by_us || !wire::armed(state)) return Type::arm;
  if (!reported) return Type::query;
  return std::nullopt;
}

}  // namespace mien::link
