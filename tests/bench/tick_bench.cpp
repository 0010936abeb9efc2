// The cost of a whole tick: 64 channels, 32 actuators behind responses of every kind, two eyes, blinks, 12 constraints.
#include <benchmark/benchmark.h>

#include <memory>
#include <optional>
#include <random>

#include "perform/rig_check.hpp"
#include "perform/tick.hpp"

using namespace mien;

namespace {

// Servos 0 and 1 in a differential, 2 and 3 behind a two-rod plate, then six slider-cranks, six four-bars, four tables, the rest straight.
show::Response response_of(int i) {
  if (i < 2) return show::Differential{};
  if (i < 4) return show::TwoRodPlate{};
  if (i < 10) return show::SliderCrank{12, 40, 2, false, -90};
  if (i < 16) return show::FourBar{20, 60, 50, 70, false, 82};
  if (i < 20) return show::Measured{{{-20, -35}, {-11, -20}, {-4, -9}, {0, 0}, {5, 8}, {10, 17}, {21, 35}}};
  return show::Straight{};
}

std::shared_ptr<show::Rig> thirty_two_servos(std::optional<double> slack_deg) {
  auto rig = std::make_shared<show::Rig>();
  for (int c = 0; c < 64; ++c) rig->controls.push_back({"c" + std::to_string(c), "", "1", c < 2 ? 0.0 : -1.0, 1, 0});
  rig->controls[61] = {"yaw", "", "deg", -30, 30, 0}, rig->controls[62] = {"pitch", "", "deg", -20, 20, 0}, rig->controls[63] = {"far", "", "mm", 200, 3000, 1000};
  rig->gaze = show::Gaze{"yaw", "pitch", "far", 63, "left", "right"};
  for (int i = 0; i < 32; ++i) {
    show::Actuator a;
    a.name = "a" + std::to_string(i), a.min_deg = -35, a.max_deg = 35, a.velocity_deg_s = 600, a.acceleration_deg_s2 = 12000;
    rig->actuators.push_back(a);
    show::Axis axis{"", 0, {}};
    for (int t = 0; t < 4; ++t) axis.terms.push_back({"c" + std::to_string(2 + (7 * i + 13 * t) % 58), 4.0 - t});
    if (i >= 30) axis.terms = {{i == 30 ? "left" : "right", 1}};
    if (i >= 10 && i < 14) axis.terms.push_back({"pitch", 0.2}), axis.closing = show::Closing{i % 2 ? "c0" : "c1", -9};
    if (i < 4 && i % 2) rig->mappings.back().axes.push_back(axis), rig->mappings.back().actuators.push_back(a.name);
    else rig->mappings.push_back({{axis}, response_of(i), {a.name}});
  }
  for (int k = 0; k < 12 && slack_deg; ++k) {
    const std::string one = "a" + std::to_string(2 * k + 4), other = "a" + std::to_string(2 * k + 5);
    rig->constraints.push_back({"r" + std::to_string(k), {{one, 1}, {other, k % 3 == 0 ? 0.5 : -1}}, -*slack_deg});
  }
  return rig;
}

// Two keys a second in each channel, every easing.
std::shared_ptr<show::Show> lively(const show::Rig& rig) {
  const show::Easing easings[] = {show::kHold, show::kLinear, show::kSmooth, show::kEase, show::kEaseInOut};
  std::mt19937 random(7);
  auto show = std::make_shared<show::Show>();
  show->length = std::chrono::seconds(240);
  for (const auto& control : rig.controls) {
    show::Channel channel{control.name, {}};
    for (show::Time t{0}; t < show->length; t += std::chrono::milliseconds(200 + random() % 600))
      channel.keys.push_back({t, std::uniform_real_distribution(control.min, control.max)(random), easings[random() % 5]});
    show->channels.push_back(std::make_shared<const show::Channel>(std::move(channel)));
  }
  return show;
}

void whole_tick(benchmark::State& state, std::optional<double> slack_deg) {
  const auto rig = thirty_two_servos(slack_deg);
  if (show::has_errors(perform::check_rig(*rig, ""))) return state.SkipWithError("the rig is not sound");
  const auto plan = perform::compile(rig, lively(*rig));
  const auto head = std::make_unique<perform::Head>();
  perform::Tick out;
  perform::stand_at(*head, *plan, show::Time{0});
  std::int64_t n = 0, bound = 0;
  for (auto _ : state) {
    perform::tick(*plan, *head, plan->tick * (n++ % 24'000), 1, out);
    bound += slack_deg && out.allowed_deg != out.target_deg;
    benchmark::ClobberMemory();
  }
  state.counters["projected"] = static_cast<double>(bound) / static_cast<double>(n);
}
void tick_64_channels_32_actuators(benchmark::State& state) { whole_tick(state, {}); }
// The smaller the slack between rest and the constraints, the more of them bind.
void tick_64_channels_32_actuators_12_constraints(benchmark::State& state) { whole_tick(state, state.range(0)); }
BENCHMARK(tick_64_channels_32_actuators);
BENCHMARK(tick_64_channels_32_actuators_12_constraints)->ArgName("slack_deg")->Arg(30)->Arg(20)->Arg(12);

// The same show under layers: each with 16 channels of its own and a clip on 16 controls that repeats all the while, fading; or one of idle life.
std::shared_ptr<show::Show> under_layers(const show::Rig& rig, int layers) {
  auto show = lively(rig);
  show::Clip clip{"clip", std::chrono::seconds(2), {}};
  for (int c = 0; c < 16; ++c) clip.channels.push_back(std::make_shared<const show::Channel>(show::Channel{"c" + std::to_string(3 * c), {{show::Time{0}, 0, show::kSmooth}, {std::chrono::seconds(1), 0.5, show::kEase}, {std::chrono::seconds(2), 0, show::kHold}}}));
  show->clips = {std::make_shared<const show::Clip>(clip)};
  for (int l = 0; l < layers; ++l) {
    show::Layer layer;
    layer.name = std::to_string(l), layer.blend = static_cast<show::Layer::Blend>(l % 2), layer.weight = 0.5;
    for (int c = 0; c < 16; ++c) layer.channels.push_back(show->channels[static_cast<std::size_t>(3 * c + 1)]);
    layer.placements = {{"clip", show::Time{0}}};
    layer.placements[0].repeats = 200, layer.placements[0].fade_in = layer.placements[0].fade_out = std::chrono::seconds(1);
    show->layers.push_back(std::make_shared<const show::Layer>(layer));
  }
  return show;
}
void perform_show(benchmark::State& state, const std::shared_ptr<show::Rig>& rig, const std::shared_ptr<show::Show>& show) {
  const auto plan = perform::compile(rig, show);
  const auto head = std::make_unique<perform::Head>();
  perform::Tick out;
  perform::stand_at(*head, *plan, show::Time{0});
  std::int64_t n = 0;
  for (auto _ : state) {
    perform::tick(*plan, *head, plan->tick * (n++ % 24'000), 1, out);
    benchmark::ClobberMemory();
  }
}
void tick_64_channels_under_layers(benchmark::State& state) {
  const auto rig = thirty_two_servos({});
  perform_show(state, rig, under_layers(*rig, static_cast<int>(state.range(0))));
}
void tick_64_channels_and_idle_life(benchmark::State& state) {
  const auto rig = thirty_two_servos({});
  rig->mappings[10].axes[0].role = "lid_upper_left", rig->mappings[20].axes[0].role = "brow_raise_left", rig->mappings[24].axes[0].role = "neck_yaw";
  auto show = lively(*rig);
  show::Layer layer;
  layer.name = "life", layer.blend = show::Layer::Blend::add, layer.idle = show::IdleLife{};
  show->layers = {std::make_shared<const show::Layer>(layer)};
  perform_show(state, rig, show);
}
BENCHMARK(tick_64_channels_under_layers)->ArgName("layers")->Arg(0)->Arg(1)->Arg(4);
BENCHMARK(tick_64_channels_and_idle_life);

void compile_after_an_edit(benchmark::State& state) {
  const auto rig = thirty_two_servos(20);
  const auto show = lively(*rig);
  const auto before = perform::compile(rig, show);
  for (auto _ : state) benchmark::DoNotOptimize(perform::compile(rig, show, before.get()));
}
void compile_a_rig(benchmark::State& state) {
  const auto rig = thirty_two_servos(20);
  const auto show = std::make_shared<show::Show>();
  for (auto _ : state) benchmark::DoNotOptimize(perform::compile(rig, show));
}
BENCHMARK(compile_after_an_edit)->Unit(benchmark::kMicrosecond);
BENCHMARK(compile_a_rig)->Unit(benchmark::kMicrosecond);

}  // namespace
