// The cost of linkages, tables and the servo model, each per call.
#include <benchmark/benchmark.h>

#include <cmath>
#include <vector>

#include "motion/linkage.hpp"
#include "motion/plate.hpp"
#include "motion/servo.hpp"
#include "motion/supply.hpp"
#include "motion/table.hpp"

using namespace mien;

namespace {

// Calls f with values that sweep from low to high and back, a step a tick.
template <class F>
void sweep(benchmark::State& state, double low, double high, F f) {
  double t = 0, sum = 0;
  for (auto _ : state) {
    const double share = std::abs(2 * (t - std::floor(t)) - 1);
    sum += f(low + share * (high - low));
    t += 0.00713;
  }
  benchmark::DoNotOptimize(sum);
}

void slider_crank_inverse(benchmark::State& state) {
  const motion::SliderCrank s{12, 40, 3};
  sweep(state, 32, 46, [&](double x) { return motion::servo_deg(s, x, {20, 160}).value; });
}
void four_bar_inverse(benchmark::State& state) {
  const motion::FourBar f{20, 60, 50, 70};
  sweep(state, 70, 110, [&](double x) { return motion::servo_deg(f, x, {45, 120}).value; });
}
void two_rod_plate_servos(benchmark::State& state) {
  sweep(state, -15, 15, [&](double x) { return motion::servos_deg(motion::TwoRodPlate{}, {x, 0.3 * x}).deg.left; });
}
void two_rod_plate_pose(benchmark::State& state) {
  sweep(state, -30, 30, [&](double x) { return motion::pose_deg(motion::TwoRodPlate{}, {x, 0.3 * x}).pose.pitch_deg; });
}
void table_value(benchmark::State& state) {
  const motion::Table table(std::vector{0., 5., 10., 20., 30., 45., 60., 70.}, std::vector{0., 3., 8., 20., 33., 40., 44., 60.});
  sweep(state, 0, 70, [&](double x) { return table.value(x); });
}
void table_inverse(benchmark::State& state) {
  const motion::Table table(std::vector{0., 5., 10., 20., 30., 45., 60., 70.}, std::vector{0., 3., 8., 20., 33., 40., 44., 60.});
  sweep(state, 0, 60, [&](double y) { return table.inverse(y).value; });
}
void servo_follow_10_ms(benchmark::State& state) {
  motion::ServoFigures figures;
  figures.skin_n_m_per_deg = 0.001;
  const motion::Servo servo(figures, 0, 0.01);
  motion::ServoState s;
  sweep(state, -40, 40, [&](double x) { return servo.follow(s, x), s.current_a; });
}
void sliding_rms(benchmark::State& state) {
  motion::SlidingRms rms(100);
  sweep(state, 0, 10, [&](double x) { return rms.add(x); });
}
BENCHMARK(slider_crank_inverse);
BENCHMARK(four_bar_inverse);
BENCHMARK(two_rod_plate_servos);
BENCHMARK(two_rod_plate_pose);
BENCHMARK(table_value);
BENCHMARK(table_inverse);
BENCHMARK(servo_follow_10_ms);
BENCHMARK(sliding_rms);

}  // namespace
