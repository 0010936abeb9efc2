#include "motion/plate.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "motion/angles.hpp"
#include "show/text.hpp"

namespace mien::motion {
namespace {

constexpr double kLongest_mm = 1e5;  // beyond it nothing is a head's

double number_of(double x, bool& reached) {
  if (std::isfinite(x)) return x;
  reached = false;
  return 0;
}

struct Vector {
  double x, y, z;
  friend Vector operator-(const Vector& a, const Vector& b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
  friend double operator*(const Vector& a, const Vector& b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
};

// A pin on the plate and how it moves with pitch and roll, per radian.
struct Pin {
  Vector at, by_pitch, by_roll;
};

struct Turn {
  double sp, cp, sr, cr;
  explicit Turn(PitchRoll pose)
      : sp(std::sin(pose.pitch_deg * kDeg)), cp(std::cos(pose.pitch_deg * kDeg)), sr(std::sin(pose.roll_deg * kDeg)), cr(std::cos(pose.roll_deg * kDeg)) {}
};

Pin pin(const TwoRodPlate& plate, const Turn& t, int k) {
  const double a = plate.arm_mm, s = k * plate.half_span_mm;
  return {{-s * t.cr, -a * t.cp - s * t.sr * t.sp, -a * t.sp + s * t.sr * t.cp},
          {0, a * t.sp - s * t.sr * t.cp, -a * t.cp - s * t.sr * t.sp},
          {s * t.sr, -s * t.cr * t.sp, s * t.cr * t.cp}};
}

double ahead(const TwoRodPlate& plate) { return plate.horns_ahead ? 1 : -1; }
Vector axis(const TwoRodPlate& plate, int k) { return {-k * plate.half_span_mm, -plate.arm_mm - ahead(plate) * plate.horn_mm, -plate.rod_mm}; }
Vector tip(const TwoRodPlate& plate, double horn_rad, int k) {
  const Vector s = axis(plate, k);
  return {s.x, s.y + plate.horn_mm * ahead(plate) * std::cos(horn_rad), s.z + plate.horn_mm * std::sin(horn_rad)};
}

// One rod with the plate in a pose: its horn's angle, the rod from tip to pin, and how the tip moves, per radian.
struct Rod {
  double horn_rad;
  Vector along, tip_moves;
  bool reached;
};

// |D|^2 - 2 h (u D_y cos t + D_z sin t) + h^2 = l^2 with D from axis to pin: R cos(t - towards) = K.
Rod rod(const TwoRodPlate& plate, const Pin& p, int k) {
  const Vector d = p.at - axis(plate, k);
  const double u = ahead(plate), h = plate.horn_mm, far = std::hypot(d.y, d.z), towards = std::atan2(d.z, u * d.y);
  const double cosine = (d * d + square(h) - square(plate.rod_mm)) / (2 * h * far);
  const double corner = std::abs(cosine) <= 1 ? std::acos(cosine) : cosine > 1 ? 0 : std::numbers::pi;
  const double t = towards - corner;
  return {t, p.at - tip(plate, t, k), {0, -h * u * std::sin(t), h * std::cos(t)}, std::abs(cosine) <= 1 + 1e-12};
}

// The plate in a pose: both rods, each one's lever on its horn (the sine of the angle between them; 1 where it is square), and the rods' leverage on the plate,
// both motions together, 1 where it is level. A zero is a singularity.
struct Stand {
  Rod first, second;
  double first_lever, second_lever, leverage;
};

Stand stand(const TwoRodPlate& plate, PitchRoll pose) {
  const Turn turn(pose);
  const Pin p1 = pin(plate, turn, 1), p2 = pin(plate, turn, -1);
  const Rod r1 = rod(plate, p1, 1), r2 = rod(plate, p2, -1);
  const double det = (r1.along * p1.by_pitch) * (r2.along * p2.by_roll) - (r1.along * p1.by_roll) * (r2.along * p2.by_pitch);
  const double horn = plate.horn_mm * plate.rod_mm;
  return {r1, r2, r1.along * r1.tip_moves / horn, r2.along * r2.tip_moves / horn,
          det / (2 * plate.arm_mm * plate.half_span_mm * square(plate.rod_mm))};
}

}  // namespace

LeftRight heights_mm(const TwoRodPlate& plate, PitchRoll pose) noexcept {
  const Turn t(pose);
  const double middle = -plate.arm_mm * t.sp, tilt = plate.half_span_mm * t.sr * t.cp;
  return {middle + tilt, middle - tilt};
}

SolvedPose pose_at_heights(const TwoRodPlate& plate, LeftRight heights) noexcept {
  SolvedPose solved;
  const auto arc_sin = [&](double s) {
    if (std::abs(s) <= 1) return std::asin(s);
    solved.reached = solved.reached && std::abs(s) < 1 + 1e-12;
    return s == s ? std::copysign(std::numbers::pi / 2, s) : 0.0;
  };
  const double p = arc_sin(-0.5 * (heights.left + heights.right) / plate.arm_mm);
  const double across = 2 * plate.half_span_mm * std::cos(p), r = arc_sin((heights.left - heights.right) / across);
  solved.pose = {p / kDeg, r / kDeg};
  return solved;
}

SolvedServos servos_deg(const TwoRodPlate& plate, PitchRoll pose) noexcept {
  bool reached = true;
  const Turn turn({number_of(pose.pitch_deg, reached), number_of(pose.roll_deg, reached)});
  const Rod first = rod(plate, pin(plate, turn, 1), 1), second = rod(plate, pin(plate, turn, -1), -1);
  return {{wrapped(first.horn_rad / kDeg - plate.horn_at_zero_deg), wrapped(second.horn_rad / kDeg - plate.horn_at_zero_deg)},
          reached && first.reached && second.reached};
}

SolvedPose pose_deg(const TwoRodPlate& plate, LeftRight servos) noexcept {
  constexpr int kMostSteps = 30;
  constexpr double kMostStep = 15 * kDeg, kClose = 1e-12;
  bool number = true;
  const double t1 = (number_of(servos.left, number) + plate.horn_at_zero_deg) * kDeg, t2 = (number_of(servos.right, number) + plate.horn_at_zero_deg) * kDeg;
  const Vector h1 = tip(plate, t1, 1), h2 = tip(plate, t2, -1);
  PitchRoll pose = pose_at_heights(plate, {h1.z + plate.rod_mm, h2.z + plate.rod_mm}).pose;
  double p = std::clamp(pose.pitch_deg, -80.0, 80.0) * kDeg, r = std::clamp(pose.roll_deg, -80.0, 80.0) * kDeg;
  bool close = false;
  for (int n = 0; n < kMostSteps && !close; ++n) {
    const Turn turn({p / kDeg, r / kDeg});
    const Pin p1 = pin(plate, turn, 1), p2 = pin(plate, turn, -1);
    const Vector a1 = p1.at - h1, a2 = p2.at - h2;
    const double m1 = 0.5 * (a1 * a1 - square(plate.rod_mm)), m2 = 0.5 * (a2 * a2 - square(plate.rod_mm));
    const double j1p = a1 * p1.by_pitch, j1r = a1 * p1.by_roll, j2p = a2 * p2.by_pitch, j2r = a2 * p2.by_roll, det = j1p * j2r - j1r * j2p;
    if (!(std::abs(det) > 1e-9 * std::abs(plate.arm_mm) * plate.half_span_mm * square(plate.rod_mm))) break;
    const double dp = (m2 * j1r - m1 * j2r) / det, dr = (m1 * j2p - m2 * j1p) / det;
    const double most = std::max(std::abs(dp), std::abs(dr)), share = most > kMostStep ? kMostStep / most : 1;
    p = std::clamp(p + share * dp, -std::numbers::pi / 2, std::numbers::pi / 2), r = std::clamp(r + share * dr, -std::numbers::pi / 2, std::numbers::pi / 2);
    close = most < kClose;
  }
  return {{p / kDeg, r / kDeg}, number && close};
}

// ---- what is wrong with it

namespace {

constexpr double kSlip_deg = 1e-7;      // by which an angle may miss the travel from rounding
constexpr double kLeastLever = 1e-3;    // less counts as none: a servo would have to move a thousand times as fast as the plate
constexpr double kLeastLeverage = 0.1;  // of the rods on the plate
constexpr double kHalf = 0.5;           // sin 30 deg: common practice for transmission angles, and of leverage ours
constexpr double kFarthest_deg = 90;    // pose_deg() looks no farther

enum class Bound { none, first_travel, second_travel, first_line, second_line, leverage };

bool within(double deg, const Travel& travel) { return deg >= travel.min_deg - kSlip_deg && deg <= travel.max_deg + kSlip_deg; }

Bound bound(const TwoRodPlate& plate, const PlateServos& servos, PitchRoll pose) {
  const Stand s = stand(plate, pose);
  if (!s.first.reached || !(s.first_lever > kLeastLever)) return Bound::first_line;
  if (!s.second.reached || !(s.second_lever > kLeastLever)) return Bound::second_line;
  if (!(s.leverage > kLeastLeverage) || std::max(std::abs(pose.pitch_deg), std::abs(pose.roll_deg)) > kFarthest_deg) return Bound::leverage;
  const LeftRight deg = servos_deg(plate, pose).deg;
  if (!within(deg.left, servos[0].travel)) return Bound::first_travel;
  if (!within(deg.right, servos[1].travel)) return Bound::second_travel;
  return Bound::none;
}

PitchRoll between(PitchRoll from, PitchRoll to, double share) {
  return {from.pitch_deg + share * (to.pitch_deg - from.pitch_deg), from.roll_deg + share * (to.roll_deg - from.roll_deg)};
}

struct Reach {
  PitchRoll pose;  ///< the last that is reached
  Bound bound = Bound::none;
};

// From a pose straight toward another, in steps of at most a degree, so that nothing that can't be is jumped over.
Reach reach(const TwoRodPlate& plate, const PlateServos& servos, PitchRoll from, PitchRoll to) {
  const double way = std::max(std::abs(to.pitch_deg - from.pitch_deg), std::abs(to.roll_deg - from.roll_deg));
  const int steps = 1 + static_cast<int>(way);
  for (int n = 1; n <= steps; ++n) {
    double bad = static_cast<double>(n) / steps, good = (n - 1.0) / steps;
    Bound why = bound(plate, servos, between(from, to, bad));
    if (why == Bound::none) continue;
    for (int halved = 0; halved < 40; ++halved) {
      const double middle = 0.5 * (good + bad);
      const Bound there = bound(plate, servos, between(from, to, middle));
      if (there == Bound::none) good = middle;
      else bad = middle, why = there;
    }
    return {between(from, to, good), why};
  }
  return {to};
}

std::string degrees(double value) { return show::number_text(std::round(value * 10) / 10 + 0.0) + " deg"; }

class PlateCheck {
 public:
  PlateCheck(const TwoRodPlate& plate, const PlateServos& servos, const PoseRange& asked)
      : plate_(plate), servos_(servos), rest_(pose_deg(plate, {servos[0].rest_deg, servos[1].rest_deg}).pose) {
    const auto from_level = [](double x, double rest) { return std::clamp(std::isfinite(x) ? x + rest : rest, -kFarthest_deg - 1, kFarthest_deg + 1); };
    low_ = {from_level(asked.min.pitch_deg, rest_.pitch_deg), from_level(asked.min.roll_deg, rest_.roll_deg)};
    high_ = {from_level(asked.max.pitch_deg, rest_.pitch_deg), from_level(asked.max.roll_deg, rest_.roll_deg)};
  }

