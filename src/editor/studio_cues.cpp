// The part of the studio that deals with cues: the board, its keys, and what became of those that were asked for.
#include <GLFW/glfw3.h>

#include <imgui.h>

#include "editor/cue_actions.hpp"
#include "editor/studio.hpp"
#include "threads/day.hpp"
#include "threads/steady.hpp"

namespace mien::editor {

constexpr std::int64_t kDayEvery_ns = 60'000'000'000;

// While the board is in sight the head lives on though the show stands, and the time of day starts cues.
void Studio::toggle_cue_board() {
  panels_.cue_board = !panels_.cue_board;
  stage_.set_cues_live(panels_.cue_board);
  day_told_ns_ = 0;
  journal_.line(panels_.cue_board ? "cue board" : "cue board closed");
}

void Studio::release_cues() {
  stage_.release_cues();
  journal_.line("cues released");
}

void Studio::follow_cues() {
  if (!document_.open() || bench_) {
    if (panels_.cue_board) toggle_cue_board();
    return;
  }
  if (panels_.cue_board && (day_told_ns_ == 0 || threads::steady_ns() - day_told_ns_ > kDayEvery_ns)) {
    day_told_ns_ = threads::steady_ns();
    stage_.set_day(threads::time_of_day_ns());
  }
  const auto& cues = document_.whole().cues;
  for (std::size_t n = 0; n < cues.size() && n < static_cast<std::size_t>(report_.cues.count) && n < cue_phases_.size(); ++n) {
    if (report_.cues.cue[n].phase == cue_phases_[n]) continue;
    cue_phases_[n] = report_.cues.cue[n].phase;
    journal_.line("cue " + cues[n].name + ": " + perform::name(cue_phases_[n]));
  }
}

void Studio::apply_one(const ChooseCue& c) { view_.cue = c.cue; }

void Studio::apply_one(const CueAct& c) {
  if (!document_.open() || c.index < 0 || c.index >= report_.cues.count) return;
  const auto phase = report_.cues.cue[static_cast<std::size_t>(c.index)].phase;
  const bool runs = phase == perform::CuePhase::playing || phase == perform::CuePhase::holding || phase == perform::CuePhase::waiting;
  if (c.what == CueAct::Do::release || (c.what == CueAct::Do::press && runs)) stage_.release_cue(c.index);
  else stage_.start_cue(c.index);
}

// At the board letters and digits are the cues', but for those that no cue has.
bool Studio::take_cue_key(const KeyPress& press) {
  if (!panels_.cue_board || press.repeat || press.mods != 0 || dialog_ != Dialog::none || ImGui::GetIO().WantTextInput || !document_.open()) return false;
  if (!((press.key >= GLFW_KEY_A && press.key <= GLFW_KEY_Z) || (press.key >= GLFW_KEY_0 && press.key <= GLFW_KEY_9))) return false;
  const auto& cues = document_.whole().cues;
  for (std::size_t n = 0; n < cues.size(); ++n) {
    if (cues[n].key.size() != 1 || cues[n].key.front() != static_cast<char>(press.key)) continue;
    apply(CueAct{CueAct::Do::press, static_cast<int>(n)});
    return true;
  }
  return false;
}

}  // namespace mien::editor
