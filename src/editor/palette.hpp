// Finding an action by what is typed.
#pragma once
#include <string_view>
#include <vector>

#include "editor/action.hpp"

namespace mien::editor {

/// The actions in whose name, menu or id every typed word occurs, capitals aside: first those whose name begins with what was typed, then those
/// whose name has words that begin with each of them, then the rest; in each the registry's order. Nothing typed: all.
std::vector<const Action*> matching(std::string_view typed);

}  // namespace mien::editor
