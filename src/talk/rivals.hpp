// Who else moves a mouth that speaks.
#pragma once
#include <string>

#include "show/finding.hpp"
#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::talk {

/// Notes on keys of another hand on controls of the layer "speech", at times at which it is on: the show's own and those of layers under it do nothing there, those of layers over it
/// replace or add to what is said. A recorded take is such keys, too. One note for each who has them; idle life and muted layers are none. A speech layer without a curve of its weight is on throughout.
/// `file` is the show's.
show::Findings rivals_of_speech(const show::Show& show, const show::Rig& rig, const std::string& file);

}  // namespace mien::talk
