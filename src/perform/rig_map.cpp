#include "perform/rig_map.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numbers>
#include <utility>

#include "motion/index.hpp"
#include "motion/linkage.hpp"
#include "perform/tick.hpp"

namespace mien::perform {
namespace {

using motion::at;

constexpr double kStill_deg = 1e-9;  // less is rounding

template <class Parts>
int index_of(const Parts& parts, const std::string& name, int most) noexcept {
  const auto found = std::find_if(parts.begin(), parts.end(), [&](const auto& part) { return part.name == name; });
  const auto index = found - parts.begin();
  return found == parts.end() || index >= most ? -1 : static_cast<int>(index);
}

// Where the skin is, counted from its rest, and how it moves at an angle of the servo.
struct Skin {
  double x, per_deg;
  bool reached;
};

Skin skin_at(const show::SliderCrank& linkage, double servo_deg, double rest) noexcept {
  const motion::Solved x = motion::position_mm(linkage, servo_deg);
  return {x.value - rest, motion::rate_mm_per_deg(linkage, servo_deg), x.reached};
}

Skin skin_at(const show::FourBar& linkage, double servo_deg, double rest) noexcept {
  const motion::Solved x = motion::rocker_deg(linkage, servo_deg);
  return {std::remainder(x.value - rest, 360), motion::rate(linkage, servo_deg), x.reached};
}

// Rows evenly over the travel, so that they lie closest in x where the linkage moves the skin least.
template <class Linkage>
std::optional<motion::Table> sampled(const Linkage& linkage, const show::Actuator& a, int rows) {
  if (!std::isfinite(a.min_deg) || !std::isfinite(a.max_deg) || !(a.min_deg < a.max_deg)) return {};
  const double rest = skin_at(linkage, a.rest_deg, 0).x;
  std::vector<double> x, angle, slope;
  for (int k = 0; k < rows; ++k) {
    const double share = k / (rows - 1.0), deg = (1 - share) * a.min_deg + share * a.max_deg;
    const Skin skin = skin_at(linkage, deg, rest);
    if (!skin.reached || !std::isfinite(skin.x)) return {};
    x.push_back(skin.x), angle.push_back(deg), slope.push_back(1 / skin.per_deg);
  }
  if (x.back() < x.front())
    for (auto* column : {&x, &angle, &slope}) std::reverse(column->begin(), column->end());
  if (std::adjacent_find(x.begin(), x.end(), std::greater_equal<>()) != x.end()) return {};
  return motion::Table(x, angle, slope);
}

std::optional<motion::Table> table_from(const show::Measured& measured) {
  std::vector<double> x, angle;
  for (const auto& row : measured.rows) x.push_back(row.x), angle.push_back(row.angle_deg);
  if (show::has_errors(motion::check(x, angle))) return {};
  return motion::Table(x, angle);
}

// Builds the map part by part; what a part refers to by a name that is not there stays out.
class Mapper {
 public:
  explicit Mapper(const show::Rig& rig) : rig_(rig), map_(resting(rig)) {}

  RigMap map() && {
    eyes();
    for (const show::Mapping& mapping : rig_.mappings) add(mapping);
    for (std::size_t i = 0; i < rig_.constraints.size(); ++i) add(rig_.constraints[i], static_cast<int>(i));
    influences();
    return std::move(map_);
  }

 private:
  const show::Actuator& part(int actuator) const { return rig_.actuators[at(actuator)]; }

  // -1 for one that another mapping has taken, so that there are never more axes than actuators.
  int take(const std::string& name) {
    const int a = actuator_index(rig_, name);
    return a < 0 || std::exchange(taken_[at(a)], true) ? -1 : a;
  }

  void eyes() {
    if (!rig_.gaze) return;
    const RigMap::Eyes eyes{control_index(rig_, rig_.gaze->yaw), control_index(rig_, rig_.gaze->distance), rig_.gaze->ipd_mm / 2};
    if (eyes.yaw >= 0 && eyes.distance >= 0) map_.eyes = eyes;
  }

  int input(const std::string& name) const {
    if (map_.eyes && name == rig_.gaze->left) return map_.controls;
    if (map_.eyes && name == rig_.gaze->right) return map_.controls + 1;
    return control_index(rig_, name);
  }

  int add(const show::Axis& axis) {
    RigMap::Axis added{axis.offset, static_cast<int>(map_.terms.size()), 0, -1, 0};
    for (const show::Term& term : axis.terms)
      if (const int i = input(term.control); i >= 0) map_.terms.push_back({i, term.weight});
    added.end_term = static_cast<int>(map_.terms.size());
    if (axis.closing) added.closing = control_index(rig_, axis.closing->control), added.closed_at = axis.closing->value;
    map_.axes.push_back(added);
    return static_cast<int>(map_.axes.size()) - 1;
  }

