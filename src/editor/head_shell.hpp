// The skull at rest: one smooth closed surface, measured out row by row, on which everything else is placed.
#pragma once
#include <vector>

#include "editor/head_geometry.hpp"

namespace mien::editor {

inline constexpr double kPi = 3.14159265358979323846;
constexpr double radians(double deg) { return deg * kPi / 180; }
/// 0 at `from` and before, 1 at `to` and past it, with level ends; `to` may lie on either side of `from`, but not on it.
inline double smooth_step(double from, double to, double x) {
  const double t = std::fmin(std::fmax((x - from) / (to - from), 0.0), 1.0);
  return t * t * (3 - 2 * t);
}
constexpr double lerp(double a, double b, double t) { return a + (b - a) * t; }
/// A smooth curve through four evenly spaced values, between the second (t = 0) and the third (1): Catmull-Rom.
constexpr double smooth_between(double a, double b, double c, double d, double t) {
  return b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)));
}

inline constexpr double kCrownY = 1.2, kChinY = -1.2;

/// The point at height y (crown to chin) and azimuth: 0 forward, 90 the head's left, 180 the back of the head.
Vec3 skull_point(double azimuth_deg, double y);
/// The point of the face at (x, y), lifted off the surface toward the viewer; x beyond the head's width is pulled in.
Vec3 face_point(double x, double y, double lift = 0);

/// A point that follows the jaw by `jaw`: 0 belongs to the skull, 1 to the jaw, between is skin that stretches.
struct ShellPoint {
  Vec3 at;
  Vec3 normal;
  double jaw = 0;
};
/// How far the skin at a point of the head at rest follows the jaw.
double jaw_share(Vec3 at);

/// The surface, hollowed out under the lips, as a grid of rows from crown to chin, each running round the head from the back
/// over its right side.
struct Shell {
  int rows = 0, columns = 0;
  std::vector<ShellPoint> points;
  std::vector<std::vector<ShellPoint>> layers;  ///< closed curves of equal height, evenly spaced, as printing leaves them
};
/// Made once, then the same object; some 9,000 points with the layers.
const Shell& shell();

}  // namespace mien::editor
