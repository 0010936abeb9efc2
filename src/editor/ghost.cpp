#include "editor/ghost.hpp"

#include <algorithm>

namespace mien::editor {
namespace {

constexpr std::int64_t kMostGhostTicks = 100;  ///< made up for at once: a second

}  // namespace

void Ghost::set_rig(std::shared_ptr<const show::Rig> rig) {
  rig_ = std::move(rig);
  servos_.clear();
  const double tick_s = 1.0 / std::max(1, rig_->tick_hz);
  for (const show::Actuator& a : rig_->actuators) servos_.emplace_back(motion::figures_of(*rig_, a), a.rest_deg, tick_s);
  states_.assign(servos_.size(), {});
  position_deg_.clear();
  standing_ = false;
}

void Ghost::stand(const perform::Report& report) {
  setpoint_deg_.assign(report.setpoint_deg.begin(), report.setpoint_deg.begin() + static_cast<std::ptrdiff_t>(servos_.size()));
  position_deg_ = setpoint_deg_;
  for (std::size_t i = 0; i < servos_.size(); ++i) states_[i] = {setpoint_deg_[i], 0, 0, 0};
}

// Playing, show time goes with the ticks; a sound's clock may be a little off them. Paused, it stands.
bool Ghost::jumped(const perform::Report& report, std::int64_t ticks) const noexcept {
  const show::Time tick{1'000'000'000 / std::max(1, rig_->tick_hz)}, went = report.time - time_;
  return went < show::Time{0} || went > (ticks + 4) * tick;
}

void Ghost::follow(const perform::Report& report) {
  if (!rig_ || report.actuators != static_cast<int>(servos_.size())) return;
  const auto ticks = static_cast<std::int64_t>(report.lateness.ticks - ticks_);
  const bool anew = !standing_ || ticks < 0 || ticks > kMostGhostTicks || jumped(report, ticks);
  ticks_ = report.lateness.ticks;
  time_ = report.time;
  standing_ = true;
  if (anew) return stand(report);
  for (std::size_t i = 0; i < servos_.size(); ++i) {
    const double from = setpoint_deg_[i], to = report.setpoint_deg[i];
    for (std::int64_t n = 1; n <= ticks; ++n)
      servos_[i].follow(states_[i], from + (to - from) * static_cast<double>(n) / static_cast<double>(ticks));
    setpoint_deg_[i] = to;
    position_deg_[i] = states_[i].position_deg;
  }
}

}  // namespace mien::editor
