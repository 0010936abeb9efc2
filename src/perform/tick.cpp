#include "perform/tick.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <span>

#include "motion/linkage.hpp"

namespace mien::perform {
namespace {

std::size_t at(int i) noexcept { return static_cast<std::size_t>(i); }

void read_curves(const Plan& plan, Head& head, show::Time t, Tick& out) noexcept {
  head.cursors.at(t, plan.controls(), out.control.data());
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
}

void keep_apart(const Plan& plan, Head& head, Tick& out) noexcept {
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
  keep_apart(plan, head, out);
}

void tick(const Plan& plan, Head& head, show::Time t, double velocity_share, Tick& out) noexcept {
  aim(plan, head, t, out);
  if (plan.map->rows.empty()) {
    motion::step(head.limiter, plan.limits, out.allowed_deg, velocity_share);
  } else {
    const motion::LimiterState before = head.limiter;
    motion::step(head.limiter, plan.limits, out.allowed_deg, velocity_share);
    motion::guard(before, head.limiter, plan.limits, plan.map->rows, head.workspace, velocity_share);
  }
  std::copy_n(head.limiter.position_deg.begin(), plan.rest_deg.size(), out.setpoint_deg.begin());
}

void load(Head& head, const Plan& plan) noexcept {
  for (int c = 0; c < plan.controls(); ++c)
    head.cursors.put(c, motion::Cursor(plan.channel_of[at(c)], plan.shapes.get(), plan.control_rest[at(c)]));
}

void stand_at(Head& head, const Plan& plan, show::Time t) noexcept {
  load(head, plan);
  Tick at_t;
  aim(plan, head, t, at_t);
  for (int a = 0; a < plan.actuators(); ++a)
    motion::seed(head.limiter, plan.limits, a, at_t.allowed_deg[at(a)], 0, plan.rest_deg[at(a)]);
}

}  // namespace mien::perform
