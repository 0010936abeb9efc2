// Every action of the registry, on the demo, in the real window: processor time of the window's thread for doing it and for the frame that shows it,
// letters, driver and all. Letters of another size are made beside the window: then the frame in which they come counts, where it is the dearer one. Beside it that of a frame in which
// nothing was asked.
#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <optional>
#include <thread>
#include <vector>

#include "bench/window/measure.hpp"
#include "editor/possible.hpp"
#include "show/library.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {

constexpr int kTimes = 3;         ///< at most, an action; the least counts, for whatever else the machine does can only add
constexpr int kStudy_ms = 2000;   ///< the longest wait for what is computed beside the window

std::filesystem::path shows() { return std::filesystem::path(MIEN_SOURCE_DIR) / "shows"; }

struct Spent { double action_ms = 1e9, empty_ms = 1e9; };

class Actions {
 public:
  Actions(const show::Rig& rig, const show::Show& show, bool thorough) : rig_(rig), show_(show), thorough_(thorough) {}

  /// The short form repeats only what is dearer than most_ms, as nothing else can be the dearest of all.
  Spent spent(const std::string& id, double most_ms) {
    Spent least;
    for (int time = 0; time < kTimes && (thorough_ || least.action_ms > most_ms); ++time) {
      const Spent now = once(id);
      least = {std::min(least.action_ms, now.action_ms), std::min(least.empty_ms, now.empty_ms)};
    }
    return least;
  }

 private:
  // A studio, its stage and folders, new for every action, as none shall find what another left.
  Spent once(const std::string& id) {
    support::Folder folder;
    const Lived lived(folder.path(), rig_, show_);
    std::filesystem::copy_file(shows() / "keeper.ogg", folder / "keeper.ogg");
    FakeStage stage;
    if (!warm_) warm_.emplace(still_);
    RealWindow& real = *warm_;
    real.begin_anew(stage);
    const Spent spent = measured(real, stage, lived, id);
    if (thorough_) warm_.reset();
    else real.begin_anew(still_);  // before the stage goes
    return spent;
  }

  Spent measured(RealWindow& real, FakeStage& stage, const Lived& lived, const std::string& id) const {
    const auto go_on = [&] {
      for (int i = 0; i < (thorough_ ? 3 : 1); ++i) thorough_ ? real.turn->take() : void(real.build());
    };
    lived.move_in(*real.studio, go_on);
    stage.now.time = show::from_seconds(6.2);
    stage.now.controls = static_cast<int>(rig_.controls.size());
    for (std::size_t c = 0; c < rig_.controls.size(); ++c) stage.now.control[c] = rig_.controls[c].rest;
    stage.now.control[0] = rig_.controls[0].max;
    go_on();
    make_possible(*real.studio, stage, go_on, id);
    settle(real);
    double before = thread_ms();
    real.turn->take();
    Spent s;
    s.empty_ms = thread_ms() - before;
    before = thread_ms();
    const bool done = real.studio->act(id);
    real.turn->take();
    s.action_ms = thread_ms() - before;
    while (real.turn->letters_pending()) {
      std::this_thread::sleep_for(std::chrono::milliseconds(1));
      before = thread_ms();
      real.turn->take();
      s.action_ms = std::max(s.action_ms, thread_ms() - before);
    }
    if (!done) {
      std::fprintf(stderr, "actions: %s was not possible, and is not measured\n", id.c_str());
      std::exit(2);
    }
    return s;
  }

  // Until what is computed beside the window is there, and the sound, and was drawn.
  void settle(RealWindow& real) const {
    if (thorough_)
      for (int i = 0; i < 20; ++i) {
        real.turn->take();
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
      }
    const auto studied = [&] { return real.studio->feasibility() && real.studio->feasibility()->show == real.studio->document().shared_whole(); };
    for (int waited_ms = 0; waited_ms < kStudy_ms && !studied(); waited_ms += 5) {
      real.build();
      std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    for (int i = 0; i < (thorough_ ? 3 : 1); ++i) real.turn->take();
  }

  const show::Rig& rig_;
  const show::Show& show_;
  bool thorough_;
  FakeStage still_;
  std::optional<RealWindow> warm_;
};

}  // namespace

int actions(bool thorough) {
  for (const char* name : {"GTK_THEME", "DBUS_SESSION_BUS_ADDRESS", "XDG_RUNTIME_DIR"}) ::unsetenv(name);
  const auto demo = store::load_show(shows() / "keeper.show.json");
  const auto looks = store::load_library(shows() / "keeper.clips.json");
  if (!demo || !looks) return 2;
  const show::Show show = composed(show::with_library(*demo->show, *demo->rig, looks->library).show, *demo->rig, "brow_frown", "gaze_yaw");
  Actions demos(*demo->rig, show, thorough);
  double most = 0;
  std::vector<double> empty;
  std::string which;
  for (const editor::Action& a : editor::actions()) {
    const Spent s = demos.spent(std::string(a.id), most);
    if (std::getenv("MIEN_BENCH_ALL")) std::fprintf(stderr, "%-18s %7.2f ms, empty %5.2f\n", std::string(a.id).c_str(), s.action_ms, s.empty_ms);
    empty.push_back(s.empty_ms);
    if (s.action_ms > most) most = s.action_ms, which = a.id;
  }
  std::fprintf(stderr, "actions: %zu of them; the slowest is '%s' with %.2f ms; frames without one %.2f ms, the middle one\n", editor::actions().size(), which.c_str(), most, median(empty));
  figure("ui_action_max_ms", most);
  figure("ui_frame_ms", median(empty));
  return 0;
}

}  // namespace mien::tests
