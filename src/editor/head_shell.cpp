#include "editor/head_shell.hpp"

#include <algorithm>

namespace mien::editor {
namespace {

// Half-sections of the head from crown to chin. Each is an oval through front, sides and back that is widest at `middle`.
struct Section {
  double y, front, middle, back, half_width;
};
constexpr Section kSections[] = {
    {1.200, -0.10, -0.12, -0.14, 0.00}, {1.185, 0.13, -0.12, -0.37, 0.215}, {1.130, 0.35, -0.13, -0.60, 0.385},
    {1.030, 0.545, -0.14, -0.79, 0.535}, {0.880, 0.70, -0.15, -0.94, 0.655}, {0.690, 0.81, -0.15, -1.03, 0.738},
    {0.480, 0.865, -0.15, -1.06, 0.780}, {0.260, 0.885, -0.14, -1.05, 0.782}, {0.050, 0.868, -0.12, -1.00, 0.765},
    {-0.150, 0.860, -0.10, -0.92, 0.742}, {-0.340, 0.862, -0.08, -0.80, 0.718}, {-0.520, 0.866, -0.05, -0.66, 0.685},
    {-0.690, 0.868, 0.00, -0.50, 0.640}, {-0.850, 0.860, 0.08, -0.31, 0.570}, {-0.990, 0.850, 0.18, -0.10, 0.475},
    {-1.100, 0.825, 0.30, 0.12, 0.355}, {-1.170, 0.770, 0.44, 0.32, 0.220}, {-1.200, 0.600, 0.58, 0.56, 0.00}};
constexpr int kSectionCount = static_cast<int>(std::size(kSections));
constexpr double kOval = 2.2;  // exponent of the oval; 2 is an ellipse, more is boxier

Section section_at(double s) {
  s = std::clamp(s, 0.0, kSectionCount - 1.0);
  const int i = std::min(static_cast<int>(s), kSectionCount - 2);
  const Section& a = kSections[std::max(i - 1, 0)];
  const Section& b = kSections[i];
  const Section& c = kSections[i + 1];
  const Section& d = kSections[std::min(i + 2, kSectionCount - 1)];
  const auto mix = [&](double Section::*m) { return smooth_between(a.*m, b.*m, c.*m, d.*m, s - i); };
  return {mix(&Section::y), mix(&Section::front), mix(&Section::middle), mix(&Section::back),
          std::fmax(mix(&Section::half_width), 0.0)};
}

// The parameter of the section at height y: y falls along s, so halving finds it.
double section_of_height(double y) {
  double low = 0, high = kSectionCount - 1;
  for (int i = 0; i < 48; ++i) {
    const double middle = (low + high) / 2;
    (section_at(middle).y > y ? low : high) = middle;
  }
  return (low + high) / 2;
}

// Sections by height, close enough to each other for straight interpolation: the face asks for some 600 of them a frame.
Section section_by_height(double y) {
  constexpr int kCount = 4096;
  static const std::vector<Section> table = [] {
    std::vector<Section> made;
    for (int i = 0; i < kCount; ++i) made.push_back(section_at(section_of_height(lerp(kCrownY, kChinY, i / (kCount - 1.0)))));
    return made;
  }();
  const double place = std::clamp((kCrownY - y) / (kCrownY - kChinY), 0.0, 1.0) * (kCount - 1);
  const auto i = std::min(static_cast<std::size_t>(place), table.size() - 2);
  const Section &a = table[i], &b = table[i + 1];
  const double t = place - static_cast<double>(i);
  return {y, lerp(a.front, b.front, t), lerp(a.middle, b.middle, t), lerp(a.back, b.back, t), lerp(a.half_width, b.half_width, t)};
}

double bell(double x, double y, double at_x, double at_y, double wide, double high) {
  const double u = (x - at_x) / wide, v = (y - at_y) / high;
  return std::exp(-u * u - v * v);
}

// The features of the face, as heights over the oval: sockets, nose, brow ridge, cheekbones, mouth and chin.
double relief(double x, double y) {
  x = std::fabs(x);
  const double along = smooth_step(0.16, -0.36, y) * smooth_step(-0.53, -0.40, y);
  const double nose = (0.05 * smooth_step(0.2, 0.05, y) * smooth_step(-0.5, -0.3, y) + 0.23 * along) *
                      std::exp(-std::pow(x / lerp(0.075, 0.125, smooth_step(0.1, -0.36, y)), 2));
  const double wing = 0.07 * bell(x, y, 0.13, -0.43, 0.06, 0.07);
  const double socket = -0.235 * bell(x, y, 0.315, 0.0, 0.185, 0.140);
  const double bridge = -0.035 * bell(x, y, 0.0, 0.08, 0.2, 0.12);
  const double ridge = 0.045 * bell(x, y, 0.26, 0.24, 0.3, 0.10);
  const double cheekbone = 0.05 * bell(x, y, 0.50, -0.24, 0.18, 0.15);
  const double hollow = -0.03 * bell(x, y, 0.48, -0.62, 0.14, 0.2);
  const double muzzle = 0.075 * bell(x, y, 0.0, -0.72, 0.27, 0.17);
  const double under_lip = -0.035 * bell(x, y, 0.0, -0.90, 0.25, 0.06);
  const double chin = 0.065 * bell(x, y, 0.0, -1.06, 0.20, 0.10);
  return nose + wing + socket + bridge + ridge + cheekbone + hollow + muzzle + under_lip + chin;
}

// The shell makes room under the lips, so that it never shows between or through them.
double recess(double x, double y) {
  return 0.055 * std::exp(-std::pow(x / 0.25, 4) - std::pow((y + 0.718) / 0.058, 4));
}

// Sine and cosine stand for the azimuth, so that both sides of the head are exact mirror images.
Vec3 surface(double sine, double cosine, const Section& at) {
  const auto bend = [](double v) { return std::copysign(std::pow(std::fabs(v), 2 / kOval), v); };
  const double reach = cosine >= 0 ? at.front - at.middle : at.middle - at.back;
  const Vec3 oval{at.half_width * bend(sine), at.y, at.middle + reach * bend(cosine)};
  return oval + Vec3{0, 0, relief(oval.x, oval.y) * smooth_step(0.05, 0.45, cosine)};
}

Vec3 surface_at(double azimuth_deg, double s) {
  const double a = radians(azimuth_deg);
  return surface(std::sin(a), std::cos(a), section_at(s));
}

ShellPoint shell_point(double azimuth_deg, double s) {
  Vec3 at = surface_at(azimuth_deg, s);
  if (at.z > 0) at.z -= recess(at.x, at.y);
  const Vec3 round = surface_at(azimuth_deg + 0.5, s) - surface_at(azimuth_deg - 0.5, s);
  const Vec3 down = surface_at(azimuth_deg, s + 0.02) - surface_at(azimuth_deg, s - 0.02);
  const bool pole = at.y > kCrownY - 1e-9 || at.y < kChinY + 1e-9;
  return {at, pole ? Vec3{0, at.y > 0 ? 1.0 : -1.0, 0} : normalized(cross(down, round)), jaw_share(at)};
}

// Denser in front, where the face is. Column 0 and the last one meet at the back.
double column_azimuth_deg(int column, int columns) {
  const double t = 2.0 * column / (columns - 1) - 1;
  return 180 * t * (0.55 + 0.45 * t * t);
}

Shell make_shell() {
  Shell made;
  made.rows = 72;
  made.columns = 81;
  for (int r = 0; r < made.rows; ++r) {
    const double s = (kSectionCount - 1.0) * r / (made.rows - 1);
    for (int c = 0; c < made.columns; ++c) made.points.push_back(shell_point(column_azimuth_deg(c, made.columns), s));
  }
  constexpr int kLayers = 46;
  for (int k = 1; k < kLayers; ++k) {
    const double s = section_of_height(lerp(kCrownY, kChinY, static_cast<double>(k) / kLayers));
    auto& layer = made.layers.emplace_back();
    for (int c = 0; c < made.columns - 1; ++c) layer.push_back(shell_point(column_azimuth_deg(c, made.columns), s));
  }
  return made;
}

}  // namespace

Vec3 skull_point(double azimuth_deg, double y) {
  const double a = radians(azimuth_deg);
  return surface(std::sin(a), std::cos(a), section_by_height(y));
}

Vec3 face_point(double x, double y, double lift) {
  const Section at = section_by_height(y);
  const double across = at.half_width > 0 ? std::clamp(x / at.half_width, -0.999, 0.999) : 0;
  const double sine = std::copysign(std::pow(std::fabs(across), kOval / 2), across);
  return surface(sine, std::sqrt(1 - sine * sine), at) + Vec3{0, 0, lift};
}

// Seen from the hinge, the jaw is what lies below the line to the lips. The skin beside the mouth stretches over a wider
// angle than the lips, what lies behind the hinge belongs to the neck, and at the hinge itself the skin stays.
double jaw_share(Vec3 at) {
  const Vec3 from_hinge = at - Vec3{at.x, -0.28, -0.12};
  const double angle_deg = std::atan2(from_hinge.y, from_hinge.z) * 180 / kPi;
  const double side = smooth_step(0.1, 0.6, std::fabs(at.x));
  const double below = smooth_step(lerp(-21.5, -8, side), lerp(-25.5, -62, side), angle_deg);
  const double away = smooth_step(0.1, 0.6, std::hypot(from_hinge.y, from_hinge.z));
  return below * smooth_step(-140, -100, angle_deg) * away;
}

const Shell& shell() {
  static const Shell made = make_shell();
  return made;
}

}  // namespace mien::editor