  show::Findings findings() && {
    if (!at_rest()) return std::move(findings_);
    for (const double end : {low_.pitch_deg, high_.pitch_deg}) pitch_toward(end);
    for (const double end : {low_.roll_deg, high_.roll_deg})
      if (const Reach r = reach(plate_, servos_, rest_, {rest_.pitch_deg, end}); r.bound != Bound::none)
        tell(r, "roll " + degrees(r.pose.roll_deg - rest_.roll_deg) + " with pitch " + degrees(0));
    levers();
    jams();
    return std::move(findings_);
  }

 private:
  void add(show::Severity severity, std::string what, std::string cure) { findings_.push_back({severity, "", "", std::move(what), std::move(cure)}); }

  std::string in_words(PitchRoll pose) const {
    return "pitch " + degrees(pose.pitch_deg - rest_.pitch_deg) + " with roll " + degrees(pose.roll_deg - rest_.roll_deg);
  }

  bool at_rest() {
    const PitchRoll pose = rest_;
    const SolvedServos back = servos_deg(plate_, pose);
    const bool same = pose_deg(plate_, {servos_[0].rest_deg, servos_[1].rest_deg}).reached && back.reached &&
                      std::abs(wrapped(back.deg.left - servos_[0].rest_deg)) < 1e-6 && std::abs(wrapped(back.deg.right - servos_[1].rest_deg)) < 1e-6;
    const Bound why = same ? bound(plate_, servos_, pose) : Bound::leverage;
    if (same && why == Bound::none) return true;
    add(show::Severity::error, "with both servos at rest the rods can't hold the plate" + (same ? ": " + because(why) : std::string()),
        "Let the horns be near level at the servos' rest (horn_at_zero_deg, rest_deg), or change the lengths");
    return false;
  }

