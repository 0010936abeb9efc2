#include "motion/guard.hpp"

#include <algorithm>
#include <cmath>

#include "motion/index.hpp"

namespace mien::motion {
namespace {

constexpr double kLet = 1e-10;   // degrees of a row that rounding may take; 1e-9 is promised
constexpr double kAim = 2e-11;   // what project() may leave of a cut, so cuts aim this much farther inside
constexpr double kMostTicks = 1e9;
constexpr int kMostHalvings = 30;


double ticks_to_stand(double size, double change) { return std::ceil(size / change); }
double braked(double step, double change) { return std::copysign(std::max(std::abs(step) - change, 0.0), step); }

// What replaces one term of M_k near `now`: a line, intercept + slope * step.
struct Line {
  double intercept, slope;
};

Line line_of(double weight, double now, double brake, double change, double k) {
  double m, around;
  if (weight * now > 0) {  // opening: the tangent at the braked step, from its far side
    around = brake;
    m = std::min(k + 1, std::floor(std::abs(brake) / change) + 1);
  } else {
    around = now;
    m = std::min(k + 1, std::max(ticks_to_stand(std::abs(now), change), 1.0));
  }
  // sgn(s) way(|s|) + m (s' - s) is m s' less the constant part of way.
  return {-weight * std::copysign(0.5 * change * m * (m - 1), around), weight * m};
}

class Guard {
 public:
  Guard(const LimiterState& before, LimiterState& next, const Limits& limits, std::span<const Row> rows,
        GuardWorkspace& workspace, double share)
      : before_(before), next_(next), limits_(limits), rows_(rows), w_(workspace), share_(share), n_(at(limits.count)) {}

  Guarded run() {
    for (std::size_t i = 0; i < n_; ++i) brake_[i] = braked(before_.step_deg[i], limits_.change_deg[i]);
    if (!cut()) return report_;
    bounds();
    std::copy_n(next_.step_deg.begin(), n_, wish_.begin());
    bool safe = false;
    while (!safe && report_.rounds < w_.most_rounds) {
      ++report_.rounds;
      std::copy_n(wish_.begin(), n_, next_.step_deg.begin());
      project(std::span(next_.step_deg).first(n_), std::span(low_).first(n_), std::span(high_).first(n_),
              std::span(w_.cuts).first(at(cuts_)), w_.project);
      safe = !cut();
    }
    if (!safe) go_back();
    settle();
    return report_;
  }

 private:
  std::span<const double> x() const { return {before_.position_deg.data(), n_}; }
  std::span<const double> change() const { return {limits_.change_deg.data(), n_}; }

  // How far the steps lead at the most, braked to a stand at the limits: what clearly_kept() goes by.
  void reach() {
    for (std::size_t i = 0; i < n_; ++i) {
      const double s = next_.step_deg[i], size = std::abs(s);
      const double m = static_cast<double>(static_cast<int>(std::min(size * limits_.per_change[i], kMostTicks))) + 1;
      reach_[i] = std::copysign(braking_way(size, limits_.change_deg[i], m), s);
    }
  }
  // The common case, cheaply: even if all that opens the row stood still at once and all that closes it braked to a stand, the row
  // would be met.
  bool clearly_kept(const Row& row) const {
    double least = -row.bound;
    for (int t = 0; t < row.count; ++t) {
      const std::size_t i = at(row.actuator[at(t)]);
      least += row.weight[at(t)] * before_.position_deg[i] + std::min(0.0, row.weight[at(t)] * reach_[i]);
    }
    return least >= 0;
  }

