#include "motion/linkage.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <span>
#include <string>
#include <utility>

#include "motion/angles.hpp"

namespace mien::motion {
namespace {

constexpr double kAngleSlip = 1e-7;          // degrees by which an angle may miss the travel from rounding
constexpr double kLeastTransmission = 30;    // degrees, common practice for light loads

double near_to(double deg, double middle) { return middle + wrapped(deg - middle); }

// acos that saturates and tells.
double arc_cos(double c, bool& reached) {
  if (!(std::abs(c) <= 1)) {
    reached = reached && std::abs(c) < 1 + 1e-12;
    return c > 0 ? 0 : std::numbers::pi;
  }
  return std::acos(c);
}

// Of candidate angles (in degrees, any turn) that give the wanted output, the one within the travel nearest to its middle; if none is,
// the end of the travel whose output is the nearer.
template <class Output>
Solved choose(std::span<const double> candidates, bool reached, Travel travel, double wanted, Output output) {
  const double middle = 0.5 * (travel.min_deg + travel.max_deg), half = 0.5 * (travel.max_deg - travel.min_deg);
  double best = 0, least = half + kAngleSlip;
  bool found = false;
  for (double c : candidates) {
    const double a = near_to(c, middle), far = std::abs(a - middle);
    if (far <= least) best = std::clamp(a, middle - half, middle + half), least = far, found = true;
  }
  if (found) return {best, reached};
  const double at_min = std::abs(output(travel.min_deg) - wanted), at_max = std::abs(output(travel.max_deg) - wanted);
  return {at_min < at_max ? travel.min_deg : travel.max_deg, false};
}

std::string tenths(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.1f", value + 0.0);
  return text == std::string("-0.0") ? "0.0" : text;
}

show::Finding error(std::string what, std::string cure) {
  return {show::Severity::error, "", "", std::move(what), std::move(cure)};
}
show::Finding warning(std::string what, std::string cure) {
  return {show::Severity::warning, "", "", std::move(what), std::move(cure)};
}

bool is_length(double x) { return std::isfinite(x) && x > 0; }

// Each candidate angle of a horn that stands at `zero` where the servo does, as an angle of the servo, brought into the travel as often as it
// lies there, in order.
std::vector<double> within(std::span<const double> candidates, double zero, Travel travel) {
  std::vector<double> inside;
  for (double horn : candidates) {
    if (!std::isfinite(horn)) continue;
    const double c = horn - zero;
    // Whole turns, of which a travel holds a few
    for (double a = c + 360 * std::ceil((travel.min_deg - kAngleSlip - c) / 360); a <= travel.max_deg + kAngleSlip; a += 360)
      inside.push_back(std::clamp(a, travel.min_deg, travel.max_deg));
  }
  std::sort(inside.begin(), inside.end());
  inside.erase(std::unique(inside.begin(), inside.end(), [](double a, double b) { return b - a < 1e-6; }), inside.end());
  return inside;
}

bool travel_in_words(Travel travel, show::Findings& findings) {
  if (std::isfinite(travel.min_deg) && std::isfinite(travel.max_deg) && travel.min_deg < travel.max_deg &&
      travel.max_deg - travel.min_deg <= 720)
    return true;
  findings.push_back(error("the travel of the servo is no range of angles", "Set its lower end below its upper end"));
  return false;
}

// Names the parts of the travel in which closes(angle) is false. `limits` holds every angle of the horn at which that may change.
template <class Closes>
void closure_in_words(std::span<const double> limits, double zero, Travel travel, Closes closes, const char* part, show::Findings& findings) {
  std::vector<double> marks{travel.min_deg};
  for (double a : within(limits, zero, travel)) marks.push_back(a);
  marks.push_back(travel.max_deg);
  const auto shut = [&](std::size_t k) { return marks[k + 1] > marks[k] && !closes(0.5 * (marks[k] + marks[k + 1])); };
  for (std::size_t k = 0; k + 1 < marks.size(); ++k) {
    if (!shut(k)) continue;
    const double from = marks[k];
    while (k + 2 < marks.size() && shut(k + 1)) ++k;
    const double to = marks[k + 1];
    const bool at_start = from == travel.min_deg, at_end = to == travel.max_deg;
    std::string what;
    if (at_start && at_end) what = "the linkage can't close anywhere between " + tenths(from) + " and " + tenths(to) + " deg";
    else if (at_end) what = std::string("the ") + part + " can't reach beyond " + tenths(from) + " deg";
    else if (at_start) what = std::string("the ") + part + " can't reach below " + tenths(to) + " deg";
    else what = "the linkage can't close between " + tenths(from) + " and " + tenths(to) + " deg";
    findings.push_back(error(what, "Narrow the travel of the servo, or change the lengths"));
  }
}

// `rate` is the change of output per degree, `full` one that is clearly not zero.
template <class Rate>
void singularities_in_words(std::span<const double> candidates, double zero, Travel travel, Rate rate, double full, show::Findings& findings) {
  for (double a : within(candidates, zero, travel)) {
    if (std::abs(rate(a)) > 1e-6 * full) continue;
    const bool at_an_end = a - travel.min_deg < 1e-6 || travel.max_deg - a < 1e-6;
    const std::string what = "at " + tenths(a) + " deg the linkage is singular: the lever arm is zero";
    if (at_an_end)
      findings.push_back(
          warning(what + ", at the end of the travel", "Keep some degrees away from it if the skin is to move evenly"));
    else
      findings.push_back(
          error(what + ", and beyond it the motion turns back", "End the travel of the servo before this angle"));
  }
}

}  // namespace

// ---- slider-crank

Solved position_mm(const SliderCrank& s, double servo_deg) noexcept {
  const bool number = servo_deg == servo_deg;
  const double t = ((number ? servo_deg : 0) + s.horn_at_zero_deg) * kDeg;
  const double under = square(s.rod_mm) - square(s.horn_mm * std::sin(t) - s.offset_mm);
  const double root = std::sqrt(std::max(under, 0.0));
  return {s.horn_mm * std::cos(t) + (s.behind ? -root : root), number && under >= 0};
}

double rate_mm_per_deg(const SliderCrank& s, double servo_deg) noexcept {
  const double t = (servo_deg + s.horn_at_zero_deg) * kDeg, side = s.horn_mm * std::sin(t) - s.offset_mm;
  const double under = square(s.rod_mm) - square(side);
  if (!(under > 0)) return 0;
  const double swing = side * s.horn_mm * std::cos(t) / std::sqrt(under);
  return kDeg * (-s.horn_mm * std::sin(t) + (s.behind ? swing : -swing));
}

// The slide's pin is at (x, e), a distance D from the servo's axis: the horn, the rod and D make a triangle.
Solved servo_deg(const SliderCrank& s, double x_mm, Travel travel) noexcept {
  bool reached = x_mm == x_mm;
  const double x = reached ? x_mm : 0, distance = std::hypot(x, s.offset_mm);
  const auto output = [&](double a) { return position_mm(s, a).value; };
  if (distance == 0) return choose({}, false, travel, x, output);
  const double towards = std::atan2(s.offset_mm, x);
  const double corner = arc_cos((square(s.horn_mm) + square(distance) - square(s.rod_mm)) / (2 * s.horn_mm * distance), reached);
  double candidates[2];
  std::size_t count = 0;
  for (double a : {towards + corner, towards - corner}) {
    const double ahead = x - s.horn_mm * std::cos(a);
    if ((s.behind ? -ahead : ahead) >= -1e-9 * s.rod_mm) candidates[count++] = a / kDeg - s.horn_at_zero_deg;
  }
  return choose(std::span(candidates, count), reached, travel, x, output);
}

show::Findings check(const SliderCrank& s, Travel travel) {
  show::Findings findings;
  if (!is_length(s.horn_mm) || !is_length(s.rod_mm) || !std::isfinite(s.offset_mm) || !std::isfinite(s.horn_at_zero_deg))
    findings.push_back(error("horn and rod must have a length above zero", "Measure them from axis to axis, in millimetres"));
  if (!travel_in_words(travel, findings) || !findings.empty()) return findings;
  const double r = s.horn_mm, l = s.rod_mm, e = s.offset_mm;
  const double upper = std::asin((e + l) / r) / kDeg,
               lower = std::asin((e - l) / r) / kDeg;  // NaN where the horn doesn't get so far
  closure_in_words(
      std::array{upper, 180 - upper, lower, 180 - lower}, s.horn_at_zero_deg, travel, [&](double a) { return position_mm(s, a).reached; }, "rod",
      findings);
  const double stretched = std::asin(e / (l + r)) / kDeg, folded = std::asin(e / (l - r)) / kDeg;
  singularities_in_words(
      std::array{stretched, 180 - stretched, 180 + folded, -folded}, s.horn_at_zero_deg, travel,
      [&](double a) { return position_mm(s, a).reached ? rate_mm_per_deg(s, a) : r; }, r * kDeg, findings);
  return findings;
}

// ---- four-bar

namespace {

// The diagonal from the rocker's axis to the crank's pin, and the linkage's other angles. Radians.
struct FourBarPose {
  double crank, diagonal, coupler, rocker;
  bool reached = true;
};

FourBarPose pose(const FourBar& f, double servo_deg) {
  FourBarPose p{};
  p.reached = servo_deg == servo_deg;
  p.crank = ((p.reached ? servo_deg : 0) + f.crank_at_zero_deg) * kDeg;
  const double x = f.crank_mm * std::cos(p.crank) - f.ground_mm, y = f.crank_mm * std::sin(p.crank);
  p.diagonal = std::hypot(x, y);
  const double corner =
      arc_cos((square(p.diagonal) + square(f.rocker_mm) - square(f.coupler_mm)) / (2 * p.diagonal * f.rocker_mm), p.reached);
  p.rocker = std::atan2(y, x) + (f.crossed ? corner : -corner);
  p.coupler = std::atan2(f.rocker_mm * std::sin(p.rocker) - y, f.rocker_mm * std::cos(p.rocker) - x);
  return p;
}

}  // namespace

Solved rocker_deg(const FourBar& f, double servo_deg) noexcept {
  const FourBarPose p = pose(f, servo_deg);
  return {wrapped(p.rocker / kDeg), p.reached};
}

double rate(const FourBar& f, double servo_deg) noexcept {
  const FourBarPose p = pose(f, servo_deg);
  const double arm = f.rocker_mm * std::sin(p.rocker - p.coupler);
  if (!p.reached || std::abs(arm) < 1e-12 * f.rocker_mm) return 0;
  return f.crank_mm * std::sin(p.crank - p.coupler) / arm;
}

// The same triangle from the other side: the rocker's pin is known, and the crank reaches for it.
Solved servo_deg(const FourBar& f, double rocker_wanted_deg, Travel travel) noexcept {
  bool reached = rocker_wanted_deg == rocker_wanted_deg;
  const double rocker = reached ? rocker_wanted_deg * kDeg : 0;
  const double x = f.ground_mm + f.rocker_mm * std::cos(rocker), y = f.rocker_mm * std::sin(rocker), distance = std::hypot(x, y);
  const auto miss = [&](double a) { return std::abs(wrapped(rocker_deg(f, a).value - rocker / kDeg)); };
  if (distance == 0) return choose({}, false, travel, 0, miss);
  const double corner =
      arc_cos((square(distance) + square(f.crank_mm) - square(f.coupler_mm)) / (2 * distance * f.crank_mm), reached);
  double candidates[2];
  std::size_t count = 0;
  for (double crank : {std::atan2(y, x) + corner, std::atan2(y, x) - corner}) {
    const double a = crank / kDeg - f.crank_at_zero_deg;
    // Open and crossed differ in the side on which the rocker's pin lies of the diagonal.
    if (!reached || miss(a) < 1e-5) candidates[count++] = a;
  }
  return choose(std::span(candidates, count), reached, travel, 0, miss);
}

double transmission_deg(const FourBar& f, double servo_deg) noexcept {
  bool reached = true;
  const double between = arc_cos((square(f.coupler_mm) + square(f.rocker_mm) - square(pose(f, servo_deg).diagonal)) /
                                     (2 * f.coupler_mm * f.rocker_mm),
                                 reached) /
                         kDeg;
  return std::min(between, 180 - between);
}

namespace {

// Where all four bars lie in line, the linkage may go on open or crossed: chance decides.
void change_points_in_words(const FourBar& f, Travel travel, show::Findings& findings) {
  const double size = f.crank_mm + f.coupler_mm + f.rocker_mm + f.ground_mm;
  const double shut[] = {std::abs(f.coupler_mm - f.rocker_mm), f.coupler_mm + f.rocker_mm};
  for (const auto& [angle, diagonal] :
       {std::pair{0.0, std::abs(f.ground_mm - f.crank_mm)}, std::pair{180.0, f.ground_mm + f.crank_mm}})
    for (double s : shut)
      if (std::abs(s - diagonal) < 1e-6 * size)
        for (double a : within(std::array{angle}, f.crank_at_zero_deg, travel))
          findings.push_back(error(
              "at " + tenths(a) + " deg all four bars lie in line (a change point): the linkage may go on open or crossed",
              "End the travel of the servo before this angle, or change one length a little"));
}

void transmission_in_words(const FourBar& f, Travel travel, show::Findings& findings) {
  double least = 90, where = travel.min_deg;
  const double zero = f.crank_at_zero_deg;
  for (double a : within(std::array{travel.min_deg + zero, travel.max_deg + zero, 0.0, 180.0}, zero, travel))
    if (const double t = transmission_deg(f, a); t < least) least = t, where = a;
  if (least < kLeastTransmission)
    findings.push_back(warning("at " + tenths(where) + " deg the transmission angle is only " + tenths(least) +
                                   " deg: the linkage pushes its joints more than the skin",
                               "Keep it above 30 deg (common practice) by a shorter travel or other lengths"));
}

}  // namespace

show::Findings check(const FourBar& f, Travel travel) {
  show::Findings findings;
  if (!is_length(f.crank_mm) || !is_length(f.coupler_mm) || !is_length(f.rocker_mm) || !is_length(f.ground_mm) || !std::isfinite(f.crank_at_zero_deg))
    findings.push_back(error("all four bars must have a length above zero", "Measure them from axis to axis, in millimetres"));
  if (!travel_in_words(travel, findings) || !findings.empty()) return findings;
  const double a = f.crank_mm, b = f.coupler_mm, c = f.rocker_mm, d = f.ground_mm;
  const auto crank_at = [&](double diagonal) {
    return std::acos((square(a) + square(d) - square(diagonal)) / (2 * a * d)) / kDeg;
  };
  const double far = crank_at(b + c), close = crank_at(std::abs(b - c));
  change_points_in_words(f, travel, findings);
  closure_in_words(
      std::array{far, -far, close, -close}, f.crank_at_zero_deg, travel, [&](double t) { return pose(f, t).reached; }, "coupler", findings);
  if (!findings.empty()) return findings;
  // Crank and coupler in line: the rocker's pin is at a + b, or at |a - b|, from the crank's axis.
  const auto towards_pin = [&](double distance) {
    return std::acos((square(distance) + square(d) - square(c)) / (2 * distance * d)) / kDeg;
  };
  const double stretched = towards_pin(a + b), folded = towards_pin(std::abs(a - b));
  singularities_in_words(
      std::array{stretched, -stretched, folded, -folded, 180 + folded, 180 - folded}, f.crank_at_zero_deg, travel,
      [&](double t) { return rate(f, t); }, std::min(1.0, a / c), findings);
  transmission_in_words(f, travel, findings);
  return findings;
}

// ---- two servos, two motions

LeftRight servos_deg(const Differential& d, PitchRoll pose) noexcept {
  const double p = d.pitch_gain * pose.pitch_deg, r = d.roll_gain * pose.roll_deg;
  return {p + r, p - r};
}

PitchRoll pose_deg(const Differential& d, LeftRight servos) noexcept {
  return {0.5 * (servos.left + servos.right) / d.pitch_gain, 0.5 * (servos.left - servos.right) / d.roll_gain};
}

show::Findings check(const Differential& d) {
  const auto usable = [](double gain) { return std::isfinite(gain) && gain != 0; };
  if (usable(d.pitch_gain) && usable(d.roll_gain)) return {};
  return {error("a gain of the differential is zero or no number: one of the two motions can't be made",
                "Set both gains; 1 is usual")};
}

}  // namespace mien::motion
