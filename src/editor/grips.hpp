// The grips at the sides of a box about chosen keys, the same in lanes and curve: a drag of one scales times about the other side.
#pragma once
#include "editor/command.hpp"
#include "editor/panels.hpp"

namespace mien::editor {

inline constexpr float kGrip = 8;                       ///< width of a grip
inline constexpr float kHandReach = 8, kHandSlack = 3;  ///< how near a hand takes what is there; how far it moves before a press is a drag

/// The end of drag.range that the hand holds; the other one stays.
show::Time held_end(const Drag& drag) noexcept;
/// Scales the dragged keys so that the held end comes to `to`, and says by how much. Precondition: drag.range is not empty.
void pull_time_grip(const Scene& scene, const Drag& drag, show::Time to, bool done, Commands& out);

}  // namespace mien::editor
