// Eyes as an animatronic has them: a ball that turns in its socket, and two lids that are shells round the same centre,
// each turning about the line through the corners of the eye.
#include <algorithm>

#include "editor/head_pen.hpp"

namespace mien::editor {
namespace {

constexpr double kLidRadius = 1.10 * kEyeRadius;  // clear of the lines on the ball, which are drawn a little toward the viewer
constexpr double kIris_deg = 27, kPupil_deg = 11.5;     // half-angles seen from the ball's centre
constexpr double kCorner = 0.93;                        // of the lid's radius: where the corners of the eye lie
constexpr double kCornerTilt_deg = 3.5;                 // outer corner above the inner
constexpr double kCorner_deg = -6;                      // elevation at which the lids join
constexpr double kGazeLimit_deg = 75;
// Elevation of the lids' edges in the middle of the eye. At rest three quarters of the iris' height show.
constexpr double kUpperShut_deg = -22, kUpperRest_deg = 17, kUpperWide_deg = 40;
constexpr double kLowerWide_deg = -40, kLowerRest_deg = -22, kLowerRaised_deg = 4;

double lid_travel(double share, double low, double rest, double high) {
  return share < 0 ? lerp(rest, low, -share) : lerp(rest, high, share);
}

struct Lids {
  double upper_deg, lower_deg;  // in the middle of the eye; equal when shut
};

Lids lids_of(const Face& face, int side) {
  using enum show::Role;
  const double upper = lid_travel(face.both_share(lid_upper_left, lid_upper, side), kUpperShut_deg, kUpperRest_deg, kUpperWide_deg);
  const double lower = lid_travel(face.both_share(lid_lower_left, lid_lower, side), kLowerWide_deg, kLowerRest_deg, kLowerRaised_deg);
  if (upper > lower) return {upper, lower};
  return {(upper + lower) / 2, (upper + lower) / 2};  // skin on skin: they press against each other
}

// A point of the lid's shell; `along` runs from the inner corner (0) to the outer (180) of the left eye.
Vec3 lid_point(double along_deg, double elevation_deg, double radius) {
  const double a = radians(along_deg), e = radians(elevation_deg), tilt = radians(kCornerTilt_deg);
  const Vec3 p{-radius * std::cos(a), radius * std::sin(a) * std::sin(e), radius * std::sin(a) * std::cos(e)};
  return eye_centre(1) + Vec3{p.x * std::cos(tilt) - p.y * std::sin(tilt), p.x * std::sin(tilt) + p.y * std::cos(tilt), p.z};
}

// The lid's edge: an almond, from the common elevation at the corners to `middle_deg` between them.
double edge_deg(double along_deg, double middle_deg) {
  const double across = std::cos(radians(along_deg)) / kCorner;
  return kCorner_deg + (middle_deg - kCorner_deg) * std::pow(std::fmax(1 - across * across, 0.0), 0.7);
}

void draw_lid(Pen& pen, double middle_deg, double rim_deg) {
  constexpr int kRows = 9, kColumns = 41;
  for (int r = 0; r < kRows; ++r) {
    for (int c = 0; c < kColumns; ++c) {
      const double along = 180.0 * c / (kColumns - 1);
      const Vec3 at = lid_point(along, lerp(edge_deg(along, middle_deg), rim_deg, r / (kRows - 1.0)), kLidRadius);
      pen.vertex(Tone::lid_skin, at, normalized(at - eye_centre(1)));
    }
  }
  pen.weave(kRows, kColumns);
}

void draw_lid_edge(Pen& pen, Tone tone, double middle_deg, double width_px, double corner_width_px) {
  constexpr int kPoints = 33;
  pen.begin(tone);
  const double corner_deg = std::acos(kCorner) * 180 / kPi;
  for (int i = 0; i < kPoints; ++i) {
    const double along = lerp(corner_deg, 180 - corner_deg, i / (kPoints - 1.0));
    const double swell = std::sin(radians(180.0 * i / (kPoints - 1)));
    pen.to(lid_point(along, edge_deg(along, middle_deg), 1.01 * kLidRadius), lerp(corner_width_px, width_px, swell));
  }
}

// The lid's own print layers: arcs between its edge and where it goes under the skin.
void draw_lid_layers(Pen& pen, double middle_deg, double rim_deg) {
  constexpr int kLayers = 5, kPoints = 33;
  for (int k = 1; k < kLayers; ++k) {
    pen.begin(Tone::lid_layer);
    for (int i = 0; i < kPoints; ++i) {
      const double along = lerp(12, 168, i / (kPoints - 1.0));
      const double elevation = lerp(edge_deg(along, middle_deg), rim_deg, static_cast<double>(k) / kLayers);
      pen.to(lid_point(along, elevation, kLidRadius), 1.1);
    }
  }
}

struct Gaze {
  Vec3 forward, right, up;
};

// `yaw_deg` outward for the left eye, whose half of the face the pen draws.
Gaze gaze_of(double yaw_deg, double pitch_deg) {
  const double yaw = radians(yaw_deg), pitch = radians(pitch_deg);
  const Vec3 forward{std::sin(yaw) * std::cos(pitch), std::sin(pitch), std::cos(yaw) * std::cos(pitch)};
  const Vec3 right = normalized(cross({0, 1, 0}, forward));
  return {forward, right, cross(forward, right)};
}

Vec3 ball_point(const Gaze& gaze, double polar_deg, double round_deg, double radius) {
  const double p = radians(polar_deg), r = radians(round_deg);
  return eye_centre(1) + radius * (std::cos(p) * gaze.forward + std::sin(p) * (std::cos(r) * gaze.right + std::sin(r) * gaze.up));
}

void draw_cap(Pen& pen, Tone tone, const Gaze& gaze, double from_deg, double to_deg, double radius, int rows, int columns) {
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < columns; ++c) {
      const Vec3 at = ball_point(gaze, lerp(from_deg, to_deg, r / (rows - 1.0)), 360.0 * c / (columns - 1), radius);
      pen.vertex(tone, at, normalized(at - eye_centre(1)));
    }
  }
  pen.weave(rows, columns);
}

}  // namespace

