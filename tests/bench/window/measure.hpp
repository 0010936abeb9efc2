// What the window costs: one function for each measurement. Each prints figures as `name value` lines to standard output, and what they were made of
// to standard error.
#pragma once
#include <time.h>

#include <cstdio>
#include <memory>
#include <string>
#include <vector>

#include "bench/long_show.hpp"
#include "editor/hands.hpp"
#include "editor/turn.hpp"

namespace mien::tests {

/// By a clock of the system's, in milliseconds.
inline double now_ms(clockid_t clock) {
  timespec t{};
  clock_gettime(clock, &t);
  return static_cast<double>(t.tv_sec) * 1e3 + static_cast<double>(t.tv_nsec) * 1e-6;
}
inline double thread_ms() { return now_ms(CLOCK_THREAD_CPUTIME_ID); }

inline void figure(const char* name, double value) { std::printf("%s %.4f\n", name, value); }

inline constexpr int kWidth = 1600, kHeight = 900;

/// The real window, for as long as one lasts; ends the program where none can be had.
struct RealWindow {
  explicit RealWindow(editor::Stage& stage);
  std::unique_ptr<editor::Window> window;
  std::unique_ptr<editor::Studio> studio;
  std::unique_ptr<editor::Preview> preview;
  std::unique_ptr<editor::Turn> turn;

  void put(std::shared_ptr<const show::Rig> rig, show::ShowPtr show) { studio->take_document(editor::Document(std::move(rig), std::move(show), {}, false), {}); }
  /// Turns until the study of what is on screen is there.
  void await_study();
};

int picture();  ///< a frame's picture of a million keys, built without a window
int frames();   ///< whole frames of them against frames of an empty window
int actions();  ///< every action on the demo
int memory();   ///< a million keys and a thousand steps of undo
int start(const std::string& program, const std::string& show);  ///< to the first frame

}  // namespace mien::tests
