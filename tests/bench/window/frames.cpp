// Whole frames, by the clock on the wall, at 1600x900 with whatever draws: the show of a million keys, and before and after it the same window with a show
// that has none, so that what else the machine does meets both alike. Beside them, for whoever looks for what drawing costs at all, frames that only
// clear the screen.
#include <epoxy/gl.h>
#include <imgui.h>

#include <algorithm>

#include "bench/window/measure.hpp"

namespace mien::tests {

double median(std::vector<double> all) {
  std::nth_element(all.begin(), all.begin() + static_cast<std::ptrdiff_t>(all.size() / 2), all.end());
  return all[all.size() / 2];
}

double frame_by_clock_ms(const std::function<void()>& draw) {
  glFinish();
  const double before = now_ms(CLOCK_MONOTONIC);
  draw();
  glFinish();
  return now_ms(CLOCK_MONOTONIC) - before;
}

void say_frames(std::vector<double> full, std::vector<double> empty, double cleared_ms) {
  const double whole = median(full), bare = median(empty);
  std::fprintf(stderr, "frames: %s; a million keys %.2f ms (least %.2f), without keys %.2f ms (least %.2f), a cleared screen %.2f ms\n", reinterpret_cast<const char*>(glGetString(GL_RENDERER)), whole,
               *std::min_element(full.begin(), full.end()), bare, *std::min_element(empty.begin(), empty.end()), cleared_ms);
  figure("window_1m_frame_ms", whole);
  figure("window_1m_over_empty", whole / bare);
}

int frames() {
  const LongShow made;
  show::Show none = made.show;
  none.channels.clear();
  FakeStage stage;
  RealWindow real(stage);
  const auto rig = std::make_shared<const show::Rig>(made.rig);
  std::vector<double> full, empty, cleared;
  const auto take = [&](const show::Show& show, std::vector<double>& all) {
    real.put(rig, std::make_shared<const show::Show>(show));
    real.await_study();
    for (int i = 0; i < 60; ++i) {
      all.push_back(frame_by_clock_ms([&] { real.turn->take(); }));
      cleared.push_back(frame_by_clock_ms([&] {
        real.window->begin_frame();
        real.window->end_frame(real.studio->look().theme.panel);
      }));
    }
  };
  take(none, empty);
  take(made.show, full);
  take(none, empty);
  say_frames(full, empty, median(cleared));
  return 0;
}

}  // namespace mien::tests
