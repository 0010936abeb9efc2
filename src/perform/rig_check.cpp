#include "perform/rig_check.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <utility>

#include "motion/linkage.hpp"
#include "perform/rig_map.hpp"
#include "perform/tick.hpp"
#include "show/text.hpp"

namespace mien::perform {
namespace {

constexpr double kRestTolerance_deg = 1;
constexpr double kFarthest_deg = 1e6;   // validate() lets nothing lie beyond
constexpr double kRounding_deg = 1e-6;  // a rest at the very end of travel may be missed by the rounding of its sum

constexpr std::array kNames{"straight", "measured", "slider-crank", "four-bar", "differential", "two-rod plate"};
static_assert(kNames.size() == std::variant_size_v<show::Response>);

bool usable_travel(const show::Actuator& a) noexcept {
  return a.min_deg >= -kFarthest_deg && a.max_deg <= kFarthest_deg && a.min_deg < a.max_deg && a.rest_deg >= a.min_deg && a.rest_deg <= a.max_deg;
}

std::string degrees(double value) { return show::number_text(std::round(value * 1000) / 1000) + " deg"; }

class RigCheck {
 public:
  RigCheck(const show::Rig& rig, const std::string& file) : rig_(rig), file_(file) {}

  show::Findings findings() && {
    for (const show::Mapping& m : rig_.mappings) response(m);
    constraints();
    if (!show::has_errors(findings_)) rest_pose();
    return std::move(findings_);
  }

 private:
  void add(show::Findings more, const std::string& place) {
    for (show::Finding& f : more) {
      f.file = file_;
      if (!place.empty()) f.place = place;
      findings_.push_back(std::move(f));
    }
  }

  const show::Actuator* moved(const show::Mapping& m) const {
    const int a = m.actuators.empty() ? -1 : actuator_index(rig_, m.actuators.front());
    return a < 0 ? nullptr : &rig_.actuators[static_cast<std::size_t>(a)];
  }

  void response(const show::Mapping& m) {
    const show::Actuator* a = moved(m);
    if (!a || !usable_travel(*a)) return;
    const std::string place = "mapping of '" + a->name + "', " + kNames[m.response.index()];
    if (const auto* plate = std::get_if<show::TwoRodPlate>(&m.response)) return add(check_plate(*plate, m), place);
    show::Findings found = std::visit([&](const auto& r) { return check(r, *a); }, m.response);
    const bool bent = !std::holds_alternative<show::Straight>(m.response) && !show::couples(m.response);
    if (bent && !show::has_errors(found) && !table_of(m.response, *a))
      found.push_back({show::Severity::error, "", "", "the skin turns through more than half a turn, or not all one way, over the servo's travel",
                       "Narrow the travel of the servo"});
    add(std::move(found), place);
  }

  static show::Findings check(const show::Straight&, const show::Actuator&) { return {}; }
  static show::Findings check(const show::Differential& d, const show::Actuator&) { return motion::check(d); }
  static show::Findings check(const show::TwoRodPlate& plate, const show::Actuator&) { return motion::check(plate); }
  template <class Linkage>
  static show::Findings check(const Linkage& linkage, const show::Actuator& a) { return motion::check(linkage, motion::Travel{a.min_deg, a.max_deg}); }

  // Where its axes or servos are not two, validate() says so.
  show::Findings check_plate(const show::TwoRodPlate& plate, const show::Mapping& m) const {
    const auto servos = plate_servos(rig_, m);
    if (!servos || m.axes.size() != 2 || !usable_travel(rig_.actuators[static_cast<std::size_t>(actuator_index(rig_, m.actuators[1]))])) return motion::check(plate);
    const AxisRange pitch = range_of(rig_, m.axes[0]), roll = range_of(rig_, m.axes[1]);
    return motion::check(plate, *servos, {{pitch.min, roll.min}, {pitch.max, roll.max}});
  }

