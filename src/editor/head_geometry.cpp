#include "editor/head_geometry.hpp"

#include "editor/head_pen.hpp"

namespace mien::editor {
namespace {

constexpr Vec3 kJawHinge{0, -0.28, -0.12};
constexpr double kJawTravel_deg = 21, kJawClench_deg = 1.5, kJawSideTravel = 0.09;
constexpr Vec3 kNeckPivot{0, -0.95, -0.28};
constexpr double kNeckLimit_deg = 80;

Placement turned_about(Vec3 pivot, Placement turned) {
  turned.shift = pivot - turned.turn(pivot);
  return turned;
}

// Up is positive: the front (z) rises toward y.
Placement pitched(double deg) {
  const double s = std::sin(radians(deg)), c = std::cos(radians(deg));
  return {{1, 0, 0}, {0, c, -s}, {0, s, c}, {}};
}

// To the left is positive: the front (z) turns toward x.
Placement yawed(double deg) {
  const double s = std::sin(radians(deg)), c = std::cos(radians(deg));
  return {{c, 0, -s}, {0, 1, 0}, {s, 0, c}, {}};
}

// Toward the left shoulder is positive: the crown (y) leans toward x.
Placement rolled(double deg) {
  const double s = std::sin(radians(deg)), c = std::cos(radians(deg));
  return {{c, -s, 0}, {s, c, 0}, {0, 0, 1}, {}};
}

Placement after(const Placement& second, const Placement& first) {
  return {second.turn(first.x), second.turn(first.y), second.turn(first.z), {}};
}

}  // namespace

double Face::share(show::Role role) const {
  const auto& part = pose_[role];
  return part.present && std::isfinite(part.share) ? std::fmin(std::fmax(part.share, -1.0), 1.0) : 0;
}

double Face::deg(show::Role role, double limit_deg) const {
  const auto& part = pose_[role];
  return part.present && std::isfinite(part.deg) ? std::fmin(std::fmax(part.deg, -limit_deg), limit_deg) : 0;
}

Placement jaw_placement(const Face& face) {
  const double open = face.share(show::Role::jaw_open);
  Placement jaw = turned_about(kJawHinge, pitched(-open * (open > 0 ? kJawTravel_deg : kJawClench_deg)));
  jaw.shift.x += kJawSideTravel * face.share(show::Role::jaw_side);
  return jaw;
}

// The head nods on the turning neck, and rolls last, as a pan, tilt and roll stack does from the stand upward.
Placement neck_placement(const Face& face) {
  using enum show::Role;
  const Placement pan = yawed(face.deg(neck_yaw, kNeckLimit_deg));
  const Placement tilt = pitched(face.deg(neck_pitch, kNeckLimit_deg));
  const Placement roll = rolled(face.deg(neck_roll, kNeckLimit_deg));
  return turned_about(kNeckPivot, after(pan, after(tilt, roll)));
}

Vec3 with_jaw(const Placement& jaw, Vec3 at, double share) { return at + share * (jaw(at) - at); }

void Pen::weave(int rows, int columns) {
  const auto first = static_cast<std::uint32_t>(out_.vertices.size() - static_cast<std::size_t>(rows) * columns);
  for (int r = 0; r + 1 < rows; ++r) {
    for (int c = 0; c + 1 < columns; ++c) {
      const std::uint32_t a = first + static_cast<std::uint32_t>(r * columns + c);
      const std::uint32_t below = a + static_cast<std::uint32_t>(columns);
      for (const std::uint32_t corner : {a, below, a + 1, a + 1, below, below + 1}) out_.triangles.push_back(corner);
    }
  }
}

void build_head(const show::FacePose& pose, HeadLines& out) {
  out.points.clear();
  out.lines.clear();
  out.vertices.clear();
  out.triangles.clear();
  const Face face(pose);
  const Placement neck = neck_placement(face), jaw = jaw_placement(face);
  draw_neck(out, neck);
  Pen pen(out, neck);
  draw_shell(pen, jaw);
  const Mouth mouth(face, jaw);
  mouth.draw_lips(pen);
  out.solid_indices = out.triangles.size();
  out.solid_lines = out.lines.size();
  draw_nose(pen, face);
  mouth.draw_opening(pen);
  mouth.draw_lines(pen);
  for (const int side : {1, -1}) {
    Pen half(out, neck, side);
    Placement mirrored = jaw;
    mirrored.shift.x *= side;
    draw_hinge(half, mirrored);
    draw_cheek(half, face, side);
    draw_eye(half, face, side);
    draw_brow(half, face, side);
  }
}

HeadLines build_head(const show::FacePose& pose) {
  HeadLines out;
  build_head(pose, out);
  return out;
}

}  // namespace mien::editor
