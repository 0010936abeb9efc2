// mien_window_bench picture|frames|actions|memory|start PROGRAM SHOW: what the window costs. All but picture want a display; tests/bench.sh gives one.
#include <malloc.h>

#include <cstdlib>
#include <cstring>
#include <thread>

#include "bench/window/measure.hpp"

namespace mien::tests {

RealWindow::RealWindow(editor::Stage& stage) {
  show::Finding problem;
  window = editor::Window::open({kWidth, kHeight, 1}, problem);
  if (!window) {
    std::fprintf(stderr, "%s\n", show::to_text(problem).c_str());
    std::exit(2);
  }
  studio = std::make_unique<editor::Studio>(stage, editor::make_look(*window, true, 1));
  preview = std::make_unique<editor::Preview>();
  turn = std::make_unique<editor::Turn>(*window, *studio, *preview);
}

void RealWindow::await_study() {
  const auto studied = [&] { return studio->feasibility() && studio->feasibility()->show == studio->document().shared_whole(); };
  while (!studied()) {
    turn->take();
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
  for (int i = 0; i < 3; ++i) turn->take();
}

}  // namespace mien::tests

int main(int count, char** words) {
  // As the program does it.
  mallopt(M_MMAP_THRESHOLD, 32 << 20);
  mallopt(M_TRIM_THRESHOLD, 512 << 20);
  const std::string what = count > 1 ? words[1] : "";
  if (what == "picture") return mien::tests::picture();
  if (what == "frames") return mien::tests::frames();
  if (what == "actions") return mien::tests::actions();
  if (what == "memory") return mien::tests::memory();
  if (what == "start" && count == 4) return mien::tests::start(words[2], words[3]);
  std::fprintf(stderr, "mien_window_bench picture|frames|actions|memory|start PROGRAM SHOW\n");
  return 2;
}