  std::string because(Bound why) const {
    switch (why) {
      case Bound::first_travel: return "the travel of '" + servos_[0].name + "' ends there";
      case Bound::second_travel: return "the travel of '" + servos_[1].name + "' ends there";
      case Bound::first_line: return "horn and rod of '" + servos_[0].name + "' come into line, and the linkage is singular";
      case Bound::second_line: return "horn and rod of '" + servos_[1].name + "' come into line, and the linkage is singular";
      default: return "the rods are left with less than a tenth of their leverage on the plate, near a singularity";
    }
  }

  void tell(const Reach& r, const std::string& pose) {
    const bool by_travel = r.bound == Bound::first_travel || r.bound == Bound::second_travel;
    add(by_travel ? show::Severity::warning : show::Severity::error, "the rods can't reach beyond " + pose + ": " + because(r.bound),
        by_travel ? "Ask for less by the controls' ranges or weights, or take longer horns or a wider travel" : "Ask for less by the controls' ranges or weights, narrow the travel of the servos, or change the lengths");
  }

  // Of both ends of the roll, and of none, the one with which it gets least far.
  void pitch_toward(double end) {
    Reach least{{end, 0}};
    for (const double roll : {rest_.roll_deg, low_.roll_deg, high_.roll_deg}) {
      const PitchRoll from = reach(plate_, servos_, rest_, {rest_.pitch_deg, roll}).pose;
      const Reach r = reach(plate_, servos_, from, {end, from.roll_deg});
      if (r.bound != Bound::none && (least.bound == Bound::none || std::abs(end - r.pose.pitch_deg) > std::abs(end - least.pose.pitch_deg) + 1e-6)) least = r;
    }
    if (least.bound != Bound::none) tell(least, in_words(least.pose));
  }

