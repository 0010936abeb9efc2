// The part of the studio that goes on when there is no display any more.
#include "editor/studio.hpp"
#include "threads/steady.hpp"

namespace mien::editor {
namespace {

constexpr std::int64_t kPause_ns = 1'000'000'000;  ///< a show that ends may be about to be started again by a line or a cue
constexpr std::int64_t kRest_ns = 10'000'000'000;  ///< as long as going to rest may take

bool drives(link::State state) noexcept {
  return state == link::State::armed || state == link::State::arming || state == link::State::disarming || state == link::State::lost;
}

}  // namespace

bool Studio::performs() const noexcept { return !bench_ && drives(link_.state); }

// Who could still ask for something, with no window: the show itself, cues on duty, contacts, and other machines.
bool Studio::attended() const noexcept {
  return report_.playing || panels_.cue_board || network_.osc || network_.sacn || follows_ != live::FollowSettings::Source::none ||
         (document_.open() && !document_.rig().inputs.empty());
}

bool Studio::go_on_unseen() {
  desktop_dialog_.close();
  follow_stage();
  follow_work();
  const std::int64_t now = threads::steady_ns();
  if (unseen_.attended_ns == 0 || (performs() && attended())) unseen_.attended_ns = now;
  if (unseen_.rest_ns == 0) {
    if (performs() && attended()) return true;
    if (performs() && now - unseen_.attended_ns < kPause_ns) return true;
    unseen_.rest_ns = now;
    if (bench_) stage_.stop();  // one servo at a time needs the eyes of who asked
    else if (drives(link_.state)) disarm();
  }
  return drives(link_.state) && link_.state != link::State::lost && now - unseen_.rest_ns < kRest_ns;
}

void Studio::settle_work() {
  if (keeper_) keeper_->settle();
  for (Tab& t : tabs_)
    if (t.keeper) t.keeper->settle();
}

}  // namespace mien::editor
