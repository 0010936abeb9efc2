#include "motion/project.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <memory>
#include <numeric>
#include <sstream>

#include "motion/index.hpp"

namespace mien::motion {
namespace {

constexpr double kBroken = 1e-11;     // degrees by which a row must be broken before it is taken in; 1e-9 is promised
constexpr double kDependent = 1e-12;  // squared sine of the angle to the active normals below which a normal depends on them
constexpr double kSoft = 1e-7;        // squared give of a row, when they can't all be met
constexpr double kFar = 1e6;          // degrees; a wish farther away would leave no digits for the angles themselves
constexpr int kMostProjectionSteps = 400;  // far above what 64 actuators ever took: a bound, not a plan
constexpr double kNever = std::numeric_limits<double>::infinity();


}  // namespace

// The state of one run: x is always the nearest point under the active constraints, all met exactly, with multipliers >= 0.
// Rows may be given some give: row i then has a private coordinate with weight sqrt(give), which only adds to Gram's diagonal.
class ActiveSet {
 public:
  ActiveSet(std::span<double> x, std::span<const double> low, std::span<const double> high, std::span<const Row> rows,
            double give, ProjectWorkspace& workspace)
      : x_(x), low_(low), high_(high), rows_(rows), give_(give), w_(workspace) {}

  ~ActiveSet() {
    for (int k = 0; k < touched_; ++k) w_.is_touched_[at(w_.touched_[at(k)])] = false;
  }
  ActiveSet(const ActiveSet&) = delete;
  ActiveSet& operator=(const ActiveSet&) = delete;

  /// False when the constraint last taken up contradicts active ones.
  bool run(std::span<const double> wish) {
    Constraint next;
    while (steps_ < kMostProjectionSteps && most_broken(next)) {
      if (next.row >= 0) touch(rows_[at(next.row)], wish);
      if (!take_in(next)) return false;
    }
    if (count_ > 0) settle();
    return steps_ < kMostProjectionSteps;
  }
  int steps() const { return steps_; }

  void explain(Contradiction& why) const {
    add(why, contradicted_);
    for (int j = 0; j < count_; ++j)
      if (w_.share_[at(j)] < -1e-9) add(why, w_.active_[at(j)]);
  }

 private:
  using Constraint = ProjectWorkspace::Active;

  static void add(Contradiction& why, const Constraint& c) {
    if (c.row >= 0) why.rows.push_back(c.row);
    else why.ends.push_back({c.actuator, c.sign < 0});
  }

  bool most_broken(Constraint& worst) const {
    double least = -kBroken;
    for (int r = 0; r < static_cast<int>(rows_.size()); ++r) {
      const double slack = rows_[at(r)].slack(x_);
      if (slack < least && !is_active(r)) least = slack, worst = {r, 0, 0, 0};
    }
    for (int k = 0; k < touched_; ++k) {
      const int i = w_.touched_[at(k)];
      const double below = x_[at(i)] - low_[at(i)], above = high_[at(i)] - x_[at(i)];
      if (below < least) least = below, worst = {-1, i, 1, 0};
      if (above < least) least = above, worst = {-1, i, -1, 0};
    }
    return least < -kBroken;
  }
  bool is_active(int row) const {
    for (int j = 0; j < count_; ++j)
      if (w_.active_[at(j)].row == row) return true;
    return false;
  }

  // The boxes alone bind many actuators, but only those that share rows with a broken one matter: a row's actuators join on its
  // first turn, and with them the ends that already hold them. Their normals are orthogonal to all that is active until then.
  void touch(const Row& row, std::span<const double> wish) {
    for (int t = 0; t < row.count; ++t) {
      const int i = row.actuator[at(t)];
      if (w_.is_touched_[at(i)]) continue;
      w_.is_touched_[at(i)] = true;
      w_.touched_[at(touched_++)] = i;
      const double held = x_[at(i)] - wish[at(i)];
      if (held == 0) continue;
      const int k = count_++;
      w_.active_[at(k)] = {-1, i, held > 0 ? 1.0 : -1.0, std::abs(held)};
      for (int j = 0; j < k; ++j) w_.gram_[at(k)][at(j)] = w_.factor_[at(k)][at(j)] = 0;
      w_.gram_[at(k)][at(k)] = w_.one_by_diagonal_[at(k)] = 1;
    }
  }

