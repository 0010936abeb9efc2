// Files of version 0, as they were: read only, and turned into today's values. What differed: times were whole milliseconds,
// a show had tracks of keys {"t", "v", "e"} and at most one sound, controls had no group, and terms were {"control", "weight"}.
// tests/samples/version0.* are such files. Inside src/store.
#pragma once
#include "show/rig.hpp"
#include "show/show.hpp"
#include "store/archive.hpp"

namespace mien::store::version0 {

/// Both read what follows the header, and throw Broken where they can't.
show::Show read_show(cereal::JSONInputArchive& archive);
/// A control belongs to the group of the first actuator that it moves.
show::Rig read_rig(cereal::JSONInputArchive& archive);

}  // namespace mien::store::version0
