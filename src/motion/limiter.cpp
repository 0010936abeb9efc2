#include "motion/limiter.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>

namespace mien::motion {
namespace {

// S^-1 without branches. The least whole k with D <= d k (k + 1) / 2 comes from the root; truncation instead of ceil() because
// every vector unit has it. A k that rounding put one too high or too low gives the same s to the last bits: S is continuous.
inline double inverse_way(double distance, double change, double eight_per_change) noexcept {
  const double root = std::sqrt(1 + distance * eight_per_change);
  const double below = static_cast<double>(static_cast<int>(0.5 * root + (0.5 - 1e-12)));  // k = ceil((root - 1) / 2)
  const double k = below < 1 ? 1 : below;
  return distance / k + 0.5 * change * (k - 1);
}

inline double clamped(double x, double low, double high) noexcept {
  x = x < low ? low : x;
  return x > high ? high : x;
}

}  // namespace

double braking_way(double step, double change) noexcept {
  const double k = std::ceil(step / change);
  return k * step - 0.5 * change * k * (k - 1);
}

double braking_step(double distance, double change) noexcept { return inverse_way(distance, change, 8 / change); }

Limits limits_of(std::span<const show::Actuator> actuators, double tick_s) noexcept {
  Limits l;
  l.count = static_cast<int>(std::min<std::size_t>(actuators.size(), Limits::kMost));
  l.tick_s = tick_s;
  for (std::size_t i = 0; i < Limits::kMost; ++i) {
    const show::Actuator a = i < actuators.size() ? actuators[i] : show::Actuator{};
    l.min_deg[i] = a.min_deg;
    l.max_deg[i] = a.max_deg;
    l.step_deg[i] = a.velocity_deg_s * tick_s;
    l.change_deg[i] = a.acceleration_deg_s2 * tick_s * tick_s;
    l.eight_per_change[i] = 8 / l.change_deg[i];
    l.per_change[i] = 1 / l.change_deg[i];
  }
  return l;
}

void seed(LimiterState& state, const Limits& l, int index, double position_deg, double velocity_deg_s, double rest_deg) noexcept {
  const auto i = static_cast<std::size_t>(index);
  const double at = position_deg == position_deg ? position_deg : rest_deg;
  const double x = clamped(at, l.min_deg[i], l.max_deg[i]);
  // The step just made may be as large as one whose braking, begun on the next tick, still ends within travel.
  const double up = braking_step(l.max_deg[i] - x, l.change_deg[i]) + l.change_deg[i];
  const double down = braking_step(x - l.min_deg[i], l.change_deg[i]) + l.change_deg[i];
  const double most = l.step_deg[i];
  const double s = velocity_deg_s == velocity_deg_s ? velocity_deg_s * l.tick_s : 0;
  state.position_deg[i] = state.target_deg[i] = x;
  state.step_deg[i] = clamped(s, -std::min(most, down), std::min(most, up));
  state.pace_deg[i] = std::numeric_limits<double>::quiet_NaN();
}

namespace {

// The law for all actuators, in loops without branches that the compiler turns into vectors. Each is short on purpose: a root and a
// division in the middle of one long loop would leave the processor waiting for them instead of at work on the next actuators.

// How far each actuator is from where it should be going, and the pace to fall in with there.
struct Way {
  alignas(64) std::array<double, Limits::kMost> gap_deg, pace_deg;
};

[[gnu::always_inline]] inline void look(LimiterState& state, const Limits& l, const double* target_deg, Way& way) noexcept {
  const double* __restrict position = state.position_deg.data();
  double* __restrict last_target = state.target_deg.data();
  double* __restrict paces = state.pace_deg.data();
#pragma GCC ivdep  // no array here overlaps another
  for (int i = 0; i < l.count; ++i) {
    const double last = last_target[i], last_pace = paces[i];
    const double asked = target_deg[i] == target_deg[i] ? target_deg[i] : last;
    const double target = clamped(asked, l.min_deg[i], l.max_deg[i]);
    const double leap = target - last;
    const bool leaps = std::abs(leap) > l.step_deg[i], seeded = last_pace != last_pace;
    // Without its own step on this tick the target is where it was. What leaps goes on as it went, and then stands; but where nothing
    // went before, the way begins at once.
    const double from = seeded ? target : last, goes_on = seeded ? 0 : last_pace;
    way.gap_deg[i] = (leaps ? from : last) - position[i];
    way.pace_deg[i] = leaps ? goes_on : leap;
    last_target[i] = target;
    paces[i] = leaps ? 0 : leap;
  }
}

[[gnu::always_inline]] inline void approach(LimiterState& state, const Limits& l, const Way& way, double velocity_share) noexcept {
  double* __restrict moved = state.step_deg.data();
#pragma GCC ivdep
  for (int i = 0; i < l.count; ++i) {
    const double s = moved[i], d = l.change_deg[i], gap = way.gap_deg[i], most = l.step_deg[i] * velocity_share;
    const double toward = std::copysign(inverse_way(std::abs(gap), d, l.eight_per_change[i]), gap);
    moved[i] = clamped(clamped(way.pace_deg[i] + toward, -most, most), s - d, s + d);
  }
}

// Whether some step could not stop before the end of travel, which hold_before_ends() then mends; that needs a second root, and is rare.
[[gnu::always_inline]] inline bool overruns(const LimiterState& state, const Limits& l) noexcept {
  std::int64_t beyond = 0;
  for (int i = 0; i < l.count; ++i) {
    const double x = state.position_deg[i], s = state.step_deg[i], d = l.change_deg[i], size = std::abs(s);
    const double k = static_cast<double>(static_cast<int>(size * l.per_change[i] + (1 - 1e-12)));
    const double room = s > 0 ? l.max_deg[i] - x : x - l.min_deg[i];
    const double over = k * size - 0.5 * d * k * (k - 1) - room;  // S(s) - room
    beyond |= over > 1e-10 * d;  // less is rounding, which advance() takes care of
  }
  return beyond != 0;
}

[[gnu::always_inline]] inline void advance(LimiterState& state, const Limits& l) noexcept {
  double* __restrict position = state.position_deg.data();
  double* __restrict moved = state.step_deg.data();
  for (int i = 0; i < l.count; ++i) {
    const double x = position[i], next = clamped(x + moved[i], l.min_deg[i], l.max_deg[i]);
    position[i] = next;
    moved[i] = next - x;  // what was really moved, rounding included, is what the next tick starts from
  }
}

// A step that is too long to stop before the end of travel becomes the longest that can. The step before it could stop, so this asks
// for no more braking than d.
void hold_before_ends(LimiterState& state, const Limits& l) noexcept {
  for (int index = 0; index < l.count; ++index) {
    const auto i = static_cast<std::size_t>(index);
    const double x = state.position_deg[i], s = state.step_deg[i];
    const double room = std::max(0.0, s > 0 ? l.max_deg[i] - x : x - l.min_deg[i]);
    const double brake = inverse_way(room, l.change_deg[i], l.eight_per_change[i]);
    state.step_deg[i] = clamped(s, -brake, brake);
  }
}

[[gnu::always_inline]] inline void tick(LimiterState& state, const Limits& l, const double* target_deg, double velocity_share) noexcept {
  Way way;
  look(state, l, target_deg, way);
  approach(state, l, way, velocity_share);
  if (overruns(state, l)) hold_before_ends(state, l);
  advance(state, l);
}

// The same source twice, so that a machine with wider vectors uses them; both give the same bits (no fused operations).
#if defined(__x86_64__)
[[gnu::target("avx2")]] void tick_wide(LimiterState& state, const Limits& l, const double* target_deg, double share) noexcept {
  tick(state, l, target_deg, share);
}
const bool kWide = __builtin_cpu_supports("avx2");
#endif

}  // namespace

void step(LimiterState& state, const Limits& l, std::span<const double> target_deg, double velocity_share) noexcept {
  velocity_share = clamped(velocity_share, 0, 1);
#if defined(__x86_64__)
  if (kWide) return tick_wide(state, l, target_deg.data(), velocity_share);
#endif
  tick(state, l, target_deg.data(), velocity_share);
}

}  // namespace mien::motion
