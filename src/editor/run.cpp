#include <imgui.h>
#include <malloc.h>

#include <atomic>
#include <csignal>
#include <cstdio>
#include <fstream>

#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>

#include "editor/editor.hpp"
#include "editor/probe.hpp"
#include "editor/turn.hpp"
#include "threads/steady.hpp"

namespace mien::editor {
namespace {

volatile std::sig_atomic_t asked_to_end = 0;

void end_on_signals() {
  struct sigaction action {};
  action.sa_handler = [](int) { asked_to_end = 1; };
  sigaction(SIGTERM, &action, nullptr);
  sigaction(SIGINT, &action, nullptr);
}

constexpr double kFrame_s = 1.0 / 60, kIdleFrame_s = 0.1;
constexpr std::int64_t kSettle_ns = 500'000'000;  ///< after the last input, before frames become rare

// Sixty frames a second while something moves, ten while nothing does; input wakes at once.
class Pace {
 public:
  void wait(Window& window, bool lively) {
    const double frame = lively || threads::steady_ns() - active_ns_ < kSettle_ns ? kFrame_s : kIdleFrame_s;
    while (!window.has_input() && !asked_to_end) {
      const double left = frame - static_cast<double>(threads::steady_ns() - frame_ns_) * 1e-9;
      if (left <= 0) break;
      window.wait(left);
    }
    window.wait(0);
    // Input that comes faster than the screen is shown at the screen's rate.
    while (!asked_to_end) {
      const double left = kFrame_s - static_cast<double>(threads::steady_ns() - frame_ns_) * 1e-9;
      if (left <= 0) break;
      window.wait(left);
    }
    frame_ns_ = threads::steady_ns();
    if (window.has_input()) active_ns_ = frame_ns_;
  }

 private:
  std::int64_t frame_ns_ = 0, active_ns_ = 0;
};

// For whoever drives the window from outside: where everything that can be used stands, written anew when it changed.
class Places {
 public:
  explicit Places(const std::filesystem::path& journal) {
    if (journal.empty()) return;
    file_ = journal.string() + ".places";
    listening_probe = &probe_;
  }
  ~Places() { listening_probe = nullptr; }
  void begin() { probe_.boxes.clear(); }
  void end() {
    if (file_.empty() || threads::steady_ns() - written_ns_ < 100'000'000) return;
    std::string text;
    for (const auto& [name, box] : probe_.boxes) {
      char edges[64];
      std::snprintf(edges, sizeof edges, "\t%.0f\t%.0f\t%.0f\t%.0f\n", box.min.x, box.min.y, box.max.x, box.max.y);
      text += name + edges;
    }
    if (text == text_) return;
    text_ = text;
    written_ns_ = threads::steady_ns();
    const std::filesystem::path beside = file_.string() + ".new";
    std::ofstream(beside) << text;
    std::error_code ignored;
    std::filesystem::rename(beside, file_, ignored);
  }

 private:
  std::filesystem::path file_;
  Probe probe_;
  std::string text_;
  std::int64_t written_ns_ = 0;
};

void listen(Window& window, Studio& studio) {
  // Stop comes before everything: before the queue, before dialogs, before text fields.
  window.first_look = [&studio, pointer = ImVec2{}](const InputEvent& e) mutable {
    if (e.kind == InputEvent::Kind::move) pointer = {e.x, e.y};
    if (e.kind == InputEvent::Kind::key && e.code == GLFW_KEY_ESCAPE && e.down && !e.repeat) studio.stop_now();
    if (e.kind != InputEvent::Kind::button || e.code != 0 || !e.down) return false;
    if (!studio.panels().stop.contains(pointer.x, pointer.y)) return false;
    studio.stop_now();
    return true;
  };
  window.asked_to_close = [&studio] { studio.ask_to_quit(); };
  window.dropped = [&studio](const auto& files) { studio.apply(Drop{files}); };
}

}  // namespace

std::optional<show::Finding> run(const Options& options) {
  // Big vertex buffers come from the heap and stay there; fresh pages every frame cost more than drawing.
  mallopt(M_MMAP_THRESHOLD, 32 << 20);
  mallopt(M_TRIM_THRESHOLD, 512 << 20);
  show::Finding problem;
  const auto window = Window::open({options.width, options.height, options.scale}, problem);
  if (!window) return problem;
  end_on_signals();

  const auto stage = real_stage(options.mute);
  Journal journal;
  if (!options.journal.empty()) journal = Journal(options.journal);
  Studio studio(*stage, make_look(*window, true, 1), std::move(journal));
  Preview preview;
  Turn turn(*window, studio, preview);
  listen(*window, studio);
  studio.move_in(store::user_places());
  if (!options.theme.empty()) studio.choose_theme(options.theme == "dark" ? store::Settings::Theme::dark : options.theme == "light" ? store::Settings::Theme::light : store::Settings::Theme::system, false);
  if (!options.show.empty()) studio.open(options.show);
  if (!options.port.empty()) studio.apply(OpenPort{options.port});

  Places places(options.journal);
  Pace pace;
  while (!studio.quit() && !asked_to_end) {
    pace.wait(*window, studio.lively() || preview.pictures_pending());
    places.begin();
    turn.take();
    places.end();
  }
  window->first_look = {};
  window->asked_to_close = {};
  window->dropped = {};
  return {};
}

}  // namespace mien::editor
