// What the actions of the curve view and of lanes do; the table is in action.cpp.
#pragma once
#include "editor/studio.hpp"

namespace mien::editor {

template <Lie L>
void lay_handles_of(Studio& s) { s.apply(Change{HandleEdit{LayHandles{s.document().selection().refs(), true, true, L}}}); }
/// By hundredths of each control's range.
template <int N>
void nudge_values(Studio& s) { s.apply(Change{MoveKeys{s.document().selection().refs(), show::Time{0}, N * 0.01, false, true}}); }
void keep_in_curve(Studio& s);
/// The chosen channel's lane, within its group.
bool can_move_lane(const Studio& s, int by);
void move_lane(Studio& s, int by);
void choose_keys_of_loop(Studio& s);
void choose_keys_of_channel(Studio& s);

}  // namespace mien::editor
