// What ten minutes of sound cost, and one look at their peaks.
#include <benchmark/benchmark.h>

#include "sound/made.hpp"
#include "sound/mix.hpp"
#include "sound/wave.hpp"

using namespace mien;

namespace {

const sound::WavePtr& ten_minutes() {
  static const sound::WavePtr wave = sound::wave_of(sound::tone(220, 600, 48000));
  return wave;
}

void decode_ten_minutes(benchmark::State& state, int format) {
  const sound::TemporaryDirectory directory;
  const auto file = directory.path / "sound";
  sound::write_sound(file, format, 48000, 1, ten_minutes()->samples);
  for (auto _ : state) benchmark::DoNotOptimize(sound::load(file));
}

void peaks_of_ten_minutes(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(sound::Peaks(*ten_minutes()));
}

void peaks_over_any_span(benchmark::State& state) {
  const sound::Peaks peaks(*ten_minutes());
  std::size_t begin = 0;
  for (auto _ : state) {
    begin = (begin + 7'777'777) % 20'000'000;
    benchmark::DoNotOptimize(peaks.over(begin, begin + static_cast<std::size_t>(state.range(0))));
  }
}

void convert_a_second_from_44100(benchmark::State& state) {
  const auto wave = sound::wave_of(sound::tone(220, 1, 44100), 1, 44100);
  for (auto _ : state) benchmark::DoNotOptimize(sound::at_playing_rate(wave));
}

BENCHMARK_CAPTURE(decode_ten_minutes, wav, SF_FORMAT_WAV | SF_FORMAT_PCM_16)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(decode_ten_minutes, flac, SF_FORMAT_FLAC | SF_FORMAT_PCM_16)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(decode_ten_minutes, vorbis, SF_FORMAT_OGG | SF_FORMAT_VORBIS)->Unit(benchmark::kMillisecond);
BENCHMARK(peaks_of_ten_minutes)->Unit(benchmark::kMillisecond);
BENCHMARK(peaks_over_any_span)->Arg(1000)->Arg(100000)->Arg(8000000);
BENCHMARK(convert_a_second_from_44100)->Unit(benchmark::kMillisecond);

}  // namespace