  template <class See>
  void every_pose(See see) const {
    constexpr int kSteps = 16;
    for (int i = 0; i <= kSteps; ++i)
      for (int j = 0; j <= kSteps; ++j) {
        const PitchRoll pose{low_.pitch_deg + i * (high_.pitch_deg - low_.pitch_deg) / kSteps, low_.roll_deg + j * (high_.roll_deg - low_.roll_deg) / kSteps};
        if (bound(plate_, servos_, pose) == Bound::none) see(pose);
      }
  }

  void levers() {
    double least = kHalf, least_leverage = kHalf;
    PitchRoll where, where_leverage;
    std::size_t which = 0;
    every_pose([&](PitchRoll pose) {
      const Stand s = stand(plate_, pose);
      if (std::min(s.first_lever, s.second_lever) < least) least = std::min(s.first_lever, s.second_lever), where = pose, which = s.first_lever <= s.second_lever ? 0 : 1;
      if (s.leverage < least_leverage) least_leverage = s.leverage, where_leverage = pose;
    });
    if (least < kHalf)
      add(show::Severity::warning, "at " + in_words(where) + " horn and rod of '" + servos_[which].name + "' are only " + degrees(std::asin(least) / kDeg) + " from being in line",
          "Keep them 30 deg from it (common practice) by less throw or other lengths");
    if (least_leverage < kHalf)
      add(show::Severity::warning, "at " + in_words(where_leverage) + " the rods have only " + show::number_text(std::round(100 * least_leverage)) + " % of the leverage on the plate that they have where it is level",
          "Tilt it less, or mind that its servos carry more there");
  }

