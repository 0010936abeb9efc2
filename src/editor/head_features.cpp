// What carries the face: the printed shell with its layers, the jaw with its hinge, nose, cheeks and neck.
#include <algorithm>
#include <utility>

#include "editor/head_pen.hpp"

namespace mien::editor {
namespace {

// Layers are engraved: thin where light from above and in front falls, thicker in shade, so that few lines show the form.
double engraved_width_px(Vec3 normal) {
  const double light = dot(normal, normalized({0, 0.75, 0.66}));
  return 0.45 + 1.25 * (0.5 - 0.5 * light);
}

constexpr double kHingeRadius = 0.125;
constexpr Vec3 kHinge{0, -0.17, -0.10};  // on both sides of the head, where ears would be

double hinge_x() { return skull_point(96, kHinge.y).x; }

// The jaw's lower edge, from the hinge round its angle to the chin.
struct OnSkull {
  double azimuth_deg, y;
};
constexpr OnSkull kJawEdge[] = {{97, -0.33}, {94, -0.50}, {88, -0.66}, {76, -0.80},
                                {60, -0.92}, {42, -1.02}, {22, -1.09}, {0, -1.115}};

// The line of one half is drawn through points on the surface; between them azimuth and height follow a smooth curve.
OnSkull jaw_edge_at(double t) {
  constexpr int kLast = static_cast<int>(std::size(kJawEdge)) - 1;
  const int i = std::min(static_cast<int>(t * kLast), kLast - 1);
  const double f = t * kLast - i;
  // Past the chin the other half follows, which mirrors the azimuth.
  const OnSkull& a = kJawEdge[std::max(i - 1, 0)];
  const OnSkull& b = kJawEdge[i];
  const OnSkull& c = kJawEdge[i + 1];
  const OnSkull d = i + 2 <= kLast ? kJawEdge[i + 2] : OnSkull{-kJawEdge[kLast - 1].azimuth_deg, kJawEdge[kLast - 1].y};
  return {smooth_between(a.azimuth_deg, b.azimuth_deg, c.azimuth_deg, d.azimuth_deg, f), smooth_between(a.y, b.y, c.y, d.y, f)};
}

}  // namespace

void draw_shell(Pen& pen, const Placement& jaw) {
  const Shell& s = shell();
  for (const ShellPoint& p : s.points) pen.vertex(Tone::skin, with_jaw(jaw, p.at, p.jaw), p.normal);
  pen.weave(s.rows, s.columns);
  for (const auto& layer : s.layers) {
    pen.begin(Tone::layer, true);
    for (const ShellPoint& p : layer) pen.to(with_jaw(jaw, p.at, p.jaw), engraved_width_px(p.normal));
  }
}

void draw_hinge(Pen& pen, const Placement& jaw) {
  const Vec3 centre = Vec3{hinge_x() + 0.012, kHinge.y, kHinge.z};
  const auto ring = [&](double radius, double out, int i, int points) {
    const double a = radians(360.0 * i / points);
    return centre + Vec3{out, radius * std::sin(a), radius * std::cos(a)};
  };
  constexpr int kRing = 40;
  for (const auto& [radius, out] : {std::pair{kHingeRadius, -0.05}, std::pair{kHingeRadius, 0.03}, std::pair{0.0, 0.03}}) {
    for (int i = 0; i <= kRing; ++i) pen.vertex(Tone::hinge_skin, ring(radius, out, i % kRing, kRing), {1, 0, 0});
  }
  pen.weave(3, kRing + 1);
  for (const auto& [radius, width_px] : {std::pair{kHingeRadius, 1.8}, std::pair{0.45 * kHingeRadius, 1.4}}) {
    pen.begin(Tone::jaw, true);
    for (int i = 0; i < kRing; ++i) pen.to(ring(radius, 0.034, i, kRing), width_px);
  }
  constexpr int kPoints = 41;
  pen.begin(Tone::jaw);
  for (int i = 0; i < kPoints; ++i) {
    const double t = i / (kPoints - 1.0);
    const OnSkull on = jaw_edge_at(t);
    const Vec3 at = skull_point(on.azimuth_deg, on.y);
    const Vec3 out = normalized(at - Vec3{0, -0.6, 0.1});
    pen.to(with_jaw(jaw, at + 0.006 * out, smooth_step(0, 0.3, t)), lerp(1.2, 1.9, t));
  }
}

// The soft arc below the cheekbone, and the fold from the nose past the corner of the mouth, which corner and cheek push out.
void draw_cheek(Pen& pen, const Face& face, int side) {
  using enum show::Role;
  const double raised = face.side_share(cheek_left, side);
  const double corner = face.side_share(lip_corner_up_left, side), wide = face.side_share(lip_corner_wide_left, side);
  constexpr int kPoints = 25;
  pen.begin(Tone::cheek);
  for (int i = 0; i < kPoints; ++i) {
    const double t = i / (kPoints - 1.0), swell = std::sin(kPi * t);
    const double y = lerp(-0.285, -0.20, t) - 0.05 * swell + raised * (0.085 * swell + 0.02);
    pen.to(face_point(lerp(0.30, 0.60, t), y, 0.012), 0.2 + (1.5 + 0.8 * std::fmax(raised, 0.0)) * swell);
  }
  const double open = std::fmax(face.share(jaw_open), 0.0);
  pen.begin(Tone::cheek);
  for (int i = 0; i < kPoints; ++i) {
    const double t = i / (kPoints - 1.0), swell = std::sin(kPi * t);
    const double x = lerp(0.185, 0.40 + 0.05 * wide, t) + (0.02 + 0.03 * std::fmax(corner, 0.0)) * swell;
    const double y = lerp(-0.46, -0.69 + 0.06 * corner - 0.07 * open, t) + 0.03 * swell * (1 + raised);
    const double depth = 0.7 + 1.5 * std::fmax(std::fmax(corner, raised), 0.0);
    pen.to(face_point(x, y, 0.012), 0.1 + depth * swell);
  }
}

// Wings and underside as one curve, and the short folds at the bridge that a wrinkled nose shows.
void draw_nose(Pen& pen, const Face& face) {
  const double wrinkle = face.share(show::Role::nose_wrinkle);
  constexpr int kHalf = 24;
  pen.begin(Tone::nose);
  for (int i = -kHalf; i <= kHalf; ++i) {
    const double t = std::abs(i) / static_cast<double>(kHalf);
    // From beneath the tip outward past the nostril, then up round the wing and in again.
    const double turn = radians(lerp(-90, 75, smooth_step(0.35, 1, t)));
    const double x = 0.088 * std::sin(kPi / 2 * std::fmin(t / 0.6, 1.0)) + 0.062 * std::cos(turn) + 0.012 * wrinkle * t;
    const double y = -0.432 + 0.055 * std::sin(turn) - 0.014 * std::cos(kPi * std::fmin(2 * t, 1.0)) + 0.05 * wrinkle * t;
    pen.to(face_point(i < 0 ? -x : x, y, 0.02), 0.4 + 2.0 * std::sin(kPi * lerp(0.42, 0.98, t)));
  }
  for (const double y : {0.10, 0.045}) {
    pen.begin(Tone::nose);
    for (int i = -6; i <= 6; ++i) {
      const double u = i / 6.0;
      pen.to(face_point(0.085 * u, y + 0.02 * (1 - u * u) + 0.015 * wrinkle, 0.012),
             std::fmax(wrinkle, 0.0) * 2.0 * (1 - 0.8 * u * u));
    }
  }
}

void draw_neck(HeadLines& out, const Placement& neck) {
  constexpr int kRows = 13, kColumns = 49;
  constexpr double kTop = -0.60, kBottom = -1.72;
  const Placement still;
  Pen pen(out, still);
  const auto at = [&](double down, double round_deg) {
    const double flare = 0.37 + 0.09 * down * down - 0.03 * std::sin(kPi * down);
    const double a = radians(round_deg);
    const Vec3 rest{flare * std::sin(a), lerp(kTop, kBottom, down), lerp(-0.10, -0.32, down) + flare * std::cos(a)};
    const double follows = 1 - smooth_step(0.05, 0.9, down);
    return rest + follows * (neck(rest) - rest);
  };
  for (int r = 0; r < kRows; ++r) {
    for (int c = 0; c < kColumns; ++c) {
      const double round = -180 + 360.0 * c / (kColumns - 1);
      pen.vertex(Tone::neck_skin, at(r / (kRows - 1.0), round), {std::sin(radians(round)), 0, std::cos(radians(round))});
    }
  }
  pen.weave(kRows, kColumns);
  const auto ring = [&](Tone tone, double down, double width_px) {
    pen.begin(tone, true);
    for (int c = 0; c < kColumns - 1; ++c) pen.to(at(down, -180 + 360.0 * c / (kColumns - 1)), width_px);
  };
  for (int k = 2; k < 20; ++k) ring(Tone::neck_layer, k / 20.0, 1.1);
  ring(Tone::stand, 1, 3);
  for (const double round : {-62.0, 62.0}) {
    pen.begin(Tone::neck);
    for (int r = 0; r <= 20; ++r) pen.to(at(r / 20.0, round * lerp(1.3, 0.55, r / 20.0)), 1.6);
  }
}

}  // namespace mien::editor
