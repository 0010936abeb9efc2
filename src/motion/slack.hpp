// How near a row comes to being broken while everything brakes: what the guard judges a tick's steps by.
#pragma once
#include <span>

#include "motion/project.hpp"

namespace mien::motion {

/// The way that an actuator makes in m ticks of braking, of which the first is `size` long and each next one `change` shorter.
inline double braking_way(double size, double change, double m) noexcept { return m * size - 0.5 * change * m * (m - 1); }

/// The least slack of a row on the way to a stand when x moves by `step` on the next tick and brakes at the limits from then on, and
/// the tick, counted from that step, at which it comes.
struct LeastSlack {
  double slack = 0;
  double tick = 0;
};
LeastSlack least_slack(const Row& row, std::span<const double> position_deg, std::span<const double> step_deg,
                       std::span<const double> change_deg) noexcept;

}  // namespace mien::motion
