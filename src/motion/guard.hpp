// Constraints while moving: the limiter steers each actuator alone, and two that both brake in time for their own ends may still
// meet each other. The guard draws the limiter's steps in, as little as it can, so that no row is ever broken, no limit of travel,
// velocity or acceleration either, and every state can still be stopped.
//
// Words, in the limiter's units: x positions, s the way moved in a tick, d the most that s may change by. Braking all actuators at
// their limits from a step s moves actuator i on by, in the ticks 0..k counted from that step,
//   P_k(s) = sgn(s) * (m |s| - d m (m - 1) / 2),  m = min(k + 1, ceil(|s| / d)).
// A state (x, s) is safe when braking everything from it breaks nothing on its way: a row with weights w and slack c at x has
//   c + sum_i w_i P_k(brake(s)_i) >= 0 for all k,  brake(s) = sgn(s) max(|s| - d, 0),
// and likewise for the ends of travel. So "anything may stop as hard as it can, at any moment, and nothing collides".
//
// From a safe state there is always a safe next one: brake. Its future is the tail of the very motion that was found to be good;
// the limits hold by the meaning of d. So the guard never lacks an answer, and by induction nothing is broken, ever. What it adds
// is to brake no more than needed: of the steps s' from which
//   S_k(s') = c + sum_i w_i P_k(s'_i) >= 0 for all k,
// with |s' - s| <= d, |s'| <= the velocity limit, and the ends of travel in reach, it takes one nearest to the limiter's.
//
// How: s' of one actuator is free in [s - d, s + d], which starts or ends at its braked step b, or holds b = 0 inside. Where it
// closes a row (w_i s'_i < 0), w_i P_k is concave in s'_i. Where it opens the row, w_i P_k is convex and lies above its tangent at
// b, which stands in for it. So M_k <= S_k with M_k concave and M_k = S_k at b: {M_k >= 0} is convex, safe, and holds b. Least
// squares over it goes by cutting planes (Kelley 1960): project (motion/project.hpp), cut where the worst k of a row is still below
// zero, project again. M_k is made of few straight pieces, so few rounds do; whatever they leave is mended by going back toward b
// on the straight line, until it is safe. What is let through is judged by S, not by M.
//
// A state that isn't safe (a rest pose that breaks a row, seeded positions) is never made worse: each row then only asks for
// what braking would give, and the targets, which project() has put inside, lead out.
// The guard can't hold a head for ever at a place short of allowed targets: at a standstill the limiter's steps have the signs of
// the ways to the targets, so they have a positive product with the direction to them, which stays inside the convex rows.
#pragma once
#include <span>

#include "motion/limiter.hpp"
#include "motion/project.hpp"
#include "motion/slack.hpp"

namespace mien::motion {

/// Scratch of guard(), for the caller to keep. Holds nothing from one call to the next.
struct GuardWorkspace {
  static constexpr int kMostCuts = 96;
  int most_rounds = 12;  ///< fewer are as safe and brake more than needed
  std::array<Row, kMostCuts> cuts;
  ProjectWorkspace project;
};

struct Guarded {
  int rows = 0;    ///< rows that made a difference on this tick
  int rounds = 0;  ///< projections it took; 0 when the limiter's steps were safe as they were
  bool fell_back = false;  ///< the rounds left something over and the straight line toward braking mended it
};

/// Draws `next`, what step() made of `before` under the same limits and velocity_share, in to a safe state. Rows name actuators below
/// limits.count and should be met by `before`; where they are not, see above. Bounded work, no allocation.
Guarded guard(const LimiterState& before, LimiterState& next, const Limits& limits, std::span<const Row> rows,
              GuardWorkspace& workspace, double velocity_share = 1) noexcept;

}  // namespace mien::motion
