#include "show/suggest_controls.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace mien::show {
namespace {

using enum Role;

constexpr double kIpd_mm = 63;          // between the pupils of adults, about; as Gaze has it
constexpr double kNearest_mm = 250, kFar_mm = 5000, kAtRest_mm = 1200;
constexpr double kPress = 0.75;         // share of the lips' travel beyond rest that they may press together
constexpr double kLowerLidBlink = 0.25; // share of its travel by which the lower lid meets the upper one in a blink

double vergence_deg(double distance_mm) { return std::atan2(kIpd_mm / 2, distance_mm) * 180 / std::numbers::pi; }
// What keeps a suggestion readable in the file and within the travel: rounded toward zero.
double to_tenths(double value) { return std::trunc(value * 10) / 10; }

class Suggesting {
 public:
  Suggesting(Rig& rig, const Parts& parts) : rig_(rig), parts_(parts), axes_(rig.actuators.size()) {
    for (std::size_t i = 0; i < axes_.size(); ++i) axes_[i].offset = rig.actuators[i].rest_deg;
    for (const auto& [role, i] : parts) axes_[i].role = name(role);
  }

  void run() {
    brows();
    gaze();
    lids();
    jaw_and_neck();
    corners();
    lips();
    rest_of_the_face();
    for (std::size_t i = 0; i < axes_.size(); ++i) {
      const Actuator& a = rig_.actuators[i];
      if (axes_[i].terms.empty() && !axes_[i].closing) {
        const std::string own = free_name(a.name);
        rig_.controls.push_back({own, a.group, "deg", to_tenths(a.min_deg - a.rest_deg), to_tenths(a.max_deg - a.rest_deg), 0});
        axes_[i].terms.push_back({own, 1});
      }
      rig_.mappings.push_back({{axes_[i]}, Straight{}, {a.name}});
    }
  }

 private:
  // A servo may be called as a control is that another one's part brought.
  std::string free_name(std::string wanted) const {
    const auto taken = [&](const std::string& n) { return std::any_of(rig_.controls.begin(), rig_.controls.end(), [&](const Control& c) { return c.name == n; }) || (rig_.gaze && (n == rig_.gaze->left || n == rig_.gaze->right)); };
    while (taken(wanted)) wanted += " own";
    return wanted;
  }
  const Actuator* at(Role role) const {
    const auto found = parts_.find(role);
    return found == parts_.end() ? nullptr : &rig_.actuators[found->second];
  }
  bool has(Role role) const { return parts_.contains(role); }
  Axis& axis(Role role) { return axes_[parts_.at(role)]; }
  double up(Role role) const { return at(role)->max_deg - at(role)->rest_deg; }
  double down(Role role) const { return at(role)->rest_deg - at(role)->min_deg; }

  void share(const std::string& name, Role of, double min = 0) { rig_.controls.push_back({name, at(of)->group, "1", min, 1, 0}); }
  // Moves the part by a share of its travel: positive ones of what lies above rest, negative ones of what lies below.
  void term(Role role, const std::string& control, double part) {
    if (!has(role)) return;
    const double weight = to_tenths(part * (part > 0 ? up(role) : down(role)));
    if (weight != 0) axis(role).terms.push_back({control, weight});
  }
  // Both ways with one control from -1 to 1: the smaller travel counts.
  void both_ways(Role role, const std::string& control, double part) {
    if (!has(role)) return;
    const double weight = to_tenths(part * std::min(up(role), down(role)));
    if (weight != 0) axis(role).terms.push_back({control, weight});
  }
  // A control in degrees from the part's rest.
  void in_degrees(Role role, const std::string& control) {
    if (!has(role)) return;
    rig_.controls.push_back({control, at(role)->group, "deg", to_tenths(-down(role)), to_tenths(up(role)), 0});
    axis(role).terms.push_back({control, 1});
  }

