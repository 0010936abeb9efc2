// Takes, from the file to keys.
#include <cmath>

#include "fuzz/text.hpp"
#include "live/hand_rig.hpp"
#include "store/take_store.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  using fuzz::demand;
  const auto takes = store::load_takes(fuzz::file_with(data, size, ".take.json"));
  if (!takes) return fuzz::demand_words(takes.problem()), 0;
  for (const auto& take : *takes) {
    for (const auto& track : take.tracks) {
      for (std::size_t n = 1; n < track.samples.size(); ++n) demand(track.samples[n].time > track.samples[n - 1].time, "times rise");
      for (const auto& sample : track.samples) demand(std::isfinite(sample.value), "values are finite");
    }
    const auto made = live::into_channels(*live::hand_show(), *live::hand_rig(), take);
    for (const auto& channel : made.channels)
      for (std::size_t n = 1; n < channel->keys.size(); ++n) demand(channel->keys[n].time > channel->keys[n - 1].time, "keys rise");
  }
  return 0;
}
