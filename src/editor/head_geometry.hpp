// The head that the preview draws, as plain numbers: lines and small surfaces in 3D for one pose. No GL here, so that tests
// can measure what the picture shows. Units: the head is 2.4 high, the eyes lie at y = 0; +x is the head's own left, +y up,
// +z forward. Proportions are those of drawing handbooks (eye line at mid height, five eye widths across): common practice.
#pragma once
#include <array>
#include <cmath>
#include <cstdint>
#include <vector>

#include "show/roles.hpp"

namespace mien::editor {

struct Vec3 {
  double x = 0, y = 0, z = 0;
  friend Vec3 operator+(Vec3 a, Vec3 b) { return {a.x + b.x, a.y + b.y, a.z + b.z}; }
  friend Vec3 operator-(Vec3 a, Vec3 b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
  friend Vec3 operator*(double k, Vec3 a) { return {k * a.x, k * a.y, k * a.z}; }
  friend bool operator==(const Vec3&, const Vec3&) = default;
};
inline double dot(Vec3 a, Vec3 b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
inline Vec3 cross(Vec3 a, Vec3 b) { return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x}; }
inline Vec3 normalized(Vec3 a) {
  const double length = std::sqrt(dot(a, a));
  return length > 0 ? (1 / length) * a : Vec3{0, 1, 0};
}

/// What a line or surface stands for; HeadStyle gives each its colour.
enum class Tone : std::uint8_t {
  layer, brow_edge, limbus, lid, lid_layer, lid_crease, lip, lip_rim, jaw, cheek, nose, neck, neck_layer, stand,           // lines
  skin, brow, sclera, iris, pupil, glint, lid_skin, lip_skin, mouth_inside, teeth, tongue, hinge_skin, neck_skin,  // surfaces
  count
};
inline constexpr int kToneCount = static_cast<int>(Tone::count);

struct LinePoint {
  Vec3 at;
  double width_px = 1;  ///< where the picture is 600 pixels high; 0 draws nothing
};

/// A run of HeadLines::points. A closed line returns to its first point.
struct Line {
  Tone tone = Tone::layer;
  bool closed = false;
  int first = 0, count = 0;
};

struct Vertex {
  Vec3 at;
  Vec3 normal;  ///< of unit length, outward
  Tone tone = Tone::skin;
};

/// A head in one pose. Every pose has the same lines and triangles; only positions and widths differ.
struct HeadLines {
  std::vector<LinePoint> points;
  std::vector<Line> lines;
  std::vector<Vertex> vertices;
  std::vector<std::uint32_t> triangles;  ///< three vertex indices each
  /// How many indices, from the first, make the solid whose silhouette is drawn, and how many lines lie on its bare
  /// surface; the parts of the face are drawn over both.
  std::size_t solid_indices = 0, solid_lines = 0;
};

inline constexpr double kEyeRadius = 0.19;
/// Centre of an eyeball with the neck straight; side is +1 for the head's left, -1 for its right.
constexpr Vec3 eye_centre(int side) { return {side * 0.325, 0.0, 0.618}; }

/// Draws `pose` into `out`, whose vectors are reused. Shares beyond -1..1 and angles beyond what a head could show are
/// clamped; roles that are absent, or whose number is NaN or infinite, are drawn at rest. Nothing that comes out is NaN.
/// Eye and neck angles are shown as real degrees; where a part has a role of its own and one for both sides, they add up.
void build_head(const show::FacePose& pose, HeadLines& out);
HeadLines build_head(const show::FacePose& pose);

}  // namespace mien::editor
