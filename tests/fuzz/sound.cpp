// Sound files, by way of libsndfile.
#include <cmath>

#include "fuzz/text.hpp"
#include "sound/onsets.hpp"
#include "sound/wave.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  using fuzz::demand;
  show::Findings notes;
  const auto read = sound::load(fuzz::file_with(data, size, ".sound"), &notes, [](double done) {
    demand(done >= 0 && done <= 1, "progress is a share");
    return true;
  });
  fuzz::demand_words(notes);
  if (!read) return fuzz::demand_words(read.problem()), 0;
  const sound::Wave& wave = **read;
  demand(wave.channels == 1 || wave.channels == 2, "one channel or two");
  demand(wave.rate_hz > 0 && wave.samples.size() % static_cast<std::size_t>(wave.channels) == 0, "whole frames at a rate");
  for (const float sample : wave.samples) demand(std::isfinite(sample) && std::abs(sample) <= 1, "samples are numbers within -1..1");
  const sound::Peaks peaks(wave);
  for (const std::size_t begin : {std::size_t{0}, wave.frames() / 3, wave.frames()}) {
    const auto bin = peaks.over(begin, wave.frames() + 1);
    demand(bin.low >= -1 && bin.high <= 1 && bin.low <= bin.high, "peaks are bounds");
  }
  show::Time last{-1};
  for (const show::Time t : sound::onsets(wave)) {
    demand(t > last && t <= wave.length() + show::Time{1'000'000}, "onsets rise, within the sound");
    last = t;
  }
  return 0;
}
