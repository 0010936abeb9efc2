// Whole frames, by the clock on the wall, at 1600x900 with whatever draws: the show of a million keys, and between them frames of an empty window, so that
// what else the machine does meets both alike.
#include <epoxy/gl.h>
#include <imgui.h>

#include <algorithm>

#include "bench/window/measure.hpp"

namespace mien::tests {
namespace {

double median(std::vector<double> all) {
  std::nth_element(all.begin(), all.begin() + static_cast<std::ptrdiff_t>(all.size() / 2), all.end());
  return all[all.size() / 2];
}

template <class Draw>
double timed(Draw draw) {
  glFinish();
  const double before = now_ms(CLOCK_MONOTONIC);
  draw();
  glFinish();
  return now_ms(CLOCK_MONOTONIC) - before;
}

}  // namespace

int frames() {
  const LongShow made;
  FakeStage stage;
  RealWindow real(stage);
  real.put(std::make_shared<const show::Rig>(made.rig), std::make_shared<const show::Show>(made.show));
  real.await_study();
  std::vector<double> full, empty;
  for (int i = 0; i < 120; ++i) {
    empty.push_back(timed([&] {
      real.window->begin_frame();
      real.window->end_frame(real.studio->look().theme.panel);
    }));
    full.push_back(timed([&] { real.turn->take(); }));
  }
  const double whole = median(full), bare = median(empty);
  std::fprintf(stderr, "frames: %s; %zu keys %.2f ms (least %.2f), an empty window %.2f ms (least %.2f)\n", reinterpret_cast<const char*>(glGetString(GL_RENDERER)), made.keys(), whole,
               *std::min_element(full.begin(), full.end()), bare, *std::min_element(empty.begin(), empty.end()));
  figure("window_1m_frame_ms", whole);
  figure("window_1m_over_empty", whole / bare);
  return 0;
}

}  // namespace mien::tests