void draw_eye(Pen& pen, const Face& face, int side) {
  using enum show::Role;
  const double pitch = std::clamp(face.deg(Face::of_side(eye_pitch_left, side), kGazeLimit_deg) + face.deg(eye_pitch, kGazeLimit_deg),
                                  -kGazeLimit_deg, kGazeLimit_deg);
  const double yaw = side * face.deg(Face::of_side(eye_yaw_left, side), kGazeLimit_deg);
  const Gaze ahead = gaze_of(0, 0), gaze = gaze_of(yaw, pitch);
  draw_cap(pen, Tone::sclera, ahead, 0, 80, kEyeRadius, 12, 41);
  draw_cap(pen, Tone::iris, gaze, 0, kIris_deg, 1.012 * kEyeRadius, 6, 49);
  draw_cap(pen, Tone::pupil, gaze, 0, kPupil_deg, 1.020 * kEyeRadius, 4, 33);
  draw_cap(pen, Tone::glint, gaze_of(0, 8), 0, 3.2, 1.030 * kEyeRadius, 3, 17);
  pen.begin(Tone::limbus, true);
  for (int i = 0; i < 48; ++i) pen.to(ball_point(gaze, kIris_deg, 360.0 * i / 48, 1.013 * kEyeRadius), 1.8);

  const Lids lids = lids_of(face, side);
  draw_lid(pen, lids.upper_deg, 88);
  draw_lid(pen, lids.lower_deg, -88);
  draw_lid_layers(pen, lids.upper_deg, 75);
  draw_lid_layers(pen, lids.lower_deg, -75);
  draw_lid_edge(pen, Tone::lid, lids.lower_deg, 1.8, 1.2);
  draw_lid_edge(pen, Tone::lid, lids.upper_deg, 3.8, 1.5);
  draw_lid_edge(pen, Tone::lid_crease, 50 + 0.3 * (lids.upper_deg - kUpperRest_deg), 1.4, 0.3);
}

// A band from the inner end over the arch to the outer end, thickest before the arch and lying on the skin, so that it
// narrows as the head turns. A lowered inner end also draws in.
void draw_brow(Pen& pen, const Face& face, int side) {
  using enum show::Role;
  constexpr int kPoints = 25;
  // Where two rods raise and tilt the whole brow, the tilt takes each end about half as far as the raise does.
  const double raise = face.side_share(brow_raise_left, side), tilt = 0.6 * face.side_share(brow_tilt_left, side);
  const double inner = std::clamp(face.side_share(brow_inner_left, side) + raise + tilt, -1.0, 1.0);
  const double outer = std::clamp(face.side_share(brow_outer_left, side) + raise - tilt, -1.0, 1.0);
  const double inner_x = 0.135 + (inner < 0 ? 0.045 : 0.01) * inner;
  const auto at = [&](int i, double above) {
    const double t = i / (kPoints - 1.0);
    const double arch = 0.058 * std::sin(kPi * std::pow(t, 1.2));
    const double y = lerp(0.280 + 0.135 * inner, 0.246 + 0.125 * outer, smooth_step(0, 1, t)) + arch;
    const double thick = 0.024 * std::pow(std::sin(kPi * lerp(0.10, 0.985, std::pow(t, 0.75))), 0.8);
    return face_point(lerp(inner_x, 0.565, t), y + above * thick, 0.012);
  };
  for (const double above : {1.0, 0.0, -1.0}) {
    for (int i = 0; i < kPoints; ++i) pen.vertex(Tone::brow, at(i, above));
  }
  pen.weave(3, kPoints);
  pen.begin(Tone::brow_edge);
  for (int i = 0; i < kPoints; ++i) pen.to(at(i, 0), 1.6);
}

}  // namespace mien::editor
