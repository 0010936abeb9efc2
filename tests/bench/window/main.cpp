// mien_window_bench WHAT: what the window costs. All but picture want a display; tests/bench.sh gives one.
#include <imgui.h>
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
  look = editor::make_look(*window, true, 1);
  begin_anew(stage);
}

void RealWindow::begin_anew(editor::Stage& stage) {
  // What was there may have chosen other letters or colours, or be making them.
  turn.reset();
  if (studio && (studio->look().scale != look.scale || !studio->look().theme.dark)) {
    look = editor::make_look(*window, true, 1);
    window->upload_letters();
  }
  turn.reset(), preview.reset(), studio.reset();
  studio = std::make_unique<editor::Studio>(stage, look);
  preview = std::make_unique<editor::Preview>();
  turn = std::make_unique<editor::Turn>(*window, *studio, *preview);
}

int RealWindow::build() {
  const auto presses = window->begin_frame();
  preview->begin_frame();
  studio->frame(presses);
  ImGui::Render();
  return ImGui::GetDrawData()->TotalVtxCount;
}

void RealWindow::await_study() {
  const auto studied = [&] { return studio->feasibility() && studio->feasibility()->show == studio->document().shared_whole(); };
  while (!studied()) {
    build();
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
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
  if (what == "memory") return mien::tests::memory();
  if (what == "million") return mien::tests::million(count > 2 ? words[2] : "");
  if (what == "actions") return mien::tests::actions(count > 2 && words[2] == std::string("thorough"));
  if (what == "start" && count >= 4) return mien::tests::start(words[2], words[3], count > 4 ? std::atoi(words[4]) : 5);
  std::fprintf(stderr, "mien_window_bench picture | frames | memory | million [GO-FILE] | actions [thorough] | start PROGRAM SHOW [TIMES]\n");
  return 2;
}
