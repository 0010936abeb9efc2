#include "motion/slack.hpp"

#include <algorithm>
#include <array>
#include <cmath>

// Not among the files whose loops the compiler makes vectors of (CMakeLists.txt): a row has two terms or three, and setting up vectors for so
// few costs more than it saves.

namespace mien::motion {
namespace {

// The terms of one row as they slow down, soonest to stand first.
struct Slowing {
  struct Part {
    double stands;         // ticks that its term moves for
    double way;            // by which its term opens the row until then
    double speed, slower;  // of all that stand no sooner: in tick k they open the row by speed - k * slower
  };
  std::array<Part, Row::kMostTerms> parts;
  int count = 0;

  Slowing(const Row& row, std::span<const double> step, std::span<const double> change) noexcept {
    for (int t = 0; t < row.count; ++t) {
      const auto i = static_cast<std::size_t>(row.actuator[static_cast<std::size_t>(t)]);
      if (step[i] == 0) continue;
      const double size = std::abs(step[i]), weight = row.weight[static_cast<std::size_t>(t)] * (step[i] < 0 ? -1 : 1);
      const double stands = std::ceil(size / change[i]);
      int k = count++;
      for (; k > 0 && at(k - 1).stands > stands; --k) at(k) = at(k - 1);
      at(k) = {stands, weight * braking_way(size, change[i], stands), weight * size, weight * change[i]};
    }
    for (int k = count - 1; k > 0; --k) at(k - 1).speed += at(k).speed, at(k - 1).slower += at(k).slower;
  }
  Part& at(int k) noexcept { return parts[static_cast<std::size_t>(k)]; }
  const Part& at(int k) const noexcept { return parts[static_cast<std::size_t>(k)]; }
};

}  // namespace

// Between two stands, the speed at which the row opens is a line in k; it falls below zero or rises from it at most once. So the
// least is at the last tick before a rise, or at the end of such a stretch.
LeastSlack least_slack(const Row& row, std::span<const double> position_deg, std::span<const double> step_deg,
                       std::span<const double> change_deg) noexcept {
  const Slowing slowing(row, step_deg, change_deg);
  double stood = row.slack(position_deg);  // with the whole way of what stands already
  if (slowing.count == 0) return {stood, 0};
  LeastSlack least{stood + slowing.at(0).speed, 0};
  double from = 0;
  for (int first = 0; first < slowing.count; ++first) {
    const auto& part = slowing.at(first);
    const auto consider = [&](double k) {
      if (const double at_k = stood + (k + 1) * (part.speed - 0.5 * part.slower * k); at_k < least.slack) least = {at_k, k};
    };
    const double last = part.stands - 1;
    if (last >= from) {
      if (part.slower < 0 && part.speed < 0) {
        const double turn = std::ceil(part.speed / part.slower) - 1;
        if (turn >= from && turn < last) consider(turn);
      }
      consider(last);
      from = last + 1;
    }
    stood += part.way;
  }
  return least;
}

}  // namespace mien::motion
