// What the editor does after every edit, and what one command does to a show that is too fast.
#include <benchmark/benchmark.h>

#include <cstdlib>

#include "perform/arrive.hpp"
#include "perform/power.hpp"
#include "perform/study.hpp"
#include "store/store.hpp"

using namespace mien;

namespace {

// The show again and again, until it is 60 s long.
perform::PlanPtr a_minute_of(const char* file) {
  const auto loaded = store::load_show(store::Path(MIEN_SOURCE_DIR) / "shows" / file);
  if (!loaded) std::abort();
  auto show = std::make_shared<show::Show>(*loaded->show);
  for (auto& channel : show->channels) {
    auto longer = std::make_shared<show::Channel>(show::Channel{channel->control, {}});
    for (show::Time begin{0}; begin < std::chrono::seconds(60); begin += loaded->show->length) {
      if (!longer->keys.empty()) longer->keys.pop_back();
      for (auto key : channel->keys) key.time += begin, longer->keys.push_back(key);
    }
    while (longer->keys.back().time > std::chrono::seconds(60)) longer->keys.pop_back();
    channel = longer;
  }
  show->length = std::chrono::seconds(60);
  return perform::compile(loaded->rig, show);
}

void study_of(benchmark::State& state, const char* file) {
  const auto plan = a_minute_of(file);
  std::size_t found = 0;
  for (auto _ : state) benchmark::DoNotOptimize(found = perform::study(*plan).shortfalls.size());
  state.counters["actuators"] = plan->actuators();
  state.counters["findings"] = static_cast<double>(found);
}
void study_60_s_in_time(benchmark::State& state) { study_of(state, "keeper.show.json"); }
void study_60_s_hurried(benchmark::State& state) { study_of(state, "hurried.show.json"); }
BENCHMARK(study_60_s_in_time)->Unit(benchmark::kMillisecond);
BENCHMARK(study_60_s_hurried)->Unit(benchmark::kMillisecond);

void power_60_s(benchmark::State& state) {
  const auto plan = a_minute_of("keeper.show.json");
  for (auto _ : state) benchmark::DoNotOptimize(perform::power(*plan).rails.size());
}
BENCHMARK(power_60_s)->Unit(benchmark::kMillisecond);

// All three rails governed, with a rating that the show as authored is beyond.
void study_60_s_governed(benchmark::State& state) {
  const auto plan = a_minute_of("keeper.show.json");
  auto rig = std::make_shared<show::Rig>(*plan->rig);
  for (const auto& rail : perform::power(*plan).rails) {
    auto& governed = rig->boards[static_cast<std::size_t>(rail.board)].rails[static_cast<std::size_t>(rail.rail)];
    governed.governed = true, governed.rating_a = 0.8 * rail.load.peak_a;
  }
  const auto spared = perform::compile(rig, plan->show);
  for (auto _ : state) benchmark::DoNotOptimize(perform::study(*spared).shortfalls.size());
}
BENCHMARK(study_60_s_governed)->Unit(benchmark::kMillisecond);

void arrive_60_s_hurried(benchmark::State& state) {
  const auto plan = a_minute_of("hurried.show.json");
  const auto found = perform::study(*plan);
  for (auto _ : state) benchmark::DoNotOptimize(perform::make_it_arrive(plan, found).changes.size());
}
BENCHMARK(arrive_60_s_hurried)->Unit(benchmark::kMillisecond);

}  // namespace
