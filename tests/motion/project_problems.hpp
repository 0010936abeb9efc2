// Random projection problems, for the tests that hold project() against others.
#pragma once
#include <algorithm>
#include <cmath>
#include <memory>
#include <random>
#include <span>
#include <vector>

#include "motion/project.hpp"

namespace project_problems {

using mien::motion::Row;
using mien::motion::RowTerm;
namespace motion = mien::motion;

struct Problem {
  std::vector<double> wish, low, high;
  std::vector<Row> rows;
};

inline std::vector<double> projected(const Problem& p, motion::Projected* answer = nullptr) {
  static const auto workspace = std::make_unique<motion::ProjectWorkspace>();
  std::vector<double> x = p.wish;
  const auto a = motion::project(x, p.low, p.high, p.rows, *workspace);
  if (answer) *answer = a;
  return x;
}

inline double distance2(std::span<const double> a, std::span<const double> b) {
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += (a[i] - b[i]) * (a[i] - b[i]);
  return sum;
}

// How far outside the worst of boxes and rows x is.
inline double broken_by(const Problem& p, std::span<const double> x) {
  double worst = 0;
  for (std::size_t i = 0; i < x.size(); ++i) worst = std::max({worst, p.low[i] - x[i], x[i] - p.high[i]});
  for (const Row& row : p.rows) worst = std::max(worst, -row.slack(x));
  return worst;
}

// Rows that a point inside the boxes meets, unless `free_bounds`: then they may contradict each other.
inline Problem random_problem(std::mt19937& random, int actuators, int rows, int most_terms, bool free_bounds = false) {
  std::uniform_real_distribution<double> angle(-60, 60), weight(-2, 2), share(0, 1);
  std::uniform_int_distribution<int> pick(0, actuators - 1), terms(1, most_terms);
  Problem p;
  std::vector<double> inside;
  for (int i = 0; i < actuators; ++i) {
    p.low.push_back(-5 - 40 * share(random));
    p.high.push_back(5 + 40 * share(random));
    p.wish.push_back(angle(random));
    inside.push_back(p.low.back() + share(random) * (p.high.back() - p.low.back()));
  }
  for (int r = 0; r < rows; ++r) {
    std::vector<RowTerm> list;
    for (int t = terms(random); t > 0; --t) list.push_back({pick(random), std::round(4 * weight(random)) / 4});
    auto row = motion::row_of(list, 0);
    if (!row) continue;
    // Many meet in one corner; 1e-10 so that the exact solver does not see an empty set there by rounding.
    row->bound = free_bounds ? angle(random) : row->slack(inside) - (share(random) < 0.3 ? 1e-10 : 10 * share(random));
    p.rows.push_back(*row);
  }
  return p;
}

}  // namespace project_problems
