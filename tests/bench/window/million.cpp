// A million keys in one window: what picture.cpp, frames.cpp and memory.cpp measure each for itself, on a show that is opened, edited and studied once.
#include <unistd.h>

#include <filesystem>

#include "bench/window/measure.hpp"

namespace mien::tests {
namespace {

constexpr int kBlocks = 10, kFrames = 4;  ///< of either show in turn, so that what else the machine does meets both alike

}  // namespace

int million(const std::string& go) {
  const auto stage = editor::real_stage(true);
  RealWindow real(*stage);
  real.turn->take();
  show::Show none;
  std::shared_ptr<const show::Rig> rig;
  {
    const LongShow made;
    rig = std::make_shared<const show::Rig>(made.rig);
    none = made.show;
    none.channels.clear();
    real.put(rig, std::make_shared<const show::Show>(made.show));
  }
  edit_a_thousand_times(real);
  real.await_study();
  std::fprintf(stderr, "memory: a million keys, studied, after a thousand steps %.0f MB at most\n", memory_mb("VmHWM"));
  figure("memory_1m_mb", memory_mb("VmHWM"));
  while (!go.empty() && !std::filesystem::exists(go)) {
    if (!std::filesystem::exists(std::filesystem::path(go).parent_path())) return 2;  // whoever asked has ended
    usleep(20'000);
  }

  // The same window without keys: a studio of its own, which takes turns with the full one.
  const auto other_stage = editor::real_stage(true);
  auto full_studio = std::move(real.studio);
  auto full_preview = std::move(real.preview);
  auto full_turn = std::move(real.turn);
  real.begin_anew(*other_stage);
  real.put(rig, std::make_shared<const show::Show>(none));
  real.await_study();
  std::vector<double> full, empty, cleared;
  const auto block = [](editor::Turn& turn, std::vector<double>& all) {
    turn.take();
    for (int i = 0; i < kFrames; ++i) all.push_back(frame_by_clock_ms([&] { turn.take(); }));
  };
  for (int i = 0; i < kBlocks; ++i) {
    block(*full_turn, full);
    block(*real.turn, empty);
    cleared.push_back(frame_by_clock_ms([&] {
      real.window->begin_frame();
      real.window->end_frame(real.studio->look().theme.panel);
    }));
  }
  say_frames(full, empty, median(cleared));

  real.turn = std::move(full_turn), real.preview = std::move(full_preview), real.studio = std::move(full_studio);
  real.studio->set_draw_head({});  // no window's, as in picture()
  picture_of(*real.studio, [&real] { return real.build(); });
  return 0;
}

}  // namespace mien::tests
