// The viewer's eye as the matrices that GL wants.
#pragma once
#include <array>

#include "editor/head_view.hpp"

namespace mien::editor {

using Matrix = std::array<float, 16>;  ///< column by column

/// From head units to the eye's: the viewer at the origin, looking along -z.
Matrix view_matrix(const Camera& camera);
/// How much larger than in a picture 600 pixels high, seen from the front, the head appears: lines scale with it.
double magnification(const Camera& camera, int width, int height);
/// Perspective that keeps the whole head in the picture whatever its shape. aspect is width over height, above 0.
Matrix projection_matrix(double aspect);

}  // namespace mien::editor
