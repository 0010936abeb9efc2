// What the actions of the cue list do; see action.cpp.
#pragma once
#include "show/cue.hpp"

namespace mien::editor {

class Studio;

/// nullptr where none is chosen, or it is not there any more.
const show::Cue* chosen_cue(const Studio& studio);
bool has_cue(const Studio& studio);
/// Whether the list beside the lanes has something chosen that a key could start.
bool can_learn_trigger(const Studio& studio);

/// Of the clip or pose that is chosen, else of the show's first stretch.
void add_cue(Studio& studio);
void cue_up(Studio& studio);
void cue_down(Studio& studio);
void remove_cue(Studio& studio);

}  // namespace mien::editor