  static show::Findings check(const show::Measured& measured, const show::Actuator& a) {
    std::vector<double> x, angle;
    for (const auto& row : measured.rows) x.push_back(row.x), angle.push_back(row.angle_deg);
    show::Findings found = motion::check(x, angle);
    if (show::has_errors(found)) return found;
    const auto [low, high] = std::minmax(angle.front(), angle.back());
    if (a.rest_deg < low || a.rest_deg > high) {
      found.push_back({show::Severity::error, "", "", "the rows go from " + degrees(low) + " to " + degrees(high) + ", but the servo rests at " + degrees(a.rest_deg),
                       "Measure beyond the rest on both sides"});
    } else if (low > a.min_deg + kRestTolerance_deg || high < a.max_deg - kRestTolerance_deg) {
      found.push_back({show::Severity::warning, "", "", "the rows go from " + degrees(low) + " to " + degrees(high) + ", but the servo's travel is " + degrees(a.min_deg) + " to " + degrees(a.max_deg),
                       "Measure up to the ends of the travel, or narrow it"});
    }
    return found;
  }

  // Only where every travel is one; a row over another would mean nothing.
  void constraints() {
    std::vector<double> low, high, rest;
    std::vector<std::string> actuators, names;
    for (const auto& a : rig_.actuators) {
      if (!usable_travel(a) || actuators.size() == show::kMaxActuators) return;
      low.push_back(a.min_deg), high.push_back(a.max_deg), rest.push_back(a.rest_deg), actuators.push_back("'" + a.name + "'");
    }
    const RigMap map = map_of(rig_);
    for (const int c : map.constraint_of) names.push_back("'" + rig_.constraints[static_cast<std::size_t>(c)].name + "'");
    if (!map.rows.empty()) add(motion::check_rows(map.rows, low, high, rest, names, actuators), "");
  }

  void rest_pose() {
    const RigMap map = map_of(rig_);
    Tick rest;
    for (int c = 0; c < map.controls; ++c) rest.control[static_cast<std::size_t>(c)] = rig_.controls[static_cast<std::size_t>(c)].rest;
    aim(map, rest);
    for (std::size_t i = 0; i < map.rest_deg.size(); ++i) {
      const show::Actuator& a = rig_.actuators[i];
      const double angle = rest.target_deg[i];
      if (!usable_travel(a) || !std::isfinite(angle)) continue;
      const std::string what = "with every control at rest '" + a.name + "' is sent to " + show::number_text(angle) + " deg, ";
      const std::string cure = "Change the offset, the weights or the controls' rest.";
      if (angle < a.min_deg - kRounding_deg || angle > a.max_deg + kRounding_deg) {
        findings_.push_back({show::Severity::error, file_, "mapping of '" + a.name + "'",
                             what + "outside its travel of " + show::number_text(a.min_deg) + " to " + show::number_text(a.max_deg) + " deg", cure});
      } else if (std::abs(angle - a.rest_deg) > kRestTolerance_deg) {
        findings_.push_back({show::Severity::warning, file_, "mapping of '" + a.name + "'", what + "but its rest_deg is " + show::number_text(a.rest_deg), cure});
      }
    }
  }

  const show::Rig& rig_;
  const std::string& file_;
  show::Findings findings_;
};

}  // namespace

show::Findings check_rig(const show::Rig& rig, const std::string& file) { return RigCheck(rig, file).findings(); }

std::optional<show::Finding> refusal(const show::Rig& rig, const std::string& file, show::Findings& notes) {
  show::Findings findings = check_rig(rig, file);
  const auto first = std::find_if(findings.begin(), findings.end(), [](const auto& f) { return f.severity == show::Severity::error; });
  std::optional<show::Finding> why;
  if (first != findings.end()) {
    why = std::move(*first);
    findings.erase(first);
  }
  notes.insert(notes.end(), std::make_move_iterator(findings.begin()), std::make_move_iterator(findings.end()));
  return why;
}

}  // namespace mien::perform
