// What a performance needs of a loaded show besides its plan.
#pragma once
#include <filesystem>
#include <vector>

#include "show/finding.hpp"
#include "show/show.hpp"
#include "sound/player.hpp"

namespace mien::app {

/// Decodes the show's sounds; one that can't be is left out and said in `notes`.
std::vector<sound::Placed> sounds_of(const show::Show& show, const std::filesystem::path& folder, show::Findings& notes);

}  // namespace mien::app
