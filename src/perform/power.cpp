#include "perform/power.hpp"

#include <algorithm>
#include <cmath>

#include "motion/index.hpp"
#include "perform/render.hpp"

namespace mien::perform {
namespace {

using motion::at;

constexpr std::int64_t kTicksPerReport = 256;  // between two calls of progress

void note(Moment& most, double current_a, show::Time time) noexcept {
  if (current_a > most.current_a) most = {current_a, time};
}

class Meter {
 public:
  explicit Meter(const Plan& plan) : plan_(plan) {
    const show::Rig& rig = *plan.rig;
    const auto count = at(plan.actuators());
    board_of_.assign(count, -1), rail_of_.assign(count, -1);
    result_.actuator_peak.resize(count);
    result_.board_peak.resize(rig.boards.size());
    for (std::size_t b = 0; b < rig.boards.size(); ++b) add_board(static_cast<int>(b));
    for (std::size_t a = 0; a < count; ++a) add_actuator(static_cast<int>(a));
    now_.actuator_a.resize(count), now_.board_a.resize(rig.boards.size()), now_.rail_a.resize(result_.rails.size());
    windows_.assign(result_.rails.size(), motion::SlidingRms(rig.tick_hz));
  }

  const Currents& see(const Tick& tick) {
    if (states_.empty())
      for (std::size_t a = 0; a < board_of_.size(); ++a) states_.push_back({.position_deg = tick.setpoint_deg[a]});
    now_.time = tick.time;
    std::fill(now_.board_a.begin(), now_.board_a.end(), 0.0), std::fill(now_.rail_a.begin(), now_.rail_a.end(), 0.0);
    for (std::size_t a = 0; a < states_.size(); ++a) {
      plan_.servos[a].follow(states_[a], tick.setpoint_deg[a]);
      const double current = now_.actuator_a[a] = states_[a].current_a;
      if (board_of_[a] >= 0) now_.board_a[at(board_of_[a])] += current;
      if (rail_of_[a] >= 0) now_.rail_a[at(rail_of_[a])] += current;
      note(result_.actuator_peak[a], current, now_.time);
    }
    for (std::size_t b = 0; b < now_.board_a.size(); ++b) note(result_.board_peak[b], now_.board_a[b], now_.time);
    for (std::size_t r = 0; r < now_.rail_a.size(); ++r) see_rail(r);
    return now_;
  }

  Power result(bool whole) && {
    result_.whole = whole;
    for (RailPower& rail : result_.rails) {
      rail.load.peak_a = rail.peak.current_a, rail.load.rms_a = rail.rms.current_a;
      rail.drop_v = rail.feed.wire.area_mm2 > 0 ? motion::drop_v(rail.feed.wire, rail.load.peak_a) : 0;
    }
    return std::move(result_);
  }

 private:
  void add_board(int board) {
    const auto& rails = plan_.rig->boards[at(board)].rails;
    for (std::size_t r = 0; r < rails.size(); ++r) {
      RailPower rail;
      rail.board = board, rail.rail = static_cast<int>(r), rail.feed = feed_of(rails[r]);
      result_.rails.push_back(std::move(rail));
    }
  }

  void add_actuator(int index) {
    const show::Rig& rig = *plan_.rig;
    const show::Actuator& a = rig.actuators[at(index)];
    const double stall = motion::figures_of(rig, a).stall_current_a;
    result_.actuator_stall_a.push_back(stall);
    result_.assumed += a.servo.empty();
    const auto board = std::find_if(rig.boards.begin(), rig.boards.end(), [&](const show::Board& b) { return b.name == a.board; });
    if (board == rig.boards.end()) return;
    board_of_[at(index)] = static_cast<int>(board - rig.boards.begin());
    for (std::size_t r = 0; r < result_.rails.size(); ++r) {
      RailPower& rail = result_.rails[r];
      if (rail.board != board_of_[at(index)] || board->rails[at(rail.rail)].name != a.rail) continue;
      rail_of_[at(index)] = static_cast<int>(r);
      rail.actuators.push_back(index);
      ++rail.load.actuators, rail.load.stall_a += stall, rail.load.stuck_a = std::max(rail.load.stuck_a, stall);
      return;
    }
  }

  void see_rail(std::size_t r) {
    RailPower& rail = result_.rails[r];
    const double current = now_.rail_a[r];
    note(rail.peak, current, now_.time);
    note(rail.rms, windows_[r].add(current), now_.time);
    rail.charge_as += current * show::to_seconds(plan_.tick);
    const double most = motion::kContinuousShare * rail.feed.supply_a;
    if (!(most > 0 && current > most)) return;
    const bool goes_on = !rail.over.empty() && now_.time - rail.over.back().range.end < kMomentsApart;
    if (!goes_on) rail.over.push_back({{now_.time, now_.time}, {}});
    rail.over.back().range.end = now_.time + plan_.tick;
    note(rail.over.back().worst, current, now_.time);
  }

  const Plan& plan_;
  Power result_;
  Currents now_;
  std::vector<int> board_of_, rail_of_;  // by actuator; -1: none
  std::vector<motion::ServoState> states_;
  std::vector<motion::SlidingRms> windows_;
};

}  // namespace

Power power(const Plan& plan, const std::function<bool(double)>& progress, const std::function<void(const Currents&)>& each) {
  Meter meter(plan);
  const auto count = static_cast<double>(tick_count(plan));
  std::int64_t n = 0;
  const bool whole = render(plan, [&](const Tick& tick) {
    const Currents& now = meter.see(tick);
    if (each) each(now);
    return !progress || ++n % kTicksPerReport != 0 || progress(static_cast<double>(n) / count);
  });
  return std::move(meter).result(whole);
}

motion::Feed feed_of(const show::Rail& rail) noexcept {
  motion::Feed feed{rail.voltage_v, rail.rating_a, rail.connector_a, rail.fuse_a, {}};
  if (rail.wire) feed.wire = {rail.wire->awg ? motion::awg_area_mm2(rail.wire->awg) : rail.wire->area_mm2, rail.wire->length_m, rail.wire->temperature_c};
  return feed;
}

std::string place_of(const show::Rig& rig, const RailPower& rail) {
  const show::Board& board = rig.boards[at(rail.board)];
  return "board '" + board.name + "', rail '" + board.rails[at(rail.rail)].name + "'";
}

show::Findings findings_of(const show::Rig& rig, const Power& power, const std::string& file) {
  show::Findings findings;
  for (const RailPower& rail : power.rails) {
    if (rail.actuators.empty()) continue;
    show::Findings found = motion::check(rail.feed, rail.load);
    if (!(rail.feed.supply_a > 0)) found.erase(found.begin());  // that it has none
    for (show::Finding& finding : found) {
      finding.file = file, finding.place = place_of(rig, rail);
      findings.push_back(std::move(finding));
    }
  }
  return findings;
}

}  // namespace mien::perform
