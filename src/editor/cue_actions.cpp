#include "editor/cue_actions.hpp"

#include "editor/compose_actions.hpp"
#include "editor/studio.hpp"
#include "show/cue_edit.hpp"

namespace mien::editor {
namespace {

void put(Studio& s, std::string doing, show::Show show) { s.apply(Change{Composition{PutShow{std::move(doing), std::make_shared<const show::Show>(std::move(show))}}}); }

void move(Studio& s, int by) {
  const auto& cues = s.document().whole().cues;
  const int n = show::cue_index(cues, s.view().cue), to = n + by;
  if (n < 0 || to < 0 || to >= static_cast<int>(cues.size())) return;
  put(s, "Move cue " + s.view().cue, show::with_cue_at(s.document().whole(), s.view().cue, static_cast<std::size_t>(to)));
}

}  // namespace

const show::Cue* chosen_cue(const Studio& s) {
  if (!s.document().open() || s.bench()) return nullptr;
  const auto& cues = s.document().whole().cues;
  const int n = show::cue_index(cues, s.view().cue);
  return n < 0 ? nullptr : &cues[static_cast<std::size_t>(n)];
}

bool has_cue(const Studio& s) { return chosen_cue(s) != nullptr; }

bool can_learn_trigger(const Studio& s) {
  const Side side = s.panels().side;
  return s.hands().learning_trigger || (side == Side::cues && has_cue(s)) || (side == Side::poses && has_pose(s)) || (side == Side::clips && has_clip(s));
}

void add_cue(Studio& s) {
  show::Cue cue;
  const Side side = s.panels().side;
  if (side == Side::poses && has_pose(s)) cue.deed = show::CuePose{s.view().pose}, cue.name = s.view().pose;
  else if (has_clip(s)) cue.deed = show::CueClip{s.view().clip}, cue.name = s.view().clip;
  else if (has_pose(s)) cue.deed = show::CuePose{s.view().pose}, cue.name = s.view().pose;
  else cue.deed = show::CueStretch{}, cue.name = "Whole show";
  std::vector<std::string> taken;
  for (const auto& other : s.document().whole().cues) taken.push_back(other.name);
  cue.name = fresh_name(cue.name, taken);
  const std::string name = cue.name;
  put(s, "Add cue " + name, show::with_cue(s.document().whole(), std::move(cue)));
  s.apply(ChooseCue{name});
  s.apply(ShowSide{Side::cues});
}

void cue_up(Studio& s) { move(s, -1); }
void cue_down(Studio& s) { move(s, 1); }
void remove_cue(Studio& s) { put(s, "Remove cue " + s.view().cue, show::without_cue(s.document().whole(), s.view().cue)); }

}  // namespace mien::editor
