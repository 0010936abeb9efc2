#include <imgui.h>
#include <malloc.h>

#include <atomic>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <thread>

#include <GLFW/glfw3.h>

#include "editor/display_loss.hpp"
#include "editor/editor.hpp"
#include "editor/probe.hpp"
#include "editor/turn.hpp"
#include "show/text.hpp"
#include "threads/steady.hpp"

namespace mien::editor {
namespace {

volatile std::sig_atomic_t asked_to_end = 0, hung_up = 0;

void end_on_signals() {
  struct sigaction action {};
  action.sa_handler = [](int) { asked_to_end = 1; };
  sigaction(SIGTERM, &action, nullptr);
  sigaction(SIGINT, &action, nullptr);
  action.sa_handler = [](int) { hung_up = 1; };
  sigaction(SIGHUP, &action, nullptr);
}

// A terminal that is closed ends the window as ever; one that went down with the display must not end the performance, so a hang-up waits until it is seen which it was.
class HangUp {
 public:
  bool over() {
    if (!hung_up) return false;
    if (since_ns_ == 0) since_ns_ = threads::steady_ns();
    return threads::steady_ns() - since_ns_ > kSettle_ns;
  }

 private:
  static constexpr std::int64_t kSettle_ns = 1'000'000'000;
  std::int64_t since_ns_ = 0;
};

void say(const char* what, const char* cure) {
  std::fprintf(stderr, "%s\n", show::to_text({show::Severity::warning, "", "display", what, cure}).c_str());
}

// From within the call that found the display gone, and never back: nothing of it may be touched any more. What performs and what keeps work runs in threads of its own,
// and goes on; this loop does what a frame does besides drawing. What was in the middle of being drawn is left so.
[[noreturn]] void without_display(Studio& studio, std::unique_ptr<Stage>& stage) {
  const bool performs = studio.performs();
  studio.write_down("display gone");
  if (performs) say("is gone; the performance goes on without a window, and unsaved changes are kept for the next start", "Ctrl-C or SIGTERM stops the head at once; start 'mien edit' again once there is a display");
  else say("is gone; unsaved changes are kept for the next start", "Start 'mien edit' again once there is a display");
  while (!asked_to_end && studio.go_on_unseen()) std::this_thread::sleep_for(std::chrono::milliseconds(5));
  studio.settle_work();
  studio.write_down(asked_to_end ? "ended by a signal" : "at rest");
  stage.reset();  // stops boards that are still driven
  std::_Exit(performs ? 0 : 1);
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
class ProbePlaces {
 public:
  explicit ProbePlaces(const std::filesystem::path& journal) {
    if (journal.empty()) return;
    file_ = journal.string() + ".places";
    listening_probe = &probe_;
  }
  ~ProbePlaces() { listening_probe = nullptr; }
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
  // NOLINTBEGIN(concurrency-mt-unsafe): no thread has begun yet
  mallopt(M_MMAP_THRESHOLD, 32 << 20);
  mallopt(M_TRIM_THRESHOLD, 512 << 20);
  // NOLINTEND(concurrency-mt-unsafe)
  show::Finding problem;
  const auto window = Window::open({options.width, options.height, options.scale}, problem);
  if (!window) return problem;
  end_on_signals();

  auto stage = real_stage(options.mute);
  Journal journal;
  if (!options.journal.empty()) journal = Journal(options.journal);
  Studio studio(*stage, make_look(*window, true, 1), std::move(journal));
  Preview preview;
  Turn turn(*window, studio, preview);
  listen(*window, studio);
  studio.use_desktop_dialogs(ask_portal, window->handle());
  studio.move_in(store::user_places());
  if (!options.theme.empty()) studio.choose_theme(options.theme == "dark" ? store::Settings::Theme::dark : options.theme == "light" ? store::Settings::Theme::light : store::Settings::Theme::system, false);
  if (!options.show.empty()) studio.open(options.show);
  if (!options.port.empty()) studio.apply(OpenPort{options.port});

  ProbePlaces places(options.journal);
  Pace pace;
  on_display_loss([&] { without_display(studio, stage); });
  HangUp hang_up;
  while (!studio.quit() && !asked_to_end && !hang_up.over()) {
    pace.wait(*window, studio.lively() || preview.pictures_pending() || turn.letters_pending());
    places.begin();
    turn.take();
    places.end();
  }
  on_display_loss({});
  window->first_look = {};
  window->asked_to_close = {};
  window->dropped = {};
  return {};
}

}  // namespace mien::editor