  // Where each step may lie: acceleration, velocity, and the ends of travel in reach. Braking always lies inside.
  void bounds() {
    for (std::size_t i = 0; i < n_; ++i) {
      const double s = before_.step_deg[i], d = limits_.change_deg[i], most = limits_.step_deg[i] * share_;
      const double up = braking_step(std::max(limits_.max_deg[i] - before_.position_deg[i], 0.0), d);
      const double down = braking_step(std::max(before_.position_deg[i] - limits_.min_deg[i], 0.0), d);
      high_[i] = std::max(std::min({s + d, most, up}), brake_[i]);
      low_[i] = std::min(std::max({s - d, -most, -down}), brake_[i]);
    }
  }

  // What a row must keep: zero, or what is left of it when even braking breaks it.
  double kept_by_braking(const Row& row) const { return least_slack(row, x(), brake_, change()).slack; }

  // Adds a cut for each row that the steps don't keep. False when they keep all.
  bool cut() {
    bool any = false;
    int rows = 0;
    reach();
    for (const Row& row : rows_) {
      if (clearly_kept(row)) continue;
      const LeastSlack least = least_slack(row, x(), next_.step_deg, change());
      if (least.slack >= -kLet) continue;
      const double kept = kept_by_braking(row);
      if (least.slack >= kept) continue;
      any = true;
      ++rows;
      if (cuts_ < GuardWorkspace::kMostCuts) add_cut(row, least.tick, kept);
    }
    report_.rows = std::max(report_.rows, rows);
    return any;
  }
  void add_cut(const Row& row, double tick, double kept) {
    Row cut = row;
    double bound = -row.slack(before_.position_deg), length2 = 0;
    for (int t = 0; t < row.count; ++t) {
      const std::size_t i = at(row.actuator[at(t)]);
      const Line line = line_of(row.weight[at(t)], next_.step_deg[i], brake_[i], limits_.change_deg[i], tick);
      cut.weight[at(t)] = line.slope;
      bound -= line.intercept;
      length2 += line.slope * line.slope;
    }
    const double scale = 1 / std::sqrt(length2);
    bound += std::min(kept, kAim / scale);
    for (int t = 0; t < row.count; ++t) cut.weight[at(t)] *= scale;
    cut.bound = bound * scale;
    w_.cuts[at(cuts_++)] = cut;
  }

  bool keeps_all() const {
    return std::all_of(rows_.begin(), rows_.end(), [&](const Row& row) {
      const double least = least_slack(row, x(), next_.step_deg, change()).slack;
      return least >= -kLet || least >= kept_by_braking(row);
    });
  }
  void go_back() {
    report_.fell_back = true;
    const auto reached = next_.step_deg;
    double good = 0, bad = 1;
    const auto put = [&](double share) {
      for (std::size_t i = 0; i < n_; ++i)
        next_.step_deg[i] = share == 0 ? brake_[i] : brake_[i] + share * (reached[i] - brake_[i]);
    };
    for (int k = 0; k < kMostHalvings; ++k) {
      const double share = 0.5 * (good + bad);
      put(share);
      (keeps_all() ? good : bad) = share;
    }
    put(good);
  }

  void settle() {
    for (std::size_t i = 0; i < n_; ++i) {
      const double x = before_.position_deg[i];
      const double to = x + next_.step_deg[i];
      next_.position_deg[i] = to < limits_.min_deg[i] ? limits_.min_deg[i] : to > limits_.max_deg[i] ? limits_.max_deg[i] : to;
      next_.step_deg[i] = next_.position_deg[i] - x;
    }
  }

  const LimiterState& before_;
  LimiterState& next_;
  const Limits& limits_;
  std::span<const Row> rows_;
  GuardWorkspace& w_;
  double share_;
  std::size_t n_;
  int cuts_ = 0;
  Guarded report_;
  std::array<double, Limits::kMost> brake_, reach_, wish_, low_, high_;
};

}  // namespace

Guarded guard(const LimiterState& before, LimiterState& next, const Limits& limits, std::span<const Row> rows,
              GuardWorkspace& workspace, double velocity_share) noexcept {
  return Guard(before, next, limits, rows, workspace, velocity_share).run();
}

}  // namespace mien::motion