  void face(const show::Axis& axis, int index, double rest, double one_end, double other_end) {
    if (const auto role = show::parse_role(axis.role))
      map_.face.push_back({*role, index, rest, std::min(one_end, other_end), std::max(one_end, other_end)});
  }

  void add(const show::Mapping& m) {
    std::visit([&](const auto& response) { add(m, response); }, m.response);
  }

  void add(const show::Mapping& m, const show::Straight&) {
    for (std::size_t n = 0; n < std::min(m.axes.size(), m.actuators.size()); ++n) {
      const int a = take(m.actuators[n]);
      if (a < 0) continue;
      map_.straight.push_back({add(m.axes[n]), a});
      face(m.axes[n], map_.straight.back().axis, part(a).rest_deg, part(a).min_deg, part(a).max_deg);
    }
  }

  template <class Curve>
  void add(const show::Mapping& m, const Curve& response) {
    const int a = m.axes.size() == 1 && m.actuators.size() == 1 ? take(m.actuators[0]) : -1;
    if (a < 0) return;
    auto table = table_of(response, part(a));
    if (!table) return;
    const auto x_of = [&](double angle) { return table->inverse(angle).value; };
    const int axis = add(m.axes[0]);
    face(m.axes[0], axis, x_of(part(a).rest_deg), x_of(part(a).min_deg), x_of(part(a).max_deg));
    map_.bent.push_back({axis, a, std::move(*table)});
  }

  void add(const show::Mapping& m, const show::Differential& d) {
    if (m.axes.size() != 2 || m.actuators.size() != 2 || show::has_errors(motion::check(d))) return;
    const int first = take(m.actuators[0]), second = take(m.actuators[1]);
    if (first < 0 || second < 0) return;
    const int axis = add(m.axes[0]);
    add(m.axes[1]);
    map_.coupled.push_back({axis, first, second, d});
    // How far each motion goes alone: until the first of the two servos is at an end.
    const auto room = [&](int a, double gain) {
      const double one = (part(a).min_deg - part(a).rest_deg) / gain, other = (part(a).max_deg - part(a).rest_deg) / gain;
      return std::pair{std::min(one, other), std::max(one, other)};
    };
    for (const int n : {0, 1}) {
      const double gain = n == 0 ? d.pitch_gain : d.roll_gain;
      const auto one = room(first, gain), other = room(second, n == 0 ? gain : -gain);
      face(m.axes[at(n)], axis + n, 0, std::max(one.first, other.first), std::min(one.second, other.second));
    }
  }

  void add(const show::Mapping& m, const show::TwoRodPlate& plate) {
    if (m.axes.size() != 2 || m.actuators.size() != 2 || show::has_errors(motion::check(plate))) return;
    const auto servos = plate_servos(rig_, m);
    if (!servos) return;
    const motion::SolvedPose rest = motion::pose_deg(plate, {(*servos)[0].rest_deg, (*servos)[1].rest_deg});
    if (!rest.reached) return;
    const int first = take(m.actuators[0]), second = take(m.actuators[1]);
    if (first < 0 || second < 0) return;
    const int axis = add(m.axes[0]);
    add(m.axes[1]);
    map_.plates.push_back({axis, first, second, plate, rest.pose});
    const motion::PoseRange room = motion::reach_deg(plate, *servos);
    face(m.axes[0], axis, 0, room.min.pitch_deg, room.max.pitch_deg);
    face(m.axes[1], axis + 1, 0, room.min.roll_deg, room.max.roll_deg);
  }

  void add(const show::Constraint& constraint, int index) {
    std::vector<motion::RowTerm> terms;
    for (const auto& term : constraint.terms) {
      const int a = actuator_index(rig_, term.actuator);
      if (a < 0) return;
      terms.push_back({a, term.weight});
    }
    const auto row = motion::row_of(terms, constraint.at_least_deg);
    if (!row || map_.rows.size() == show::kMaxConstraints) return;
    map_.rows.push_back(*row), map_.constraint_of.push_back(index);
  }

  void influences() {
    Tick tick;
    for (int c = 0; c < map_.controls; ++c) tick.control[at(c)] = rig_.controls[at(c)].rest;
    aim(map_, tick);
    const auto rest_deg = tick.target_deg;
    for (int c = 0; c < map_.controls; ++c) {
      const show::Control& control = rig_.controls[at(c)];
      std::array<double, show::kMaxActuators> most{}, per_unit{};
      for (const double end : {control.min, control.max}) {
        if (end == control.rest) continue;
        tick.control[at(c)] = end;
        aim(map_, tick);
        for (std::size_t a = 0; a < map_.rest_deg.size(); ++a) {
          const double moved = tick.target_deg[a] - rest_deg[a];
          if (std::abs(moved) > most[a]) most[a] = std::abs(moved), per_unit[a] = moved / (end - control.rest);
        }
      }
      tick.control[at(c)] = control.rest;
      for (std::size_t a = 0; a < map_.rest_deg.size(); ++a)
        if (most[a] > kStill_deg) map_.influences.push_back({c, static_cast<int>(a), per_unit[a]});
    }
  }

