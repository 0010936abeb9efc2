#include "perform/tick.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <span>

#include "motion/index.hpp"
#include "motion/linkage.hpp"

namespace mien::perform {
namespace {

using motion::at;

void read_curves(const Plan& plan, Head& head, show::Time t, Tick& out) noexcept {
  head.cursors.at(t, plan.controls(), out.control.data());
  const show::Time life = head.cues.live ? show::Time{head.cues.life_ns} : t;
  if (plan.mix) mix(*plan.mix, head.mixed, plan.shapes.get(), plan.control_rest, t, life, out.control.data());
  lay(plan.cues.get(), head.cues, plan.stepped, out.control);
  if (plan.hands) live::play(*plan.hands, head.hands, plan.limits.tick_s, out.control);
  for (std::size_t c = 0; c < plan.control_rest.size(); ++c) {
    const double value = out.control[c], low = plan.control_min[c], high = plan.control_max[c];
    out.control[c] = value < low ? low : value > high ? high : value;
  }
}

// Both eyes look at the point that yaw and distance name, seen from the middle between them; each from half the distance between the eyes
// to its side.
void turn_eyes(const RigMap& map, Tick& out) noexcept {
  constexpr double kDeg = std::numbers::pi / 180;
  const double yaw = out.control[at(map.eyes->yaw)] * kDeg, distance = out.control[at(map.eyes->distance)];
  const double aside = distance * std::sin(yaw), ahead = distance * std::cos(yaw);
  out.control[at(map.controls)] = std::atan2(aside - map.eyes->half_ipd_mm, ahead) / kDeg;
  out.control[at(map.controls) + 1] = std::atan2(aside + map.eyes->half_ipd_mm, ahead) / kDeg;
}

double x_of(const RigMap& map, int index, const Tick& out) noexcept {
  const RigMap::Axis& axis = map.axes[at(index)];
  double x = axis.offset;
  for (int n = axis.first_term; n < axis.end_term; ++n) x += map.terms[at(n)].weight * out.control[at(map.terms[at(n)].input)];
  return axis.closing < 0 ? x : x + (axis.closed_at - x) * out.control[at(axis.closing)];
}

void turn_servos(const RigMap& map, Tick& out) noexcept {
  for (std::size_t a = 0; a < map.rest_deg.size(); ++a) out.target_deg[a] = map.rest_deg[a];  // where one stays that nothing moves
  for (const auto& part : map.straight) out.target_deg[at(part.actuator)] = x_of(map, part.axis, out);
  for (const auto& part : map.bent) out.target_deg[at(part.actuator)] = part.angle_deg.beyond(x_of(map, part.axis, out));
  for (const auto& part : map.coupled) {
    const auto servos = motion::servos_deg(part.gains, {x_of(map, part.axis, out), x_of(map, part.axis + 1, out)});
    out.target_deg[at(part.first)] += servos.left;
    out.target_deg[at(part.second)] += servos.right;
  }
  for (const auto& part : map.plates) {
    const motion::PitchRoll pose{x_of(map, part.axis, out) + part.rest.pitch_deg, x_of(map, part.axis + 1, out) + part.rest.roll_deg};
    const motion::LeftRight servos = motion::servos_deg(part.plate, pose).deg;
    out.target_deg[at(part.first)] = servos.left, out.target_deg[at(part.second)] = servos.right;
  }
}

void allow(const Plan& plan, Head& head, Tick& out) noexcept {
  out.allowed_deg = out.target_deg;
  if (plan.map->rows.empty()) return;
  const auto count = plan.rest_deg.size();
  motion::project(std::span(out.allowed_deg).first(count), std::span(plan.limits.min_deg).first(count), std::span(plan.limits.max_deg).first(count),
                  plan.map->rows, head.workspace.project);
}

}  // namespace

void aim(const RigMap& map, Tick& out) noexcept {
  if (map.eyes) turn_eyes(map, out);
  turn_servos(map, out);
}

void aim(const Plan& plan, Head& head, show::Time t, Tick& out) noexcept {
  out.time = t;
  read_curves(plan, head, t, out);
  aim(*plan.map, out);
  allow(plan, head, out);
}

namespace {

// Marks the actuators that are elsewhere now than they were wished to be.
void mark(const Plan& plan, const std::array<double, show::kMaxActuators>& wish_deg, const Head& head, Held why, Tick& out) noexcept {
  constexpr double kTold_deg = 1e-6;
  for (std::size_t a = 0; a < plan.rest_deg.size(); ++a)
    if (std::abs(wish_deg[a] - head.limiter.position_deg[a]) > kTold_deg) out.held[a] = why;
}

void spare_rails(const Plan& plan, Head& head, const motion::LimiterState& before, double velocity_share, Tick& out) noexcept {
  const auto wish_deg = head.limiter.position_deg;
  govern(plan.governed, plan.servos, head.governor, before, head.limiter, out.allowed_deg, velocity_share);
  mark(plan, wish_deg, head, Held::for_rail, out);
}

void keep_apart(const Plan& plan, Head& head, const motion::LimiterState& before, double velocity_share, Tick& out) noexcept {
  const auto wish_deg = head.limiter.position_deg;
  if (motion::guard(before, head.limiter, head.slowed ? *head.slowed : plan.limits, plan.map->rows, head.workspace, velocity_share).rounds > 0)
    mark(plan, wish_deg, head, Held::for_constraint, out);
}

void follow(const Plan& plan, Head& head, Tick& out) noexcept {
  std::array<double, kMostGoverned> current_a;
  follow(plan.governed, plan.servos, head.governor, head.limiter.position_deg, current_a);
  for (std::size_t r = 0; r < plan.governed.size(); ++r) {
    const GovernedRail& rail = plan.governed[r];
    out.rail[r] = {static_cast<std::int16_t>(rail.board), static_cast<std::int16_t>(rail.rail), static_cast<float>(head.governor.share[r]), static_cast<float>(current_a[r])};
  }
}

}  // namespace

void tick(const Plan& plan, Head& head, show::Time t, double velocity_share, Tick& out) noexcept {
  aim(plan, head, t, out);
  const motion::Limits& limits = head.slowed ? *head.slowed : plan.limits;
  out.held.fill(Held::no);
  const bool governed = !plan.governed.empty(), constrained = !plan.map->rows.empty();
  if (!governed && !constrained) {
    motion::step(head.limiter, limits, out.allowed_deg, velocity_share);
  } else {
    const motion::LimiterState before = head.limiter;
    motion::step(head.limiter, limits, out.allowed_deg, velocity_share);
    if (governed) spare_rails(plan, head, before, velocity_share, out);
    if (constrained) keep_apart(plan, head, before, velocity_share, out);
    if (governed) follow(plan, head, out);
  }
  std::copy_n(head.limiter.position_deg.begin(), plan.rest_deg.size(), out.setpoint_deg.begin());
}

void load(Head& head, const Plan& plan) noexcept {
  for (int c = 0; c < plan.controls(); ++c)
    head.cursors.put(c, motion::Cursor(plan.channel_of[at(c)], plan.shapes.get(), plan.control_rest[at(c)]));
  load(head.mixed, plan.mix.get(), plan.shapes.get(), plan.control_rest);
  load(head.cues, plan.cues.get(), plan.shapes.get(), plan.control_rest);
  live::load(head.hands, plan.hands.get());
}

void stand_at(Head& head, const Plan& plan, show::Time t) noexcept {
  load(head, plan);
  Tick at_t;
  aim(plan, head, t, at_t);
  for (int a = 0; a < plan.actuators(); ++a)
    motion::seed(head.limiter, plan.limits, a, at_t.allowed_deg[at(a)], 0, plan.rest_deg[at(a)]);
  head.governor.standing = false;
}

}  // namespace mien::perform
