// Poses and clips on their way between shows: out into a library, and in from one.
#pragma once
#include <span>
#include <string>

#include "show/finding.hpp"
#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::show {

/// Those of the names; all where there are none. What the show has not is passed over.
Library library_of(const Show& show, std::string name, std::span<const std::string> poses = {}, std::span<const std::string> clips = {});

struct Imported {
  Show show;
  Findings findings;  ///< what was left out, and why: warnings, one for a pose or clip
  int poses = 0, clips = 0;
};
/// Poses and clips that need a control that the rig has not are left out. One whose name the show uses for another is left out, too, unless
/// `replace`; the same one again is no matter.
Imported with_library(const Show& show, const Rig& rig, const Library& library, bool replace = false, const std::string& file = {});

}  // namespace mien::show
