// What the window costs: one function for each measurement. Each prints figures as `name value` lines to standard output, and what they were made of
// to standard error.
#pragma once
#include <time.h>

#include <cstdio>
#include <functional>
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

inline void figure(const char* name, double value) { std::printf("%s %.4f\n", name, value), std::fflush(stdout); }

inline constexpr int kWidth = 1600, kHeight = 900;

/// The real window, for as long as one lasts; ends the program where none can be had.
struct RealWindow {
  explicit RealWindow(editor::Stage& stage);
  std::unique_ptr<editor::Window> window;
  editor::Look look;
  std::unique_ptr<editor::Studio> studio;
  std::unique_ptr<editor::Preview> preview;
  std::unique_ptr<editor::Turn> turn;

  /// Another studio and preview, new as at the program's start, in the window that is open.
  void begin_anew(editor::Stage& stage);
  /// A turn whose picture is built and not drawn, which is most of what a turn takes where the processor draws; the picture's vertices.
  int build();
  void put(std::shared_ptr<const show::Rig> rig, show::ShowPtr show) { studio->take_document(editor::Document(std::move(rig), std::move(show), {}, false), {}); }
  /// Turns until the study of what is on screen is there.
  void await_study();
};

using BuildFrame = std::function<int()>;  ///< builds a frame's picture and returns its vertices

int picture();  ///< a frame's picture of a million keys, built without a window
int frames();   ///< whole frames of them against frames of an empty window
int memory();   ///< a million keys and a thousand steps of undo
/// The three in one window, on one show, studied once, after its edits. Where a path is given, all but the memory waits until there is a file, so that other measurements
/// have the machine meanwhile.
int million(const std::string& go);
/// Every action on the demo: thrice, each time in a window of its own; or once in a window that is open already, and twice more where that took long.
int actions(bool thorough);
int start(const std::string& program, const std::string& show, int times);  ///< to the first frame

/// The parts that several share.
void picture_of(editor::Studio& studio, const BuildFrame& frame);
double median(std::vector<double> all);
double frame_by_clock_ms(const std::function<void()>& draw);
void say_frames(std::vector<double> full, std::vector<double> empty, double cleared_ms);
double memory_mb(const std::string& which);  ///< "VmHWM", the most that was resident so far, or "VmRSS"
void edit_a_thousand_times(RealWindow& real);

}  // namespace mien::tests
