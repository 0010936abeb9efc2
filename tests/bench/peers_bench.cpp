// Mien's numbers beside those of libraries that a sceptic would name, on the same work: tests/bench.sh prints the ratios. Each peer is used in the way that costs it
// least, and is held to the same answers before it is measured, where both answer the same question.
#include <math.h>  // before pchip.hpp, which in Boost 1.74 calls isnan without a namespace

#include <benchmark/benchmark.h>

#include <boost/math/interpolators/pchip.hpp>
#include <kdl/velocityprofile_trap.hpp>

#include <array>
#include <cmath>
#include <memory>
#include <random>
#include <vector>

#include "motion/curve.hpp"
#include "motion/limiter.hpp"

using namespace mien;

namespace {

using Pchip = boost::math::interpolators::pchip<std::vector<double>>;
constexpr int kChannels = 64, kAxes = 32;
constexpr show::Time kTick = std::chrono::milliseconds(10), kSpan = std::chrono::seconds(240);

// 64 channels of 1,000 keys, four a second, all of them smooth: what both sides know how to draw.
std::vector<show::Channel> smooth_channels() {
  std::mt19937 random(7);
  std::uniform_int_distribution<int> gap_ms(50, 450);
  std::uniform_real_distribution<double> value(0, 1);
  std::vector<show::Channel> channels(kChannels);
  for (auto& c : channels)
    for (show::Time t{0}; c.keys.size() < 1000; t += std::chrono::milliseconds(gap_ms(random))) c.keys.push_back({t, value(random), show::kSmooth});
  return channels;
}

std::vector<Pchip> pchips(const std::vector<show::Channel>& channels) {
  std::vector<Pchip> peers;
  for (const auto& c : channels) {
    std::vector<double> x, y;
    for (const auto& key : c.keys) x.push_back(show::to_seconds(key.time)), y.push_back(key.value);
    peers.emplace_back(std::move(x), std::move(y));
  }
  return peers;
}

void peer_curve_mien(benchmark::State& state) {
  const auto channels = smooth_channels();
  const auto peers = pchips(channels);
  motion::Shapes shapes;
  for (const auto& c : channels) shapes.add(c);
  const auto cursors = std::make_unique<motion::Cursors>();
  for (int i = 0; i < kChannels; ++i) cursors->put(i, motion::Cursor(&channels[static_cast<std::size_t>(i)], &shapes, 0));
  std::array<double, kChannels> values;
  for (show::Time t{0}; t <= kSpan; t += 7 * kTick) {
    cursors->at(t, kChannels, values.data());
    for (std::size_t i = 0; i < kChannels; ++i)
      if (t < channels[i].keys.back().time && std::abs(values[i] - peers[i](show::to_seconds(t))) > 2e-6) return state.SkipWithError("not the curve that Boost.Math draws");
  }
  show::Time t{0};
  for (auto _ : state) {
    cursors->at(t, kChannels, values.data());
    benchmark::ClobberMemory();
    if ((t += kTick) > kSpan) t = show::Time{0};
  }
}

// Times are handed over in seconds, as the library wants them; a channel that has ended is left out, for it refuses those.
void peer_curve_pchip(benchmark::State& state) {
  const auto channels = smooth_channels();
  const auto peers = pchips(channels);
  std::vector<double> end_s;
  for (const auto& c : channels) end_s.push_back(show::to_seconds(c.keys.back().time));
  std::array<double, kChannels> values{};
  show::Time t{0};
  for (auto _ : state) {
    const double t_s = show::to_seconds(t);
    for (std::size_t i = 0; i < kChannels; ++i)
      if (t_s < end_s[i]) values[i] = peers[i](t_s);
    benchmark::ClobberMemory();
    if ((t += kTick) > kSpan) t = show::Time{0};
  }
}

// 32 targets that leap every 20 ticks, far enough that no move is over before.
std::vector<std::array<double, kAxes>> leaps() {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> angle(-50, 50);
  std::vector<std::array<double, kAxes>> targets(1024);
  for (auto& row : targets)
    for (auto& x : row) x = angle(random);
  return targets;
}

void peer_limiter_mien(benchmark::State& state) {
  const motion::Limits limits = motion::limits_of(std::vector<show::Actuator>(kAxes), show::to_seconds(kTick));
  motion::LimiterState head;
  for (int i = 0; i < kAxes; ++i) motion::seed(head, limits, i, 0, 0, 0);
  const auto targets = leaps();
  unsigned k = 0;
  for (auto _ : state) {
    motion::step(head, limits, targets[(k++ / 20) & 1023]);
    benchmark::ClobberMemory();
  }
}

// A trapezoid begins at rest and knows nothing of the move before, so that it has less to work out than the limiter, which goes on from any velocity. Range 1: planned when
// the target leaps and read on each tick. Range 2: planned anew on each tick, as a target asks for that never stands still.
void peer_limiter_kdl(benchmark::State& state) {
  const bool always = state.range(0) == 2;
  const show::Actuator servo;
  std::vector<KDL::VelocityProfile_Trap> axes(kAxes, KDL::VelocityProfile_Trap(servo.velocity_deg_s, servo.acceleration_deg_s2));
  const double tick_s = show::to_seconds(kTick);
  const auto targets = leaps();
  std::array<double, kAxes> position{};
  unsigned k = 0;
  for (auto _ : state) {
    const unsigned into = always ? 0 : k % 20;
    const auto& target = targets[(k++ / 20) & 1023];
    if (into == 0)
      for (std::size_t i = 0; i < kAxes; ++i) axes[i].SetProfile(position[i], target[i]);
    for (std::size_t i = 0; i < kAxes; ++i) position[i] = axes[i].Pos((into + 1) * tick_s);
    benchmark::ClobberMemory();
  }
}

BENCHMARK(peer_curve_mien);
BENCHMARK(peer_curve_pchip);
BENCHMARK(peer_limiter_mien);
BENCHMARK(peer_limiter_kdl)->Arg(1)->Arg(2);

}  // namespace
