// project() beside a general solver of quadratic programs, CGAL's (Debian's libcgal-dev), on the same 256 wishes. Of the libraries that this project is tested with it
// is the only one that solves them with inequalities (Eigen has none, and Debian packages no small C++ solver such as project()'s own method). It is made to reckon with
// exact numbers, which takes 10 to 150 times as long; here it gets doubles, and its checks, which want exact numbers, are left out: its answers are held to project()'s
// before it is measured. It is general and keeps nothing from one wish to the next, so that a large ratio says as much of it as of Mien. Apart from the other peers because
// its headers compile slowly.
#define CGAL_NO_ASSERTIONS
#define CGAL_QP_NO_ASSERTIONS
#include <benchmark/benchmark.h>

#include <CGAL/QP_functions.h>
#include <CGAL/QP_models.h>

#include <cmath>
#include <memory>

#include "bench/twelve_rows.hpp"

using namespace mien;

namespace {

using Quadratic = CGAL::Quadratic_program<double>;

Quadratic program_of(const std::vector<motion::Row>& rows) {
  Quadratic program(CGAL::LARGER, false, 0, false, 0);
  for (int i = 0; i < 32; ++i) {
    program.set_l(i, true, -45);
    program.set_u(i, true, 45);
    program.set_d(i, i, 2);
  }
  for (int r = 0; r < static_cast<int>(rows.size()); ++r) {
    const auto& row = rows[static_cast<std::size_t>(r)];
    for (unsigned t = 0; t < static_cast<unsigned>(row.count); ++t) program.set_a(row.actuator[t], r, row.weight[t]);
    program.set_b(r, row.bound);
  }
  return program;
}

void peer_projection_cgal(benchmark::State& state) {
  const auto rows = bench::twelve_rows();
  const auto wishes = bench::crossing_wishes(4);
  Quadratic program = program_of(rows);
  const auto solve = [&](const std::vector<double>& wish) {
    for (int i = 0; i < 32; ++i) program.set_c(i, -2 * wish[static_cast<std::size_t>(i)]);
    CGAL::Quadratic_program_options options;
    options.set_pricing_strategy(CGAL::QP_DANTZIG);
    return CGAL::solve_quadratic_program(program, 0.0, options);
  };
  const auto workspace = std::make_unique<motion::ProjectWorkspace>();
  const std::vector<double> low(32, -45), high(32, 45);
  for (const auto& wish : wishes) {
    auto x = wish;
    motion::project(x, low, high, rows, *workspace);
    const auto solution = solve(wish);
    std::size_t i = 0;
    for (auto value = solution.variable_values_begin(); value != solution.variable_values_end(); ++value, ++i)
      if (!(std::abs(CGAL::to_double(*value) - x[i]) < 1e-6)) return state.SkipWithError("not the angles that project() finds");
  }
  std::size_t k = 0;
  for (auto _ : state) benchmark::DoNotOptimize(solve(wishes[k++ & 255]).is_optimal());
}

BENCHMARK(peer_projection_cgal)->Unit(benchmark::kMicrosecond);

}  // namespace