  // The limiter brings each servo along by itself: on the way from pose to pose, both may stand anywhere between the angles of poses.
  void jams() {
    LeftRight low{servos_[0].rest_deg, servos_[1].rest_deg}, high = low;
    every_pose([&](PitchRoll pose) {
      const LeftRight deg = servos_deg(plate_, pose).deg;
      low = {std::min(low.left, deg.left), std::min(low.right, deg.right)}, high = {std::max(high.left, deg.left), std::max(high.right, deg.right)};
    });
    for (const double left : {low.left, high.left})
      for (const double right : {low.right, high.right})
        if (!holds({left, right})) {
          add(show::Severity::warning, "with '" + servos_[0].name + "' at " + degrees(left) + " and '" + servos_[1].name + "' at " + degrees(right) +
                  ", where they may meet on the way from one pose to another, the plate jams", "Narrow the travel of the servos, or take shorter horns");
          return;
        }
  }

  // Away from rest in small steps, as the servos go.
  bool holds(LeftRight to) const {
    constexpr int kSteps = 24;
    for (int n = 1; n <= kSteps; ++n) {
      const auto part = [&](double from, double end) { return from + n * (end - from) / kSteps; };
      const SolvedPose at = pose_deg(plate_, {part(servos_[0].rest_deg, to.left), part(servos_[1].rest_deg, to.right)});
      if (!at.reached || !(stand(plate_, at.pose).leverage > kLeastLeverage)) return false;
    }
    return true;
  }

  const TwoRodPlate& plate_;
  const PlateServos& servos_;
  PitchRoll rest_, low_, high_;
  show::Findings findings_;
};

}  // namespace

PoseRange reach_deg(const TwoRodPlate& plate, const PlateServos& servos) {
  const SolvedPose rest = pose_deg(plate, {servos[0].rest_deg, servos[1].rest_deg});
  if (!rest.reached || bound(plate, servos, rest.pose) != Bound::none) return {};
  const PitchRoll at = rest.pose;
  const auto pitch = [&](double end) { return reach(plate, servos, at, {end, at.roll_deg}).pose.pitch_deg - at.pitch_deg; };
  const auto roll = [&](double end) { return reach(plate, servos, at, {at.pitch_deg, end}).pose.roll_deg - at.roll_deg; };
  return {{pitch(-kFarthest_deg), roll(-kFarthest_deg)}, {pitch(kFarthest_deg), roll(kFarthest_deg)}};
}

show::Findings check(const TwoRodPlate& plate) {
  const auto length = [](double x) { return std::isfinite(x) && x > 0 && x <= kLongest_mm; };
  show::Findings findings;
  if (!length(plate.half_span_mm) || !length(std::abs(plate.arm_mm)) || !length(plate.horn_mm) || !length(plate.rod_mm))
    findings.push_back({show::Severity::error, "", "", "span, arm, horn and rod of the plate must be lengths",
                        "Measure them from axis to axis, in millimetres; an arm below zero says that the rods stand before the joint"});
  if (!(std::abs(plate.horn_at_zero_deg) <= 360))
    findings.push_back({show::Severity::error, "", "", "horn_at_zero_deg is no angle between -360 and 360 deg", "Give how far the horn stands above level where the servo's angle is 0"});
  return findings;
}

show::Findings check(const TwoRodPlate& plate, const PlateServos& servos, const PoseRange& asked) {
  if (auto findings = check(plate); !findings.empty()) return findings;
  for (const PlateServo& servo : servos)
    if (!(servo.travel.min_deg < servo.travel.max_deg && servo.travel.min_deg >= -180 && servo.travel.max_deg <= 180))
      return {{show::Severity::error, "", "", "the travel of '" + servo.name + "' is no range of angles between -180 and 180 deg", "Set its lower end below its upper end"}};
  return PlateCheck(plate, servos, asked).findings();
}

}  // namespace mien::motion
