// What opening and saving a long show costs: a million keys in 64 channels.
#include <benchmark/benchmark.h>

#include "bench/long_show.hpp"
#include "store/csv.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

using namespace mien;

namespace {

struct Saved : tests::LongShow {
  Saved() {
    store::save_rig(folder / "long.rig.json", rig);
    store::save_show(path, show);
  }
  support::Folder folder;
  std::filesystem::path path = folder / "long.show.json";
};

const Saved& long_show() {
  static const Saved made;
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