  const show::Rig& rig_;
  RigMap map_;
  std::array<bool, show::kMaxActuators> taken_{};
};

}  // namespace

int actuator_index(const show::Rig& rig, const std::string& name) noexcept { return index_of(rig.actuators, name, show::kMaxActuators); }
int control_index(const show::Rig& rig, const std::string& name) noexcept { return index_of(rig.controls, name, show::kMaxControls); }

RigMap resting(const show::Rig& rig) {
  RigMap map;
  map.controls = static_cast<int>(std::min<std::size_t>(rig.controls.size(), show::kMaxControls));
  for (const auto& a : rig.actuators)
    if (map.rest_deg.size() < show::kMaxActuators) map.rest_deg.push_back(a.rest_deg);
  return map;
}

RigMap map_of(const show::Rig& rig) { return Mapper(rig).map(); }

std::optional<motion::Table> table_of(const show::Response& response, const show::Actuator& actuator, int rows) {
  if (const auto* measured = std::get_if<show::Measured>(&response)) return table_from(*measured);
  if (const auto* linkage = std::get_if<show::SliderCrank>(&response)) return sampled(*linkage, actuator, rows);
  if (const auto* linkage = std::get_if<show::FourBar>(&response)) return sampled(*linkage, actuator, rows);
  return {};
}

AxisRange range_of(const show::Rig& rig, const show::Axis& axis) {
  const auto control = [&](const std::string& name) -> AxisRange {
    if (const int c = control_index(rig, name); c >= 0) return {rig.controls[at(c)].min, rig.controls[at(c)].max};
    // An eye's yaw: at most the gaze's own, and what it squints by at the nearest.
    const int yaw = rig.gaze && (name == rig.gaze->left || name == rig.gaze->right) ? control_index(rig, rig.gaze->yaw) : -1;
    const int far = yaw < 0 ? -1 : control_index(rig, rig.gaze->distance);
    if (far < 0) return {};
    const double squint_deg = std::atan2(rig.gaze->ipd_mm / 2, std::max(rig.controls[at(far)].min, 0.0)) * 180 / std::numbers::pi;
    return {rig.controls[at(yaw)].min - squint_deg, rig.controls[at(yaw)].max + squint_deg};
  };
  AxisRange range{axis.offset, axis.offset};
  for (const show::Term& term : axis.terms) {
    const auto [min, max] = control(term.control);
    range.min += std::min(term.weight * min, term.weight * max), range.max += std::max(term.weight * min, term.weight * max);
  }
  if (axis.closing) range = {std::min(range.min, axis.closing->value), std::max(range.max, axis.closing->value)};
  return range;
}

std::optional<motion::PlateServos> plate_servos(const show::Rig& rig, const show::Mapping& mapping) {
  motion::PlateServos servos;
  for (std::size_t n = 0; n < servos.size(); ++n) {
    const int a = n < mapping.actuators.size() ? actuator_index(rig, mapping.actuators[n]) : -1;
    if (a < 0) return {};
    const show::Actuator& actuator = rig.actuators[at(a)];
    servos[n] = {actuator.name, {actuator.min_deg, actuator.max_deg}, actuator.rest_deg};
  }
  return servos;
}

void skin_of(const RigMap& map, const double* angle_deg, double* x) noexcept {
  for (const auto& part : map.straight) x[part.axis] = angle_deg[part.actuator];
  for (const auto& part : map.bent) x[part.axis] = part.angle_deg.inverse(angle_deg[part.actuator]).value;
  for (const auto& part : map.coupled) {
    const auto away = [&](int a) { return angle_deg[a] - map.rest_deg[at(a)]; };
    const motion::PitchRoll pose = motion::pose_deg(part.gains, {away(part.first), away(part.second)});
    x[part.axis] = pose.pitch_deg, x[part.axis + 1] = pose.roll_deg;
  }
  for (const auto& part : map.plates) {
    const motion::PitchRoll pose = motion::pose_deg(part.plate, {angle_deg[part.first], angle_deg[part.second]}).pose;
    x[part.axis] = pose.pitch_deg - part.rest.pitch_deg, x[part.axis + 1] = pose.roll_deg - part.rest.roll_deg;
  }
}

show::FacePose face_of(const RigMap& map, const double* angle_deg) noexcept {
  show::FacePose pose;
  std::array<double, show::kMaxActuators> x;
  skin_of(map, angle_deg, x.data());
  for (const auto& part : map.face) {
    const double away = x[at(part.axis)] - part.rest, room = away >= 0 ? part.max - part.rest : part.rest - part.min;
    pose[part.role] = {true, room > 0 ? away / room : 0, x[at(part.axis)]};
  }
  return pose;
}

}  // namespace mien::perform
