// A frame's picture of a million keys: the drawing library's frame, all panels, and its list of vertices. No window, so nothing of a driver's.
#include <algorithm>
#include <thread>

#include "bench/window/measure.hpp"

namespace mien::tests {
namespace {

struct Place { show::Range visible; float scroll; };

// The whole show, and ever closer, down to two seconds; at its start, within it and at its end; lanes from the first on, and farther down.
std::vector<Place> places(show::Time length) {
  std::vector<Place> all;
  for (show::Time span = length; span > std::chrono::seconds(1); span /= 4)
    for (const double at : {0.0, 0.37, 1.0})
      for (const float scroll : {0.0f, 500.0f}) {
        const auto begin = std::chrono::duration_cast<show::Time>((length - span) * at);
        all.push_back({{begin, begin + span}, scroll});
      }
  return all;
}

// The least of several: whatever else the machine does can only add to it.
double frame_ms(Hands& hands) {
  editor::listening_probe = nullptr;
  double least = 1e9;
  for (int i = 0; i < 3; ++i) hands.frame();
  for (int i = 0; i < 15; ++i) {
    const double before = thread_ms();
    hands.frame();
    least = std::min(least, thread_ms() - before);
  }
  return least;
}

struct Worst { double ms = 0; int vertices = 0; };

Worst worst_of(Hands& hands) {
  Worst worst;
  for (const Place& place : places(hands.show().length)) {
    hands.studio->see(place.visible);
    hands.studio->panels().timeline.scroll = place.scroll;
    worst.ms = std::max(worst.ms, frame_ms(hands));
    worst.vertices = std::max(worst.vertices, hands.vertices);
  }
  return worst;
}

}  // namespace

int picture() {
  const LongShow made;
  const ImVec2 screen{kWidth, kHeight};
  show::Show bare = made.show;
  for (auto& c : bare.channels) c = std::make_shared<const show::Channel>(show::Channel{c->control, {}});
  double empty = 0;
  {
    Hands hands(made.rig, bare, screen);
    empty = frame_ms(hands);
  }
  Hands hands(made.rig, made.show, screen);
  while (!hands.studio->feasibility() || hands.studio->feasibility()->show != hands.document().shared_whole()) {
    hands.frame();
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
  const Worst plain = worst_of(hands);
  hands.studio->apply(editor::Select{editor::all_keys(hands.show())});
  const Worst chosen = worst_of(hands);
  hands.studio->apply(editor::Select{});
  for (const auto& group : hands.document().rig().groups) hands.studio->apply(editor::Fold{group.name});
  const Worst folded = worst_of(hands);
  std::fprintf(stderr, "picture: %zu keys, %zu findings; without keys %.3f ms; keys %.3f ms, %d vertices; all chosen %.3f ms, %d; all folded %.3f ms, %d\n", made.keys(),
               hands.studio->feasibility()->study.shortfalls.size(), empty, plain.ms, plain.vertices, chosen.ms, chosen.vertices, folded.ms, folded.vertices);
  figure("window_1m_cpu_ms", std::max({plain.ms, chosen.ms, folded.ms}));
  figure("window_1m_vertices", std::max({plain.vertices, chosen.vertices, folded.vertices}));
  return 0;
}

}  // namespace mien::tests
