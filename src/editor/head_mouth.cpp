// The mouth: two lips between two corners. Each lip is one curve through its right, centre and left control points; where
// the lower would cross the upper they meet half way and share the same points, so that a closed mouth is one line.
#include <algorithm>

#include "editor/head_pen.hpp"

namespace mien::editor {
namespace {

using Column = Mouth::Column;
using MouthColumns = Mouth::Columns;
constexpr int kMouthPoints = Mouth::kPoints, kSteps = kMouthPoints - 1;
constexpr double kMouthY = -0.715, kMouthHalfWidth = 0.29;
constexpr double kUpperTravel = 0.095, kUpperPress = 0.05, kLowerTravel = 0.12, kLowerPress = 0.06;
constexpr double kCornerUpTravel = 0.105, kCornerWideTravel = 0.11, kCornerNarrowTravel = 0.155;
constexpr double kCornerFollow = 0.42;  // how far the corners go down with the jaw
constexpr double kStretch = 0.03;       // how far an open jaw draws them in

// Control values of one lip at its right, centre and left point, blended along the mouth (-1 right corner, 1 left corner).
struct Three {
  double right, centre, left;
  double at(double u) const { return lerp(centre, u > 0 ? left : right, smooth_step(0, 0.6, std::fabs(u))); }
};

double travel(double share, double positive, double negative) { return share * (share > 0 ? positive : negative); }

struct Shape {
  Placement jaw;
  Three upper, lower;        // up and down from the line of the closed mouth
  Three corner_y, corner_x;  // of right and left corner, the jaw closed
  double pucker = 0;         // 0..1, both corners drawn in
  double slack = 1;          // 1 closed .. 0 open or drawn in: how far the lips fall into their resting wave

