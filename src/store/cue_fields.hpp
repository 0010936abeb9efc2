// Cues in a show's file: a list after its layers. Inside src/store.
#pragma once
#include <vector>

#include "show/cue.hpp"
#include "store/show_fields.hpp"

namespace mien::store {

/// Nothing where there are none.
void write_cues(cereal::JSONOutputArchive& archive, std::vector<show::Cue> cues);
std::vector<show::Cue> read_cues(cereal::JSONInputArchive& archive);

}  // namespace mien::store
