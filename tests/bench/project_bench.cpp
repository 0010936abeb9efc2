// The cost of keeping constraints, each per tick.
#include <benchmark/benchmark.h>

#include <memory>
#include <random>

#include "bench/twelve_rows.hpp"
#include "motion/guard.hpp"
#include "motion/limiter.hpp"
#include "motion/project.hpp"

using namespace mien;

namespace {

void project_32_actuators_12_rows(benchmark::State& state) {
  const auto rows = bench::twelve_rows();
  const std::vector<double> low(32, -45), high(32, 45);
  const auto wishes = bench::crossing_wishes(state.range(0));
  const auto workspace = std::make_unique<motion::ProjectWorkspace>();
  std::vector<double> x(32);
  std::size_t k = 0;
  double steps = 0;
  for (auto _ : state) {
    x = wishes[k++ & 255];
    steps += motion::project(x, low, high, rows, *workspace).steps;
    benchmark::DoNotOptimize(x.data());
    benchmark::ClobberMemory();
  }
  state.counters["steps"] = steps / static_cast<double>(state.iterations());
}
BENCHMARK(project_32_actuators_12_rows)->Arg(0)->Arg(1)->Arg(2)->Arg(4)->Arg(8);

// Targets, limiter and guard together, 32 actuators, 12 rows. New random targets every `range` ticks; 0: all stay apart.
void project_limit_guard_32_actuators_12_rows(benchmark::State& state) {
  const auto rows = bench::twelve_rows();
  const motion::Limits limits = motion::limits_of(std::vector<show::Actuator>(32), 0.01);
  const auto low = std::span(limits.min_deg).first(32), high = std::span(limits.max_deg).first(32);
  motion::LimiterState head;
  for (int i = 0; i < 32; ++i) motion::seed(head, limits, i, i % 2 == 0 ? 5 : -5, 0, 0);
  std::mt19937 random(3);
  std::uniform_real_distribution<double> angle(-40, 40), small(-3, 3);
  std::vector<std::vector<double>> wishes(256, std::vector<double>(32));
  for (auto& wish : wishes)
    for (std::size_t i = 0; i < 32; ++i)
      wish[i] = state.range(0) == 0 ? (i >= 16 ? 0 : i % 2 == 0 ? 12 : -12) + small(random) : angle(random);
  const auto workspace = std::make_unique<motion::GuardWorkspace>();
  const std::int64_t hold = state.range(0) == 0 ? 10 : state.range(0);
  std::vector<double> x(32);
  std::int64_t k = 0, guarded = 0, bound = 0, rounds = 0;
  for (auto _ : state) {
    x = wishes[static_cast<std::size_t>(k++ / hold) & 255];
    bound += motion::project(x, low, high, rows, workspace->project).steps > 0;
    const motion::LimiterState before = head;
    motion::step(head, limits, x);
    const auto g = motion::guard(before, head, limits, rows, *workspace);
    guarded += g.rounds > 0;
    rounds += g.rounds;
    benchmark::DoNotOptimize(head.position_deg.data());
    benchmark::ClobberMemory();
  }
  const auto all = static_cast<double>(state.iterations());
  state.counters["projected"] = static_cast<double>(bound) / all;
  state.counters["guarded"] = static_cast<double>(guarded) / all;
  state.counters["rounds"] = static_cast<double>(rounds) / std::max(1.0, static_cast<double>(guarded));
}
BENCHMARK(project_limit_guard_32_actuators_12_rows)->Arg(0)->Arg(50)->Arg(10)->Arg(2);

}  // namespace
