// Whether a rig's geometry can be performed: what validate() (show/validate.hpp) leaves to the numbers.
#pragma once
#include <optional>
#include <string>

#include "show/finding.hpp"
#include "show/rig.hpp"

namespace mien::perform {

/// Linkages that can't close or turn back over the servo's travel, measured rows that turn, constraints that contradict each other or
/// the rest pose, mappings that put a servo elsewhere than at its rest when every control is at rest. What validate() has words for is
/// not said again. With an error the rig must not be performed; compile() keeps such a head at rest.
show::Findings check_rig(const show::Rig& rig, const std::string& file);

/// For whoever is about to perform the rig: the first error of check_rig(), if it has one; all else that it found joins the notes.
std::optional<show::Finding> refusal(const show::Rig& rig, const std::string& file, show::Findings& notes);

}  // namespace mien::perform