  template <class Visit>
  void each_term(const Constraint& c, Visit visit) const {
    if (c.row < 0) return visit(c.actuator, c.sign);
    const Row& row = rows_[at(c.row)];
    for (int t = 0; t < row.count; ++t) visit(row.actuator[at(t)], row.weight[at(t)]);
  }
  double slack(const Constraint& c) const {
    if (c.row >= 0) return rows_[at(c.row)].slack(x_);
    return c.sign > 0 ? x_[at(c.actuator)] - low_[at(c.actuator)] : high_[at(c.actuator)] - x_[at(c.actuator)];
  }

  // Raises the constraint's multiplier from zero until it is met, letting go of those whose multiplier falls to zero meanwhile.
  bool take_in(Constraint c) {
    double lacking = -slack(c);
    dot_with_active(c);
    while (true) {
      ++steps_;
      const double sine2 = solve();
      int leaver = -1;
      const double until_leaver = first_to_leave(leaver);
      const double until_met = sine2 > kDependent ? lacking / sine2 : kNever;
      const double by = std::min(until_leaver, until_met);
      if (by == kNever) return contradicted_ = c, false;
      for (int j = 0; j < count_; ++j) w_.active_[at(j)].multiplier -= by * w_.share_[at(j)];
      c.multiplier += by;
      if (until_met != kNever) move(c, by), lacking -= by * sine2;
      if (until_met <= until_leaver) return append(c, sine2), true;
      drop(leaver);
      if (steps_ >= kMostProjectionSteps) return true;
    }
  }

  // gram row `count_` becomes the dot products of c's normal with the active ones and itself.
  void dot_with_active(const Constraint& c) {
    auto& dots = w_.gram_[at(count_)];
    each_term(c, [&](int i, double weight) { w_.dense_[at(i)] = weight; });
    for (int j = 0; j < count_; ++j) {
      double dot = 0;
      each_term(w_.active_[at(j)], [&](int i, double weight) { dot += weight * w_.dense_[at(i)]; });
      dots[at(j)] = dot;
    }
    each_term(c, [&](int i, double) { w_.dense_[at(i)] = 0; });
    dots[at(count_)] = 1 + (c.row >= 0 ? give_ : 0);
  }

  // along = L^-1 N'n, share = (N'N)^-1 N'n; returns |n|^2 less what the active normals have of it.
  double solve() {
    const auto& dots = w_.gram_[at(count_)];
    double left = dots[at(count_)];
    int first = 0;  // normals far away in the face are orthogonal: nothing happens before the first that isn't
    while (first < count_ && dots[at(first)] == 0) w_.along_[at(first++)] = 0;
    for (int i = first; i < count_; ++i) {
      double sum = dots[at(i)];
      for (int j = first; j < i; ++j) sum -= w_.factor_[at(i)][at(j)] * w_.along_[at(j)];
      w_.along_[at(i)] = sum * w_.one_by_diagonal_[at(i)];
      left -= w_.along_[at(i)] * w_.along_[at(i)];
    }
    std::copy_n(w_.along_.begin(), count_, w_.share_.begin());
    back_substitute(w_.share_);
    return left;
  }
  void back_substitute(std::array<double, ProjectWorkspace::kMost + 1>& b) const {
    for (int i = count_ - 1; i >= 0; --i) {
      if (b[at(i)] == 0) continue;
      b[at(i)] *= w_.one_by_diagonal_[at(i)];
      for (int j = 0; j < i; ++j) b[at(j)] -= w_.factor_[at(i)][at(j)] * b[at(i)];
    }
  }

  double first_to_leave(int& leaver) const {
    double until = kNever;
    for (int j = 0; j < count_; ++j) {
      const double share = w_.share_[at(j)];
      if (share <= 1e-14) continue;
      const double t = std::max(0.0, w_.active_[at(j)].multiplier) / share;
      if (t < until) until = t, leaver = j;
    }
    return until;
  }

  // x += by * (n - N share): the way that c's normal has outside the active ones.
  void move(const Constraint& c, double by) {
    each_term(c, [&](int i, double weight) { x_[at(i)] += by * weight; });
    for (int j = 0; j < count_; ++j)
      if (w_.share_[at(j)] != 0)
        each_term(w_.active_[at(j)], [&](int i, double weight) { x_[at(i)] -= by * w_.share_[at(j)] * weight; });
  }

