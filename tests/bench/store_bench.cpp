// What opening and saving a long show costs: a million keys in 64 channels.
#include <benchmark/benchmark.h>

#include "store/csv.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"
#include "support/sample.hpp"

using namespace mien;

namespace {

struct LongShow {
  LongShow() {
    support::Random random(1);
    rig = support::rig(random, show::kMaxActuators);
    show.name = "long";
    show.rig_file = "long.rig.json";
    show.length = std::chrono::hours(4);
    for (const auto& control : rig.controls) show.channels.push_back(support::channel(random, control, show.length, 15'625));
    // As an editor makes them: times on the millisecond, values of four digits, few easings of one's own.
    for (auto& channel : show.channels) {
      show::Channel rounded = *channel;
      rounded.keys.clear();
      for (show::Keyframe key : channel->keys) {
        key.time = std::chrono::duration_cast<std::chrono::milliseconds>(key.time);
        key.value = std::clamp(std::round(key.value * 1e4) / 1e4, -50.0, 50.0);
        if (key.easing.kind == show::Easing::Kind::bezier && support::chance(random, 0.9)) key.easing = show::kSmooth;
        if (rounded.keys.empty() || key.time > rounded.keys.back().time) rounded.keys.push_back(key);
      }
      channel = std::make_shared<const show::Channel>(std::move(rounded));
    }
    store::save_rig(folder / "long.rig.json", rig);
    store::save_show(path, show);
  }
  support::Folder folder;
  std::filesystem::path path = folder / "long.show.json";
  show::Rig rig;
  show::Show show;
};

const LongShow& long_show() {
  static const LongShow made;
  return made;
}

void load_a_million_keys(benchmark::State& state) {
  const auto& made = long_show();
  for (auto _ : state) {
    const auto loaded = store::load_show(made.path);
    if (!loaded) state.SkipWithError(to_text(loaded.problem()).c_str());
  }
  state.counters["MB"] = static_cast<double>(std::filesystem::file_size(made.path)) / 1e6;
}

void save_a_million_keys(benchmark::State& state) {
  const auto& made = long_show();
  for (auto _ : state) {
    if (const auto problem = store::save_show(made.path, made.show)) state.SkipWithError(to_text(*problem).c_str());
  }
}

void refuse_a_gigabyte(benchmark::State& state) {
  support::Folder folder;
  support::write(folder / "huge", "");
  std::filesystem::resize_file(folder / "huge", std::uintmax_t{1} << 30);
  for (auto _ : state) benchmark::DoNotOptimize(store::load_show(folder / "huge"));
}

BENCHMARK(load_a_million_keys)->Unit(benchmark::kMillisecond);
BENCHMARK(save_a_million_keys)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(refuse_a_gigabyte)->Unit(benchmark::kMicrosecond);

}  // namespace
