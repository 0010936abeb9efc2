// project() beside a general solver of quadratic programs. Apart from the other tests because the library's headers compile slowly.
#include <gtest/gtest.h>

#include <CGAL/MP_Float.h>
#include <CGAL/QP_functions.h>
#include <CGAL/QP_models.h>

#include "motion/project_problems.hpp"

using namespace project_problems;

// Against an exact (rational) solver of quadratic programs: CGAL, package libcgal-dev 5.5.1.
TEST(Project, IsTheOptimumOfAGeneralQuadraticProgram) {
  using Quadratic = CGAL::Quadratic_program<double>;
  std::mt19937 random(23);
  for (int k = 0; k < 120; ++k) {
    const int actuators = 4 + k % 12;
    const Problem p = random_problem(random, actuators, 2 + k % 15, 4, k % 2 == 0);
    Quadratic program(CGAL::LARGER, false, 0, false, 0);
    double constant = 0;
    for (int i = 0; i < actuators; ++i) {
      const auto u = static_cast<std::size_t>(i);
      program.set_l(i, true, p.low[u]);
      program.set_u(i, true, p.high[u]);
      program.set_d(i, i, 2);
      program.set_c(i, -2 * p.wish[u]);
      constant += p.wish[u] * p.wish[u];
    }
    for (int r = 0; r < static_cast<int>(p.rows.size()); ++r) {
      const Row& row = p.rows[static_cast<std::size_t>(r)];
      for (unsigned t = 0; t < static_cast<unsigned>(row.count); ++t) program.set_a(row.actuator[t], r, row.weight[t]);
      program.set_b(r, row.bound);
    }
    const auto solution = CGAL::solve_quadratic_program(program, CGAL::MP_Float());
    motion::Projected answer;
    const auto x = projected(p, &answer);
    ASSERT_EQ(answer.feasible, !solution.is_infeasible()) << k;
    ASSERT_EQ(motion::contradiction(p.rows, p.low, p.high).has_value(), solution.is_infeasible()) << k;
    if (!answer.feasible) continue;
    int i = 0;
    for (auto value = solution.variable_values_begin(); value != solution.variable_values_end(); ++value, ++i)
      ASSERT_NEAR(x[static_cast<std::size_t>(i)], CGAL::to_double(*value), 1e-8) << k << " actuator " << i;
    ASSERT_LE(broken_by(p, x), 1e-9) << k;
  }
}