  Shape(const Face& face, const Placement& with) : jaw(with) {
    using enum show::Role;
    const auto up = [&](show::Role r) { return travel(face.share(r), kUpperTravel, kUpperPress); };
    const auto down = [&](show::Role r) { return travel(face.share(r), kLowerTravel, kLowerPress); };
    upper = {up(lip_upper_right), up(lip_upper_centre), up(lip_upper_left)};
    lower = {down(lip_lower_right), down(lip_lower_centre), down(lip_lower_left)};
    const double stretched = kStretch * std::fmax(face.share(jaw_open), 0.0);
    const auto reach = [&](show::Role r) {
      return kMouthHalfWidth - stretched + travel(face.share(r), kCornerWideTravel, kCornerNarrowTravel);
    };
    corner_x = {reach(lip_corner_wide_right), 0, reach(lip_corner_wide_left)};
    corner_x.centre = (corner_x.right + corner_x.left) / 2;
    corner_y = {kCornerUpTravel * face.share(lip_corner_up_right), 0, kCornerUpTravel * face.share(lip_corner_up_left)};
    const double narrow = -(face.share(lip_corner_wide_left) + face.share(lip_corner_wide_right)) / 2;
    pucker = std::fmax(narrow, 0.0);
    const Vec3 lip{0, kMouthY, 0.93};
    slack = smooth_step(0.10, 0, upper.centre + lower.centre + lip.y - jaw(lip).y) * (1 - pucker);
  }
};

// u runs from the right corner (-1) to the left (1), evenly in angle, so that an open mouth is round at its corners. Every
// point lies on the face at rest and is then carried by the jaw: the lower lip wholly in the middle, the upper not at all,
// and where they join at the corners both alike.
Column column_at(const Shape& m, double u) {
  const double full = std::fabs(u) == 1 ? 0 : std::cos(kPi / 2 * u), side = std::sin(kPi / 2 * u);
  const double aside = std::pow(std::fabs(side), 2.2);
  const double reach = u > 0 ? m.corner_x.left : m.corner_x.right;
  const double wave = m.slack * (0.006 * side * side - 0.010 * std::cos(2 * kPi * u) * full);
  const double line = kMouthY + (u > 0 ? m.corner_y.left : m.corner_y.right) * aside + wave;
  const double lift = (0.014 + 0.10 * m.pucker) * full;
  const auto carried = [&](double y, double out, double share) { return with_jaw(m.jaw, face_point(reach * side, y, out), share); };
  const auto upper = [&](double y, double out) { return carried(y, out, kCornerFollow * aside); };
  const auto lower = [&](double y, double out) { return carried(y, out, lerp(kCornerFollow, 1, full)); };

  const double top = line + full * m.upper.at(u), bottom = line - full * m.lower.at(u);
  Column c;
  c.upper_edge = upper(top, 0.008 + lift);
  c.lower_edge = lower(bottom, 0.008 + lift);
  const double pressed = std::fmax(c.lower_edge.y - c.upper_edge.y, 0.0);
  c.open = std::fmax(c.upper_edge.y - c.lower_edge.y, 0.0);
  if (c.open == 0 || full == 0) c.upper_edge = c.lower_edge = 0.5 * (c.upper_edge + c.lower_edge), c.open = 0;

  // Lips thicken when drawn in, thin out when drawn wide, and roll in when pressed together.
  const double fuller = std::clamp(kMouthHalfWidth / m.corner_x.at(u), 0.8, 1.35);
  const double bow = 1 - 0.16 * std::cos(2.6 * kPi * u);
  const auto rolled = [&](double thick) { return std::fmax(thick, 0.3 * thick + pressed / 2); };
  const double upper_thick = rolled(0.058 * fuller * std::pow(full, 0.75) * bow);
  const double lower_thick = rolled(0.078 * fuller * std::pow(full, 0.7));
  c.upper_rim = upper(top + upper_thick, 0.006 + 0.5 * lift);
  c.lower_rim = lower(bottom - lower_thick, 0.006 + 0.5 * lift);
  c.upper_red = 0.5 * (c.upper_rim + c.upper_edge) + Vec3{0, 0, 0.018 * full};
  c.lower_red = 0.5 * (c.lower_rim + c.lower_edge) + Vec3{0, 0, 0.024 * full};
  return c;
}

Vec3 blended(Vec3 a, Vec3 b, double t) { return a + t * (b - a); }

void draw_lip(Pen& pen, const MouthColumns& columns, Vec3 Column::*rim, Vec3 Column::*red, Vec3 Column::*edge) {
  for (const auto part : {rim, red, edge}) {
    for (const Column& c : columns) pen.vertex(Tone::lip_skin, c.*part, normalized({(c.*part).x / 0.4, 0, 1}));
  }
  pen.weave(3, kMouthPoints);
}

// A band across the opening, from a share `from` to a share `to` of it (0 at the upper lip), set back by `back`.
template <class From, class To>
void draw_inside(Pen& pen, Tone tone, const MouthColumns& columns, double back, From from, To to) {
  const auto row = [&](const Column& c, double share) {
    const double t = std::clamp(share, 0.0, 1.0);
    pen.vertex(tone, blended(c.upper_edge, c.lower_edge, t) - Vec3{0, 0, back});
  };
  for (const Column& c : columns) row(c, from(c));
  for (const Column& c : columns) row(c, to(c));
  pen.weave(2, kMouthPoints);
}

void draw_edge(Pen& pen, Tone tone, const MouthColumns& columns, Vec3 Column::*which, double width_px, double corner_width_px) {
  pen.begin(tone);
  for (int i = 0; i < kMouthPoints; ++i) {
    const double swell = std::sin(kPi * i / kSteps);
    pen.to(columns[static_cast<std::size_t>(i)].*which + Vec3{0, 0, 0.004}, lerp(corner_width_px, width_px, swell));
  }
}

}  // namespace

Mouth::Mouth(const Face& face, const Placement& jaw) : jaw_(jaw) {
  const Shape shape(face, jaw);
  for (int i = 0; i < kMouthPoints; ++i) columns_[static_cast<std::size_t>(i)] = column_at(shape, (2.0 * i - kSteps) / kSteps);
}

void Mouth::draw_lips(Pen& pen) const {
  draw_lip(pen, columns_, &Column::upper_rim, &Column::upper_red, &Column::upper_edge);
  draw_lip(pen, columns_, &Column::lower_edge, &Column::lower_red, &Column::lower_rim);
}

// Upper teeth are fixed to the skull and the tongue lies on the jaw, so the lips uncover them.
void Mouth::draw_opening(Pen& pen) const {
  const auto none = [](const Column&) { return 0.0; };
  const auto all = [](const Column&) { return 1.0; };
  draw_inside(pen, Tone::mouth_inside, columns_, 0.004, none, all);
  const auto teeth = [&](const Column& c) {
    const double x = c.upper_edge.x / 0.27;
    return c.open > 0 ? (c.upper_edge.y - (kMouthY - 0.018 + 0.05 * x * x)) / c.open : 0.0;
  };
  draw_inside(pen, Tone::teeth, columns_, 0.002, none, teeth);
  const Vec3 tip = jaw_({0, kMouthY + 0.02, 0.85});
  const auto tongue = [&](const Column& c) {
    const double x = (c.lower_edge.x - tip.x) / 0.2;
    return c.open > 0 ? (c.upper_edge.y - (tip.y - 0.07 * x * x)) / c.open : 1.0;
  };
  draw_inside(pen, Tone::tongue, columns_, 0.003, tongue, all);
}

void Mouth::draw_lines(Pen& pen) const {
  draw_edge(pen, Tone::lip_rim, columns_, &Column::upper_rim, 1.3, 0.6);
  draw_edge(pen, Tone::lip_rim, columns_, &Column::lower_rim, 1.3, 0.6);
  draw_edge(pen, Tone::lip, columns_, &Column::upper_edge, 3.0, 2.0);
  draw_edge(pen, Tone::lip, columns_, &Column::lower_edge, 3.0, 2.0);
}

}  // namespace mien::editor
