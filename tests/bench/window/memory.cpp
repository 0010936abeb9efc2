// How much memory the program takes at most: window, stage and study, a million keys, and a thousand edits after them.
#include <cstdio>
#include <fstream>

#include "bench/window/measure.hpp"

namespace mien::tests {

double memory_mb(const std::string& which) {
  std::ifstream status("/proc/self/status");
  for (std::string line; std::getline(status, line);)
    if (line.starts_with(which + ":")) return std::stod(line.substr(which.size() + 1)) * 1024e-6;
  return 0;
}

// As hands work: now a key, now a handful, in whatever channel; frames between.
void edit_a_thousand_times(RealWindow& real) {
  support::Random random(2);
  const auto& document = real.studio->document();
  const std::size_t before = document.steps();
  while (document.steps() < before + 1000) {
    const auto& channel = *document.show().channels[static_cast<std::size_t>(support::whole(random, 0, 63))];
    const auto first = static_cast<std::size_t>(support::whole(random, 0, static_cast<int>(channel.keys.size()) - 40));
    std::vector<show::KeyRef> keys;
    for (int i = support::chance(random, 0.7) ? 1 : support::whole(random, 2, 30); i > 0; --i) keys.push_back({channel.control, channel.keys[first + static_cast<std::size_t>(i)].time});
    real.studio->apply(editor::Change{editor::MoveKeys{keys, std::chrono::milliseconds(10), 0.01 * support::real(random, -1, 1)}});
    if (document.steps() % 20 == 0) real.turn->take();
  }
}

int memory() {
  const auto stage = editor::real_stage(true);
  RealWindow real(*stage);
  real.turn->take();
  const double bare = memory_mb("VmHWM");
  {
    const LongShow made;
    real.put(std::make_shared<const show::Rig>(made.rig), std::make_shared<const show::Show>(made.show));
  }
  real.await_study();
  const double opened = memory_mb("VmHWM");
  edit_a_thousand_times(real);
  real.await_study();
  std::size_t keys = 0;
  for (const auto& c : real.studio->document().show().channels) keys += c->keys.size();
  std::fprintf(stderr, "memory: an empty window %.0f MB at most, %zu keys opened %.0f MB, after a thousand steps %.0f MB, of which %.0f MB stay\n", bare, keys, opened,
               memory_mb("VmHWM"), memory_mb("VmRSS"));
  figure("memory_1m_mb", memory_mb("VmHWM"));
  return 0;
}

}  // namespace mien::tests
