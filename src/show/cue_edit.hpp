// Edits of the cue list: pure functions from a show to a new one, as in show/edit.hpp. A name that is not there changes nothing.
#pragma once
#include <string>

#include "show/show.hpp"

namespace mien::show {

/// Adds it at the end, or replaces the one of its name where it stands.
Show with_cue(const Show& show, Cue cue);
/// Cues that followed it, and choices that had it, do without.
Show without_cue(const Show& show, const std::string& name);
/// Under a new name wherever cues name it; nothing changes where the new name is empty or taken.
Show with_cue_renamed(const Show& show, const std::string& name, const std::string& now);
/// To another place of the list, held within it.
Show with_cue_at(const Show& show, const std::string& name, std::size_t index);

/// What cues say about a pose or clip that now has another name.
void clip_renamed_in_cues(Show& show, const std::string& name, const std::string& now);
void pose_renamed_in_cues(Show& show, const std::string& name, const std::string& now);

}  // namespace mien::show
