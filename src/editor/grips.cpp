#include "editor/grips.hpp"

#include <algorithm>

#include "editor/draw.hpp"

namespace mien::editor {
namespace {

bool holds_end(const Drag& drag) noexcept { return drag.kind == Drag::Kind::scale_end; }

}  // namespace

show::Time held_end(const Drag& drag) noexcept { return holds_end(drag) ? drag.range.end : drag.range.begin; }

void pull_time_grip(const Scene& scene, const Drag& drag, show::Time to, bool done, Commands& out) {
  const show::Time pivot = holds_end(drag) ? drag.range.begin : drag.range.end;
  const double factor = std::max(1e-3, show::to_seconds(to - pivot) / show::to_seconds(held_end(drag) - pivot));
  if (!done) beside_pointer(scene.look, percent_text(factor) + "   about " + time_text(scene.view, pivot));
  out.push_back(Change{Reshaping{ScaleKeys{drag.keys, factor, 1, pivot, {}}}, done});
}

}  // namespace mien::editor
