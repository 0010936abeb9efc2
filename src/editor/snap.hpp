// Where a drag in time lands: on ticks or frames, and on markers, the playhead and keys where they are near.
#pragma once
#include "editor/scene.hpp"
#include "editor/view.hpp"

namespace mien::editor {

/// `free`: nothing but the show's own ends holds it. Keys of `moving` don't count, for they move along.
show::Time snapped_to(const Scene& scene, const TimeAxis& axis, show::Time time, bool free, const Selection* moving = nullptr);

}  // namespace mien::editor
