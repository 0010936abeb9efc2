#include "perform/blame.hpp"

#include <algorithm>
#include <cmath>

namespace mien::perform {
namespace {

constexpr double kStillShare = 0.3;  // of the tolerance: a segment that moves an actuator by less asks for nothing
constexpr int kMostBack = 64;        // ticks before a stretch in which its mover is looked for
constexpr int kLooks = 64;           // samples of a stretch: enough to tell who moves

/// The first key later than t; keys.size() where none is.
std::size_t after(const std::vector<show::Keyframe>& keys, show::Time t) noexcept {
  return static_cast<std::size_t>(std::upper_bound(keys.begin(), keys.end(), t, [](show::Time at, const auto& key) { return at < key.time; }) - keys.begin());
}

/// Of a channel that has keys; the earlier one of two as near.
std::size_t nearest(const std::vector<show::Keyframe>& keys, show::Time t) noexcept {
  const std::size_t next = std::min(after(keys, t), keys.size() - 1);
  return next > 0 && t - keys[next - 1].time <= keys[next].time - t ? next - 1 : next;
}

}  // namespace

Blame::Blame(const Plan& plan) : plan_(plan), influences_(static_cast<std::size_t>(plan.actuators())) {
  for (const auto& i : plan.map->influences) influences_[static_cast<std::size_t>(i.actuator)].push_back({i.control, i.deg_per_unit});
}

double Blame::target(int actuator, show::Time t) noexcept {
  if (!head_) {
    head_ = std::make_unique<Head>();
    load(*head_, plan_);
  }
  aim(plan_, *head_, t, tick_);
  const auto a = static_cast<std::size_t>(actuator);
  return std::clamp(tick_.target_deg[a], plan_.limits.min_deg[a], plan_.limits.max_deg[a]);
}

double Blame::value(int control, show::Time t) const noexcept {
  const auto c = static_cast<std::size_t>(control);
  if (!plan_.channel_of[c]) return plan_.control_rest[c];
  return std::clamp(motion::evaluate(*plan_.channel_of[c], t, plan_.control_rest[c]), plan_.control_min[c], plan_.control_max[c]);
}

double Blame::mixed(int control, show::Time t) noexcept {
  target(0, t);
  return tick_.control[static_cast<std::size_t>(control)];
}

// Names the layer where the actuator was moved by one: where the control that moved it most moved mainly because of it.
Blame::Asked Blame::by_layer(int actuator, show::Time from, show::Time to) noexcept {
  Asked asked;
  if (!plan_.mix) return asked;
  double most = 0;
  for (const auto& [control, weight] : on(actuator)) {
    double low = 1e300, high = -1e300, own_low = 1e300, own_high = -1e300;
    for (show::Time t = from; t <= to; t += std::max(plan_.tick, (to - from) / kLooks)) {
      const double x = mixed(control, t), own = value(control, t);
      low = std::min(low, x), high = std::max(high, x), own_low = std::min(own_low, own), own_high = std::max(own_high, own);
    }
    const double moved = std::abs(weight) * (high - low);
    if (!(moved > most)) continue;
    most = moved;
    asked.layer = 2 * (own_high - own_low) < high - low ? plan_.mix->layer_on(control) : -1;
  }
  return asked;
}

int Blame::mover(int actuator, show::Time from, show::Time to) const noexcept {
  const show::Time step = std::max(plan_.tick, (to - from) / kLooks);
  int most = -1;
  double most_moved = 1e-9;
  for (const auto& [control, weight] : on(actuator)) {
    const auto* channel = plan_.channel_of[static_cast<std::size_t>(control)];
    if (!channel || channel->keys.empty()) continue;
    double low = value(control, to), high = low;
    for (show::Time t = from; t < to; t += step) {
      const double v = value(control, t);
      low = std::min(low, v), high = std::max(high, v);
    }
    const double moved = std::abs(weight) * (high - low);
    if (moved > most_moved) most = control, most_moved = moved;
  }
  return most;
}

bool Blame::moves(int actuator, const std::vector<show::Keyframe>& keys, std::size_t into) noexcept {
  if (into == 0 || keys[into].value == keys[into - 1].value) return false;
  return std::abs(target(actuator, keys[into].time) - target(actuator, keys[into - 1].time)) > kStillShare * plan_.rig->tolerance_deg;
}

int Blame::mover_before(int actuator, show::Time begin, show::Time worst) const noexcept {
  // What ran past a stop may have met the target for a while before it parted.
  for (int back = 2; back <= kMostBack; back *= 2) {
    const int control = mover(actuator, begin - back * plan_.tick, worst);
    if (control >= 0) return control;
  }
  return -1;
}

Blame::Asked Blame::late(int actuator, show::Time begin, show::Time worst, double sign) {
  if (const Asked asked = by_layer(actuator, begin - 2 * plan_.tick, worst + plan_.tick); asked.layer >= 0) return asked;
  Asked asked;
  asked.control = mover_before(actuator, begin, worst);
  if (asked.control < 0) return asked;
  const auto& keys = plan_.channel_of[static_cast<std::size_t>(asked.control)]->keys;
  const auto from_deg = [&](std::size_t k) { return target(actuator, keys[k == 0 ? 0 : k - 1].time); };
  // The key that the curve is on its way to, or has jumped to since they last met, where that is the way in which the setpoint was left.
  std::size_t moved_to = keys.size();
  for (std::size_t k = after(keys, begin - plan_.tick); k < keys.size(); ++k) {
    if (moves(actuator, keys, k)) {
      moved_to = k;
      const double from = from_deg(k), to = target(actuator, keys[k].time);
      if ((to - from) * sign > 0) return {asked.control, -1, k, from, to, false};
    }
    if (keys[k].time > begin) break;
  }
  // Otherwise the setpoint ran past the curve where that braked, stopped or turned.
  std::size_t stop = moved_to;
  if (stop == keys.size()) {
    stop = std::max<std::size_t>(after(keys, begin), 1) - 1;
    while (stop > 0 && !moves(actuator, keys, stop)) --stop;
  }
  return {asked.control, -1, stop, from_deg(stop), target(actuator, keys[stop].time), true};
}

Blame::Asked Blame::clipped(int actuator, show::Time worst, double sign) {
  Asked asked;
  double most = 0;
  if (plan_.mix) {
    for (const auto& [control, weight] : on(actuator)) {
      const auto c = static_cast<std::size_t>(control);
      const double push = weight * (mixed(control, worst) - plan_.control_rest[c]) * sign;
      if (!(push > most)) continue;
      most = push;
      asked.layer = 2 * weight * (value(control, worst) - plan_.control_rest[c]) * sign < push ? plan_.mix->layer_on(control) : -1;
    }
    if (asked.layer >= 0) return asked;
    most = 0;
  }
  for (const auto& [control, weight] : on(actuator)) {
    const auto c = static_cast<std::size_t>(control);
    if (!plan_.channel_of[c] || plan_.channel_of[c]->keys.empty()) continue;
    const double push = weight * (value(control, worst) - plan_.control_rest[c]) * sign;
    if (push > most) asked.control = control, most = push;
  }
  if (asked.control < 0) return asked;
  const auto& keys = plan_.channel_of[static_cast<std::size_t>(asked.control)]->keys;
  asked.key = nearest(keys, worst);
  const auto a = static_cast<std::size_t>(actuator);
  asked.to_deg = sign > 0 ? plan_.limits.max_deg[a] : plan_.limits.min_deg[a];
  asked.from_deg = asked.key ? target(actuator, keys[asked.key - 1].time) : asked.to_deg;
  return asked;
}

}  // namespace mien::perform