  void brows() {
    struct Side { const char* name; Role inner, outer, raise, tilt; };
    bool frowns = false;
    for (const Side& s : {Side{"left", brow_inner_left, brow_outer_left, brow_raise_left, brow_tilt_left}, Side{"right", brow_inner_right, brow_outer_right, brow_raise_right, brow_tilt_right}}) {
      const Role first = has(s.inner) ? s.inner : has(s.outer) ? s.outer : s.raise;
      if (has(first)) {
        const std::string raise = std::string("brow_raise_") + s.name;
        share(raise, first);
        for (const Role r : {s.inner, s.outer, s.raise}) term(r, raise, 0.7);
      }
      if (!has(s.inner) && !has(s.raise) && !has(s.tilt)) continue;
      const Role of = has(s.inner) ? s.inner : has(s.raise) ? s.raise : s.tilt;
      if (!std::exchange(frowns, true)) share("brow_frown", of), share("brow_inner_raise", of);
      for (const Role r : {s.inner, s.raise, s.tilt}) term(r, "brow_frown", -0.6), term(r, "brow_inner_raise", 0.3);
    }
  }

  void gaze() {
    if (has(eye_yaw_left) && has(eye_yaw_right)) {
      const std::string& group = at(eye_yaw_left)->group;
      double most = 89;
      for (const Role r : {eye_yaw_left, eye_yaw_right}) most = std::min({most, at(r)->max_deg, -at(r)->min_deg});
      // Of what eyes that converge on the nearest point leave to the sides.
      most = std::max(1.0, to_tenths(most - vergence_deg(kNearest_mm) - 0.1));
      rig_.controls.push_back({"gaze_yaw", group, "deg", -most, most, 0});
      pitch(group);
      if (!has(eye_pitch) && !has(eye_pitch_left) && !has(eye_pitch_right)) rig_.controls.push_back({"gaze_pitch", group, "deg", -1, 1, 0});
      rig_.controls.push_back({"gaze_distance", group, "mm", kNearest_mm, kFar_mm, kAtRest_mm});
      rig_.gaze = Gaze{"gaze_yaw", "gaze_pitch", "gaze_distance", kIpd_mm};
      // At rest the eyes converge a little; the axes are offset so that they then stand at their servos' rest.
      const double in = vergence_deg(kAtRest_mm);
      axis(eye_yaw_left).offset += in, axis(eye_yaw_left).terms = {{rig_.gaze->left, 1}};
      axis(eye_yaw_right).offset -= in, axis(eye_yaw_right).terms = {{rig_.gaze->right, 1}};
      return;
    }
    in_degrees(has(eye_yaw_left) ? eye_yaw_left : eye_yaw_right, "gaze_yaw");
    for (const Role r : {eye_pitch, eye_pitch_left, eye_pitch_right})
      if (has(r)) return pitch(at(r)->group);
  }

  void pitch(const std::string& group) {
    double low = 89, high = 89;
    for (const Role r : {eye_pitch, eye_pitch_left, eye_pitch_right})
      if (has(r)) low = std::min(low, down(r)), high = std::min(high, up(r));
    for (const Role r : {eye_pitch, eye_pitch_left, eye_pitch_right})
      if (has(r)) axis(r).terms = {{"gaze_pitch", 1}};
    if (low < 89) rig_.controls.push_back({"gaze_pitch", group, "deg", -to_tenths(low), to_tenths(high), 0});
  }

  void constrain(const std::string& name, std::vector<Constraint::Term> terms, double at_least_deg) {
    rig_.constraints.push_back({name, std::move(terms), std::floor(at_least_deg * 10 + 1e-6) / 10});
  }