  void append(const Constraint& c, double sine2) {
    std::copy_n(w_.along_.begin(), count_, w_.factor_[at(count_)].begin());
    w_.one_by_diagonal_[at(count_)] = 1 / std::sqrt(sine2);
    w_.active_[at(count_++)] = c;
  }

  // Takes constraint k out of the set and out of the pending row of dot products, and refactors what came after it.
  void drop(int k) {
    for (int i = k + 1; i <= count_; ++i) {
      const auto row = w_.gram_[at(i)].begin();
      const auto up = std::copy(row, row + k, w_.gram_[at(i - 1)].begin());
      std::copy(row + k + 1, row + i + 1, up);
    }
    std::copy(w_.active_.begin() + k + 1, w_.active_.begin() + count_, w_.active_.begin() + k);
    --count_;
    for (int i = k; i < count_; ++i) {
      auto& row = w_.factor_[at(i)];
      double left = w_.gram_[at(i)][at(i)];
      for (int j = 0; j < i; ++j) {
        double sum = w_.gram_[at(i)][at(j)];
        for (int m = 0; m < j; ++m) sum -= row[at(m)] * w_.factor_[at(j)][at(m)];
        row[at(j)] = sum * w_.one_by_diagonal_[at(j)];
        left -= row[at(j)] * row[at(j)];
      }
      w_.one_by_diagonal_[at(i)] = 1 / std::sqrt(std::max(left, kDependent));
    }
  }

  // One round of iterative refinement takes the rounding of all steps out of the active rows; boxes hold exactly.
  void settle() {
    for (int i = 0; i < count_; ++i) {
      const Constraint& c = w_.active_[at(i)];
      double sum = -(slack(c) + (c.row >= 0 ? give_ * c.multiplier : 0));
      for (int j = 0; j < i; ++j) sum -= w_.factor_[at(i)][at(j)] * w_.share_[at(j)];
      w_.share_[at(i)] = sum * w_.one_by_diagonal_[at(i)];
    }
    back_substitute(w_.share_);
    for (int j = 0; j < count_; ++j)
      each_term(w_.active_[at(j)], [&](int i, double weight) { x_[at(i)] += w_.share_[at(j)] * weight; });
    for (int k = 0; k < touched_; ++k) {
      const std::size_t i = at(w_.touched_[at(k)]);
      x_[i] = x_[i] < low_[i] ? low_[i] : x_[i] > high_[i] ? high_[i] : x_[i];
    }
  }

  std::span<double> x_;
  std::span<const double> low_, high_;
  std::span<const Row> rows_;
  double give_;
  ProjectWorkspace& w_;
  int count_ = 0, touched_ = 0, steps_ = 0;
  Constraint contradicted_;
};

namespace {

void into_boxes(std::span<double> x, std::span<const double> wish, std::span<const double> low,
                std::span<const double> high) noexcept {
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double y = wish[i];
    x[i] = y < low[i] ? low[i] : y > high[i] ? high[i] : y;
  }
}

bool all_met(std::span<const double> x, std::span<const Row> rows) noexcept {
  double least = 0;
  for (const Row& row : rows) least = std::min(least, row.slack(x));
  return least >= -kBroken;
}

}  // namespace

std::optional<Row> row_of(std::span<const RowTerm> terms, double bound) noexcept {
  std::array<double, show::kMaxActuators> weights{};
  for (const RowTerm& t : terms) {
    if (t.actuator < 0 || t.actuator >= show::kMaxActuators || !std::isfinite(t.weight)) return {};
    weights[at(t.actuator)] += t.weight;
  }
  const double length = std::sqrt(std::inner_product(weights.begin(), weights.end(), weights.begin(), 0.0));
  if (!std::isfinite(length) || length == 0 || !std::isfinite(bound / length)) return {};
  Row row;
  for (int i = 0; i < show::kMaxActuators; ++i) {
    if (weights[at(i)] == 0) continue;
    if (row.count == Row::kMostTerms) return {};
    row.actuator[at(row.count)] = i;
    row.weight[at(row.count++)] = weights[at(i)] / length;
  }
  row.bound = bound / length;
  row.length = length;
  return row;
}

