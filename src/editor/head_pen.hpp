// What the parts of the head are drawn with: a checked reading of the pose, and a pen that carries every point along with
// the jaw and the neck.
#pragma once
#include "editor/head_geometry.hpp"
#include "editor/head_shell.hpp"

namespace mien::editor {

/// The pose as the head draws it: rest where a role is absent or not a number, else clamped. `side` is +1 for the head's left.
class Face {
 public:
  explicit Face(const show::FacePose& pose) : pose_(pose) {}
  double share(show::Role role) const;
  double deg(show::Role role, double limit_deg) const;
  /// The role of one side, given that of the left; roles come in pairs, left first.
  static show::Role of_side(show::Role left, int side) {
    return side > 0 ? left : static_cast<show::Role>(static_cast<int>(left) + 1);
  }
  double side_share(show::Role left, int side) const { return share(of_side(left, side)); }
  /// The share of one side's own role and of the one that moves both, together.
  double both_share(show::Role left, show::Role both, int side) const {
    return std::fmin(std::fmax(side_share(left, side) + share(both), -1.0), 1.0);
  }

 private:
  const show::FacePose& pose_;
};

/// A rotation, then a shift.
struct Placement {
  Vec3 x{1, 0, 0}, y{0, 1, 0}, z{0, 0, 1};  ///< where the axes go
  Vec3 shift{};
  Vec3 turn(Vec3 v) const { return v.x * x + v.y * y + v.z * z; }
  Vec3 operator()(Vec3 v) const { return turn(v) + shift; }
};

Placement jaw_placement(const Face& face);
Placement neck_placement(const Face& face);
/// A point of the head at rest, carried along by a share of the jaw's movement.
Vec3 with_jaw(const Placement& jaw, Vec3 at, double share);

/// Appends lines and surfaces to a HeadLines, each point placed by `place`. `side` -1 mirrors, so that one piece of code
/// draws both halves of the face and they match to the last bit.
class Pen {
 public:
  Pen(HeadLines& out, const Placement& place, int side = 1) : out_(out), place_(place), side_(side) {}

  void begin(Tone tone, bool closed = false) {
    out_.lines.push_back({tone, closed, static_cast<int>(out_.points.size()), 0});
  }
  void to(Vec3 at, double width_px) {
    out_.points.push_back({place_(mirrored(at)), width_px});
    ++out_.lines.back().count;
  }
  void vertex(Tone tone, Vec3 at, Vec3 normal = {0, 0, 1}) {
    out_.vertices.push_back({place_(mirrored(at)), place_.turn(mirrored(normal)), tone});
  }
  /// Joins the last rows * columns vertices, given row by row, into a surface.
  void weave(int rows, int columns);

 private:
  Vec3 mirrored(Vec3 v) const { return {side_ * v.x, v.y, v.z}; }
  HeadLines& out_;
  const Placement& place_;
  double side_;
};

void draw_eye(Pen& pen, const Face& face, int side);
void draw_brow(Pen& pen, const Face& face, int side);
void draw_cheek(Pen& pen, const Face& face, int side);
void draw_nose(Pen& pen, const Face& face);

/// The lips and what shows between them.
class Mouth {
 public:
  static constexpr int kPoints = 41;  ///< along the mouth, from its right corner to its left
  /// From the top down: rim, red and edge of the upper lip, then edge, red and rim of the lower.
  struct Column {
    Vec3 upper_rim, upper_red, upper_edge, lower_edge, lower_red, lower_rim;
    double open = 0;
  };
  using Columns = std::array<Column, kPoints>;

  Mouth(const Face& face, const Placement& jaw);
  void draw_lips(Pen& pen) const;
  void draw_opening(Pen& pen) const;
  void draw_lines(Pen& pen) const;

 private:
  Placement jaw_;
  Columns columns_;
};

void draw_shell(Pen& pen, const Placement& jaw);
/// One half's hinge and edge of the jaw; `jaw` as that half sees it, so mirrored for the right one.
void draw_hinge(Pen& pen, const Placement& jaw);
/// The neck bends between the stand, which never moves, and the head; its points need no placement.
void draw_neck(HeadLines& out, const Placement& neck);

}  // namespace mien::editor