  void lids() {
    struct Side { const char* suffix; const char* title; Role upper, lower; };
    bool opens = false, lifts = false;
    const Role shared_lower = lid_lower;
    for (const Side& s : {Side{"_left", "left lids", lid_upper_left, lid_lower_left}, Side{"_right", "right lids", lid_upper_right, lid_lower_right}, Side{"", "the lids", lid_upper, lid_lower}}) {
      if (!has(s.upper)) continue;
      const Role lower = has(s.lower) ? s.lower : shared_lower;
      const std::string blink = std::string("blink") + s.suffix;
      share(blink, s.upper);
      if (!std::exchange(opens, true)) share("lid_open", s.upper, -1);
      both_ways(s.upper, "lid_open", 0.8);
      double meets = at(s.upper)->min_deg;
      if (has(lower)) {
        // Two blinks share one lower lid: each raises it by half.
        const double part = kLowerLidBlink * (lower == shared_lower && s.upper != lid_upper ? 0.5 : 1);
        term(lower, blink, part);
        meets += to_tenths(kLowerLidBlink * up(lower));
        if (!std::exchange(lifts, true)) share("lid_lower_raise", lower);
      }
      axis(s.upper).closing = Closing{blink, to_tenths(meets)};
      // Closed on a lower lid at rest, the upper one is at its travel's end; where the lower one is raised, it meets it earlier.
      if (has(lower)) constrain(std::string(s.title) + " meet but do not cross", {{at(s.upper)->name, 1}, {at(lower)->name, -1}}, at(s.upper)->min_deg - at(lower)->rest_deg);
    }
    for (const Role r : {lid_lower_left, lid_lower_right, lid_lower}) {
      if (!has(r)) continue;
      if (!std::exchange(lifts, true)) share("lid_lower_raise", r);
      term(r, "lid_lower_raise", 1 - kLowerLidBlink);
    }
  }

  void jaw_and_neck() {
    if (has(jaw_open)) share("jaw_open", jaw_open), term(jaw_open, "jaw_open", 1);
    if (has(jaw_side)) share("jaw_side", jaw_side, -1), both_ways(jaw_side, "jaw_side", 1);
    in_degrees(neck_yaw, "neck_yaw"), in_degrees(neck_pitch, "neck_pitch"), in_degrees(neck_roll, "neck_roll");
  }

  void corners() {
    struct Side { const char* control; Role wide, up; };
    for (const Side& s : {Side{"smile_left", lip_corner_wide_left, lip_corner_up_left}, Side{"smile_right", lip_corner_wide_right, lip_corner_up_right}}) {
      if (!has(s.wide) && !has(s.up)) continue;
      share(s.control, has(s.up) ? s.up : s.wide, -1);
      both_ways(s.up, s.control, 0.9), both_ways(s.wide, s.control, has(s.up) ? 0.3 : 0.5);
    }
    if (!has(lip_corner_wide_left) && !has(lip_corner_wide_right)) return;
    const Role of = has(lip_corner_wide_left) ? lip_corner_wide_left : lip_corner_wide_right;
    share("lips_wide", of), share("lips_round", of);
    for (const Role r : {lip_corner_wide_left, lip_corner_wide_right}) term(r, "lips_wide", 0.5), term(r, "lips_round", -0.7);
  }

  void lips() {
    struct Pair { const char* title; Role upper, lower; };
    constexpr Pair kPairs[]{{"left", lip_upper_left, lip_lower_left}, {"centre", lip_upper_centre, lip_lower_centre}, {"right", lip_upper_right, lip_lower_right}};
    bool raises = false, drops = false, closes = false;
    for (const Pair& p : kPairs) {
      if (has(p.upper) && !std::exchange(raises, true)) share("upper_lip_raise", p.upper);
      if (has(p.lower) && !std::exchange(drops, true)) share("lower_lip_drop", p.lower);
      if ((has(p.upper) || has(p.lower)) && !std::exchange(closes, true)) share("lip_close", has(p.upper) ? p.upper : p.lower);
      term(p.upper, "upper_lip_raise", 0.9), term(p.lower, "lower_lip_drop", 0.9);
      term(p.upper, "lip_close", -kPress), term(p.lower, "lip_close", -kPress);
      if (!has(p.upper) || !has(p.lower)) continue;
      constrain(std::string("lips press no harder than the skin bears, ") + p.title, {{at(p.upper)->name, 1}, {at(p.lower)->name, 1}},
                at(p.upper)->rest_deg + at(p.lower)->rest_deg - kPress * (down(p.upper) + down(p.lower)));
    }
  }

  void rest_of_the_face() {
    for (const auto& [role, control] : {std::pair{cheek_left, "cheek_left"}, std::pair{cheek_right, "cheek_right"}, std::pair{nose_wrinkle, "nose_wrinkle"}})
      if (has(role)) share(control, role), term(role, control, 1);
  }

  Rig& rig_;
  const Parts& parts_;
  std::vector<Axis> axes_;
};

}  // namespace

void put_controls(Rig& rig, const Parts& parts) { Suggesting(rig, parts).run(); }

}  // namespace mien::show
