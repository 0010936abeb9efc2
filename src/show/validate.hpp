// Whether a rig, or a show on a rig, can be performed. Every finding names the file, the place and the cure; an error means
// that it can't be performed as it stands, a warning that it can but the person should look.
#pragma once
#include <string>

#include "show/finding.hpp"
#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::show {

Findings validate(const Rig& rig, const std::string& file);
/// Assumes nothing about the rig: what is wrong with it is not said again here.
Findings validate(const Show& show, const Rig& rig, const std::string& file);

/// A library has no rig of its own: whether a rig has its controls is for with_library() (show/library.hpp) to say.
Findings validate(const Library& library, const std::string& file);

}  // namespace mien::show
