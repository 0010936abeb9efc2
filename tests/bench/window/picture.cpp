// A frame's picture of a million keys: the drawing library's frame, all panels, and its list of vertices. No window, so nothing of a driver's.
#include <algorithm>
#include <cstdlib>
#include <thread>

#include "bench/window/measure.hpp"

namespace mien::tests {
namespace {

constexpr int kPictures = 15;  ///< at most, of one place

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

// The least of several, as whatever else the machine does can only add to it; no more of them once it is no more than most_ms, where it can't be the worst.
double frame_ms(const BuildFrame& frame, double most_ms) {
  editor::listening_probe = nullptr;
  double least = 1e9;
  for (int i = 0; i < 3; ++i) frame();
  for (int i = 0; i < kPictures && least > most_ms; ++i) {
    const double before = thread_ms();
    frame();
    least = std::min(least, thread_ms() - before);
  }
  return least;
}

struct Worst { double ms = 0; int vertices = 0; };

Worst worst_of(editor::Studio& studio, const BuildFrame& frame) {
  Worst worst;
  for (const Place& place : places(studio.document().show().length)) {
    studio.see(place.visible);
    studio.panels().timeline.scroll = place.scroll;
    const double ms = frame_ms(frame, worst.ms);
    const int vertices = frame();
    if (std::getenv("MIEN_BENCH_ALL")) std::fprintf(stderr, "%9.2f s from %9.2f, scrolled %3.0f: %.3f ms, %d vertices\n", show::to_seconds(place.visible.length()), show::to_seconds(place.visible.begin), static_cast<double>(place.scroll), ms, vertices);
    worst.ms = std::max(worst.ms, ms);
    worst.vertices = std::max(worst.vertices, vertices);
  }
  return worst;
}

}  // namespace

void picture_of(editor::Studio& studio, const BuildFrame& frame) {
  const Worst plain = worst_of(studio, frame);
  studio.apply(editor::Select{editor::all_keys(studio.document().show())});
  const Worst chosen = worst_of(studio, frame);
  studio.apply(editor::Select{});
  for (const auto& group : studio.document().rig().groups) studio.apply(editor::Fold{group.name});
  const Worst folded = worst_of(studio, frame);
  std::fprintf(stderr, "picture: %zu findings; keys %.3f ms, %d vertices; all chosen %.3f ms, %d; all folded %.3f ms, %d\n", studio.feasibility()->study.shortfalls.size(), plain.ms,
               plain.vertices, chosen.ms, chosen.vertices, folded.ms, folded.vertices);
  figure("window_1m_cpu_ms", std::max({plain.ms, chosen.ms, folded.ms}));
  figure("window_1m_vertices", std::max({plain.vertices, chosen.vertices, folded.vertices}));
}

int picture() {
  const LongShow made;
  Hands hands(made.rig, made.show, {kWidth, kHeight});
  while (!hands.studio->feasibility() || hands.studio->feasibility()->show != hands.document().shared_whole()) {
    hands.frame();
    std::this_thread::sleep_for(std::chrono::milliseconds(200));
  }
  picture_of(*hands.studio, [&hands] { return hands.frame(), hands.vertices; });
  return 0;
}

}  // namespace mien::tests
