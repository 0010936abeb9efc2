#include "editor/curve_actions.hpp"

#include <algorithm>

#include "editor/lanes.hpp"

namespace mien::editor {

void keep_in_curve(Studio& s) {
  const auto& kept = s.view().kept;
  const std::string control = s.view().control;
  s.apply(KeepInCurve{control, std::find(kept.begin(), kept.end(), control) == kept.end()});
}

bool can_move_lane(const Studio& s, int by) {
  if (!s.document().open() || s.bench() || s.view().control.empty()) return false;
  const LanePlace place = place_of_lane(s.document().rig(), s.document().show(), s.view().control);
  if (s.document().keys_of().kind != KeysOf::Kind::show && !show::find_channel(s.document().show(), s.view().control)) return false;
  return by < 0 ? place.index > 0 : place.index + 1 < place.count;
}

void move_lane(Studio& s, int by) {
  const LanePlace place = place_of_lane(s.document().rig(), s.document().show(), s.view().control);
  const std::size_t to = by < 0 ? place.index - 1 : place.index + 1;
  s.apply(Change{Reshaping{MoveLane{s.view().control, to, s.document().keys_of().kind == KeysOf::Kind::show}}});
}

void choose_keys_of_loop(Studio& s) {
  if (const auto& loop = s.document().show().loop) s.apply(Select{keys_in(s.document().show(), *loop)});
}

void choose_keys_of_channel(Studio& s) {
  s.apply(Select{keys_in(s.document().show(), {show::Time{0}, s.document().show().length}, {s.view().control})});
}

}  // namespace mien::editor
