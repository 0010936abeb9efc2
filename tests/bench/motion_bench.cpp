// The cost of the tick's numbers, each per channel or actuator and tick.
#include <benchmark/benchmark.h>

#include <array>
#include <memory>
#include <random>

#include "motion/curve.hpp"
#include "motion/limiter.hpp"

using namespace mien;

namespace {

// 64 channels of 1,000 keys, four keys a second on average, every kind of segment in turn.
std::vector<show::Channel> sixty_four_channels(int kinds) {
  const show::Easing all[] = {show::kSmooth, show::kEaseInOut, show::kLinear, show::kEase, {show::Easing::Kind::bezier, 0.3f, -0.2f, 0.4f, 1.3f}, show::kHold};
  std::mt19937 random(7);
  std::uniform_int_distribution<int> gap_ms(50, 450);
  std::uniform_real_distribution<double> value(0, 1);
  std::vector<show::Channel> channels(64);
  for (auto& c : channels) {
    show::Time t{0};
    for (int k = 0; k < 1000; ++k) {
      c.keys.push_back({t, value(random), all[kinds == 1 ? 4 : static_cast<unsigned>(k) % 6]});
      t += std::chrono::milliseconds(gap_ms(random));
    }
  }
  return channels;
}

void curves(benchmark::State& state, int kinds) {
  const auto channels = sixty_four_channels(kinds);
  motion::Shapes shapes;
  for (const auto& c : channels) shapes.add(c);
  const auto cursors = std::make_unique<motion::Cursors>();
  for (int i = 0; i < 64; ++i) cursors->put(i, motion::Cursor(&channels[static_cast<std::size_t>(i)], &shapes, 0));
  std::array<double, 64> values;
  benchmark::DoNotOptimize(values.data());
  show::Time t{0};
  for (auto _ : state) {
    cursors->at(t, 64, values.data());
    benchmark::ClobberMemory();
    t += std::chrono::milliseconds(10);
    if (t > std::chrono::seconds(240)) t = show::Time{0};
  }
  state.counters["ns_per_channel_tick"] = benchmark::Counter(64e-9 * static_cast<double>(state.iterations()), benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
}
void curve_every_easing(benchmark::State& state) { curves(state, 6); }
void curve_all_bezier(benchmark::State& state) { curves(state, 1); }
BENCHMARK(curve_every_easing);
BENCHMARK(curve_all_bezier);

void limiter_32_actuators(benchmark::State& state) {
  const std::vector<show::Actuator> actuators(32);
  const motion::Limits limits = motion::limits_of(actuators, 0.01);
  motion::LimiterState head;
  for (int i = 0; i < 32; ++i) motion::seed(head, limits, i, 0, 0, 0);
  std::mt19937 random(3);
  std::uniform_real_distribution<double> angle(-50, 50);
  std::vector<std::array<double, 32>> targets(1024);
  for (auto& row : targets)
    for (auto& x : row) x = angle(random);
  benchmark::DoNotOptimize(&head);
  unsigned k = 0;
  for (auto _ : state) {
    motion::step(head, limits, targets[(k++ / 20) & 1023]);
    benchmark::ClobberMemory();
  }
  state.counters["ns_per_actuator_tick"] = benchmark::Counter(32e-9 * static_cast<double>(state.iterations()), benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
}
BENCHMARK(limiter_32_actuators);

}  // namespace
