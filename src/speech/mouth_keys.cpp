// A sampled curve as few keyframes that can be followed.
#include <algorithm>
#include <cmath>

#include "speech/mouth.hpp"

namespace mien::speech {
namespace {

constexpr double kSwing = 0.035;     // of the control's range: smaller turns are no turns
constexpr double kFlat = 0.02;       // of the range: what stays this near to a turning point belongs to its plateau
constexpr double kPlateau_s = 0.05;  // shorter ones are points
constexpr double kCorner_s = 0.06;   // flat stretches next to a ramp that are longer have a key at their end
constexpr double kNear_s = 0.012;    // two keys nearer than this are one

struct Knot { std::size_t at; double value; bool held; };

double reach(double dt, const Ability& a) noexcept { return std::min(a.per_s * dt / 1.5, a.per_s2 * dt * dt / 6); }

// Turning points by hysteresis: a turn counts once the curve has come back from it by `swing`.
std::vector<std::size_t> turns_of(std::span<const double> curve, double swing) {
  std::vector<std::size_t> turns{0};
  std::size_t low = 0, high = 0;
  int going = 0;
  for (std::size_t n = 1; n < curve.size(); ++n) {
    if (curve[n] > curve[high]) high = n;
    if (curve[n] < curve[low]) low = n;
    if (going <= 0 && curve[n] > curve[low] + swing) {
      if (going < 0) turns.push_back(low);
      going = 1, high = n;
    } else if (going >= 0 && curve[n] < curve[high] - swing) {
      if (going > 0) turns.push_back(high);
      going = -1, low = n;
    }
    if (going > 0) low = n;
    if (going < 0) high = n;
  }
  if (going > 0) turns.push_back(high);
  if (going < 0) turns.push_back(low);
  if (turns.back() + 1 != curve.size()) turns.push_back(curve.size() - 1);
  return turns;
}

// Where the curve stays long at the value of one knot before it leaves for the next, or is there long before it: a knot there, too.
void add_corners(std::vector<Knot>& knots, std::span<const double> curve, double step_s, double flat) {
  std::vector<Knot> all;
  for (std::size_t n = 0; n < knots.size(); ++n) {
    all.push_back(knots[n]);
    if (n + 1 == knots.size()) break;
    const Knot &from = knots[n], &to = knots[n + 1];
    std::size_t leaves = from.at, arrives = to.at;
    while (leaves < to.at && std::abs(curve[leaves] - from.value) <= flat) ++leaves;
    while (arrives > from.at && std::abs(curve[arrives] - to.value) <= flat) --arrives;
    const auto long_enough = [&](std::size_t a, std::size_t b) { return b > a && static_cast<double>(b - a) * step_s >= kCorner_s; };
    if (leaves > arrives) continue;  // they stand at one value
    if (long_enough(from.at, leaves)) all.push_back({leaves - 1, from.value, false});
    if (long_enough(arrives, to.at)) all.push_back({arrives + 1, to.value, false});
  }
  knots = std::move(all);
}

std::vector<Knot> knots_of(std::span<const double> curve, const std::vector<bool>& held, double step_s, double range) {
  std::vector<Knot> knots;
  const double flat = kFlat * range;
  for (const auto turn : turns_of(curve, kSwing * range)) {
    std::size_t begin = turn, end = turn;
    while (begin > 0 && std::abs(curve[begin - 1] - curve[turn]) <= flat && !held[begin - 1]) --begin;
    while (end + 1 < curve.size() && std::abs(curve[end + 1] - curve[turn]) <= flat && !held[end + 1]) ++end;
    if (held[turn]) continue;
    if (static_cast<double>(end - begin) * step_s >= kPlateau_s) knots.push_back({begin, curve[turn], false}), knots.push_back({end, curve[turn], false});
    else knots.push_back({turn, curve[turn], false});
  }
  for (std::size_t n = 0; n < held.size();) {
    if (!held[n]) { ++n; continue; }
    std::size_t end = n;
    while (end + 1 < held.size() && held[end + 1] && curve[end + 1] == curve[n]) ++end;
    knots.push_back({n, curve[n], true});
    if (end > n) knots.push_back({end, curve[n], true});
    n = end + 1;
  }
  std::stable_sort(knots.begin(), knots.end(), [](const Knot& a, const Knot& b) { return a.at < b.at; });
  add_corners(knots, curve, step_s, flat);
  std::vector<Knot> apart;
  for (const auto& knot : knots) {
    const bool near = !apart.empty() && static_cast<double>(knot.at - apart.back().at) * step_s < kNear_s;
    if (!near || (knot.held && apart.back().held && knot.at > apart.back().at)) apart.push_back(knot);
    else if (knot.held && !apart.back().held) apart.back() = knot;
  }
  return apart;
}

// Draws what is too far away from its neighbours nearer to them; what is held pulls, and is not pulled.
void draw_in(std::vector<Knot>& knots, double step_s, const Ability& ability) {
  for (int round = 0; round < 12; ++round) {
    bool changed = false;
    const auto mend = [&](Knot& a, Knot& b) {
      const double most = reach(static_cast<double>(b.at - a.at) * step_s, ability), off = b.value - a.value, too_far = std::abs(off) - most;
      if (too_far <= 1e-6 || (a.held && b.held)) return;
      const double by = std::copysign(too_far, off);
      if (a.held) b.value -= by;
      else if (b.held) a.value += by;
      else a.value += by / 2, b.value -= by / 2;
      changed = true;
    };
    for (std::size_t n = 0; n + 1 < knots.size(); ++n) mend(knots[n], knots[n + 1]);
    for (std::size_t n = knots.size(); n-- > 1;) mend(knots[n - 1], knots[n]);
    if (!changed) return;
  }
}

}  // namespace

std::vector<show::Keyframe> keys_of(std::span<const double> curve, const std::vector<bool>& held, double step_s, const Ability& ability) {
  std::vector<show::Keyframe> keys;
  if (curve.size() < 2 || held.size() != curve.size()) return keys;
  const double range = std::max(ability.max - ability.min, 1e-9);
  auto knots = knots_of(curve, held, step_s, range);
  draw_in(knots, step_s, ability);
  for (const auto& knot : knots) {
    const double value = std::round(std::clamp(knot.value, ability.min, ability.max) / range * 1000) * range / 1000;  // as a person would write it
    keys.push_back({std::chrono::milliseconds(std::llround(static_cast<double>(knot.at) * step_s * 1e3)), std::clamp(knot.held ? knot.value : value, ability.min, ability.max), show::kSmooth});
  }
  return keys;
}

}  // namespace mien::speech