Projected project(std::span<double> x, std::span<const double> low, std::span<const double> high, std::span<const Row> rows,
                  ProjectWorkspace& workspace) noexcept {
  std::array<double, show::kMaxActuators> wish;
  for (std::size_t i = 0; i < x.size(); ++i) wish[i] = x[i] == x[i] ? std::clamp(x[i], -kFar, kFar) : 0.5 * (low[i] + high[i]);
  into_boxes(x, wish, low, high);
  if (all_met(x, rows)) return {};
  Projected answer;
  {
    ActiveSet strict(x, low, high, rows, 0, workspace);
    answer.feasible = strict.run(wish);
    answer.steps = strict.steps();
  }
  if (answer.feasible) return answer;
  into_boxes(x, wish, low, high);
  ActiveSet soft(x, low, high, rows, kSoft, workspace);
  soft.run(wish);
  return answer;
}

std::optional<Contradiction> contradiction(std::span<const Row> rows, std::span<const double> low, std::span<const double> high) {
  std::vector<double> wish(low.size());
  for (std::size_t i = 0; i < wish.size(); ++i) wish[i] = 0.5 * (low[i] + high[i]);
  std::vector<double> x = wish;
  const auto workspace = std::make_unique<ProjectWorkspace>();
  ActiveSet set(x, low, high, rows, 0, *workspace);
  if (set.run(wish)) return {};
  Contradiction why;
  set.explain(why);
  std::sort(why.rows.begin(), why.rows.end());
  std::sort(why.ends.begin(), why.ends.end(), [](const auto& a, const auto& b) { return a.actuator < b.actuator; });
  return why;
}

namespace {

std::string listed(const std::vector<std::string>& parts) {
  std::string text;
  for (std::size_t i = 0; i < parts.size(); ++i) text += (i == 0 ? "" : i + 1 == parts.size() ? " and " : ", ") + parts[i];
  return text;
}

std::string thousandths_deg(double value) {
  std::ostringstream text;
  text << std::round(value * 1000) / 1000 << " deg";
  return text.str();
}

show::Finding contradiction_in_words(const Contradiction& why, std::span<const double> low, std::span<const double> high,
                                     std::span<const std::string> row_names, std::span<const std::string> actuator_names) {
  std::vector<std::string> rows, ends;
  for (int r : why.rows) rows.push_back(row_names[at(r)]);
  for (const auto& e : why.ends)
    ends.push_back(actuator_names[at(e.actuator)] +
                   (e.upper ? " at most " + thousandths_deg(high[at(e.actuator)]) : " at least " + thousandths_deg(low[at(e.actuator)])));
  show::Finding f;
  f.place = rows.empty() ? "constraints" : "constraint " + rows.front();
  f.what = rows.size() > 1 ? "the constraints " + listed(rows) + " contradict each other" : "the constraint can't be met";
  if (!ends.empty()) f.what += " within the travel of " + listed(ends);
  f.cure = rows.size() > 1 ? "Loosen or remove one of them" : "Loosen it, or widen the travel";
  return f;
}

}  // namespace

show::Findings check_rows(std::span<const Row> rows, std::span<const double> low, std::span<const double> high,
                          std::span<const double> rest, std::span<const std::string> row_names,
                          std::span<const std::string> actuator_names) {
  show::Findings findings;
  if (const auto why = contradiction(rows, low, high)) {
    findings.push_back(contradiction_in_words(*why, low, high, row_names, actuator_names));
    return findings;
  }
  for (std::size_t r = 0; r < rows.size(); ++r) {
    const double slack = rows[r].slack(rest);
    if (slack >= -1e-9) continue;
    std::vector<std::string> names;
    names.reserve(at(rows[r].count));
    for (int t = 0; t < rows[r].count; ++t) names.push_back(actuator_names[at(rows[r].actuator[at(t)])]);
    findings.push_back({show::Severity::error, "", "constraint " + row_names[r],
                        "the rest pose of " + listed(names) + " breaks it by " + thousandths_deg(-slack * rows[r].length),
                        "Change the rest angle of one of them, or loosen the constraint"});
  }
  return findings;
}

}  // namespace mien::motion
