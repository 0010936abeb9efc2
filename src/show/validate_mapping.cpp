#include <array>
#include <cmath>
#include <map>
#include <set>

#include "show/report.hpp"
#include "show/roles.hpp"

namespace mien::show {
namespace {

constexpr double kGazeMost_deg = 89;  // beyond it both eyes would look past the head's side
constexpr double kIpdMost_mm = 1000;

class MappingCheck {
 public:
  MappingCheck(const Rig& rig, Report& report)
      : rig_(rig), report_(report), actuators_(names_of(rig.actuators)), controls_(names_of(rig.controls)), inputs_(controls_) {
    if (rig.gaze) inputs_.insert(inputs_.end(), {rig.gaze->left, rig.gaze->right});
  }

  void run() {
    if (rig_.gaze) gaze(*rig_.gaze);
    for (std::size_t i = 0; i < rig_.mappings.size(); ++i) mapping(rig_.mappings[i], mapping_title(i));
    every_actuator_mapped_once();
    roles_once();
    constraints();
  }

 private:
  const Control* control(const std::string& name) const noexcept {
    const auto found = std::find_if(rig_.controls.begin(), rig_.controls.end(), [&](const Control& c) { return c.name == name; });
    return found == rig_.controls.end() ? nullptr : &*found;
  }

  void gaze(const Gaze& gaze) {
    for (const auto& [field, name] : {std::pair{"gaze, yaw", &gaze.yaw}, std::pair{"gaze, pitch", &gaze.pitch}, std::pair{"gaze, distance", &gaze.distance}})
      report_.must_be_known(controls_, "control", *name, field, "Add the control to the rig's controls.");
    if (const Control* yaw = control(gaze.yaw); yaw && (yaw->min < -kGazeMost_deg || yaw->max > kGazeMost_deg))
      report_.error("control " + quoted(gaze.yaw), "turns the gaze beyond 89 deg to a side", "Keep its min and max within -89 and 89 deg.");
    if (const Control* distance = control(gaze.distance); distance && !(distance->min > 0))
      report_.error("control " + quoted(gaze.distance) + ", min", "is " + number_text(distance->min) + " mm: eyes can't look at a point between them",
                    "Give the nearest point that they look at, as in 150.");
    if (!(gaze.ipd_mm > 0 && gaze.ipd_mm <= kIpdMost_mm))
      report_.error("gaze, ipd_mm", "is " + number_text(gaze.ipd_mm) + " mm", "Measure between the eyes' axes; 63 is usual.");
    eye_name("gaze, left", gaze.left, gaze.right);
    eye_name("gaze, right", gaze.right, gaze.left);
  }

  void eye_name(const std::string& place, const std::string& name, const std::string& other) {
    const std::string cure = "Give the eye a name of its own; terms of a mapping use it like a control's.";
    if (name.empty()) report_.error(place, "has no name", cure);
    else if (has_control_character(name)) report_.error(place, "has a control character in it", "Type the name again.");
    else if (name == other || control(name)) report_.error(place, quoted(name) + " is the name of " + (name == other ? "both eyes" : "a control"), cure);
  }

  std::string mapping_title(std::size_t i) const {
    const auto& driven = rig_.mappings[i].actuators;
    return driven.empty() ? titled("mapping", "", i) : "mapping of " + quoted(driven.front());
  }

  void mapping(const Mapping& m, const std::string& title) {
    for (const std::string& name : m.actuators)
      report_.must_be_known(actuators_, "actuator", name, title, "Add the actuator to the rig's actuators.");
    if (m.axes.size() != m.actuators.size() || m.axes.empty() || m.axes.size() > 2) {
      report_.error(title, counted(m.axes.size(), "axis", "axes") + " for " + counted(m.actuators.size(), "actuator", "actuators"),
                    "Give as many axes as actuators: one of each, or two for a linkage that couples two servos.");
      return;
    }
    const bool two = couples(m.response);
    if (two != (m.axes.size() == 2) && !std::holds_alternative<Straight>(m.response))
      report_.error(title, counted(m.axes.size(), "axis", "axes") + " for a response that has " + (two ? "two" : "one"),
                    two ? "Give both axes, and both actuators." : "Give each actuator a mapping of its own.");
    for (std::size_t i = 0; i < m.axes.size(); ++i) axis(m.axes[i], title + ", axis " + std::to_string(i + 1) + " (counted from 1)");
    if (const auto* measured = std::get_if<Measured>(&m.response); measured && measured->rows.size() > kMaxMeasuredRows)
      report_.error(title, counted(measured->rows.size(), "measured row", "measured rows"), "Leave out what lies between others: 256 are enough.");
  }

  void axis(const Axis& axis, const std::string& title) {
    if (!axis.role.empty() && !parse_role(axis.role)) {
      std::vector<std::string> roles;
      for (int r = 0; r < kRoleCount; ++r) roles.emplace_back(name(static_cast<Role>(r)));
      report_.warning(title + ", role", quoted(axis.role) + " is no part of a face that the preview can draw", suggestion(axis.role, roles));
    }
    if (axis.terms.size() > kMaxControls) {
      report_.error(title, counted(axis.terms.size(), "term", "terms"), "Name each control once at most.");
      return;
    }
    report_.usable(title + ", offset", axis.offset);
    for (const Term& term : axis.terms) {
      report_.must_be_known(inputs_, "control", term.control, title, "Add the control to the rig's controls.");
      report_.usable(title + ", weight of " + quoted(term.control), term.weight);
    }
    if (axis.closing) closing(*axis.closing, title + ", closing");
  }

  void closing(const Closing& closing, const std::string& title) {
    report_.must_be_known(controls_, "control", closing.control, title, "Add the control to the rig's controls.");
    report_.usable(title + ", value", closing.value);
    if (const Control* c = control(closing.control); c && (c->min < 0 || c->max > 1))
      report_.error(title, quoted(c->name) + " goes from " + number_text(c->min) + " to " + number_text(c->max) + ", but a closing is a share",
                    "Give the control the range 0 to 1, or close by another.");
  }

  void every_actuator_mapped_once() {
    std::map<std::string, int> times;
    for (const Mapping& m : rig_.mappings) {
      for (const std::string& name : m.actuators) ++times[name];
    }
    for (std::size_t i = 0; i < rig_.actuators.size(); ++i) {
      const std::string place = titled("actuator", rig_.actuators[i].name, i);
      const int mapped = times[rig_.actuators[i].name];
      if (mapped == 0) report_.error(place, "no mapping drives it", "Add a mapping for it.");
      if (mapped > 1)
        report_.error(place, counted(static_cast<std::size_t>(mapped), "mapping drives it", "mappings drive it"), "Keep one of them.");
    }
  }

  void roles_once() {
    std::set<std::string> seen;
    for (std::size_t i = 0; i < rig_.mappings.size(); ++i) {
      for (const Axis& axis : rig_.mappings[i].axes) {
        if (axis.role.empty() || seen.insert(axis.role).second) continue;
        report_.warning(mapping_title(i) + ", role", quoted(axis.role) + " is moved by another axis too; the preview draws one of them",
                        "Give each role to one axis.");
      }
    }
  }

  void constraints() {
    if (rig_.constraints.size() > kMaxConstraints)
      report_.error("", counted(rig_.constraints.size(), "constraint", "constraints") + ": a rig can have " + std::to_string(kMaxConstraints),
                    "Take out what is not needed.");
    check_names(report_, "constraint", names_of(rig_.constraints), "");
    for (std::size_t i = 0; i < rig_.constraints.size(); ++i) constraint(rig_.constraints[i], titled("constraint", rig_.constraints[i].name, i));
  }

  void constraint(const Constraint& c, const std::string& title) {
    report_.usable(title + ", at_least_deg", c.at_least_deg);
    if (c.terms.empty() || c.terms.size() > kMaxConstraintTerms)
      report_.error(title, counted(c.terms.size(), "term", "terms"), "Give one to eight, as in \"1 lid_upper\" and \"-1 lid_lower\".");
    std::set<std::string> seen;
    for (const Constraint::Term& term : c.terms) {
      const std::string place = title + ", weight of " + quoted(term.actuator);
      report_.must_be_known(actuators_, "actuator", term.actuator, title, "Add the actuator to the rig's actuators.");
      if (report_.usable(place, term.weight) && term.weight == 0) report_.error(place, "is 0, so the term says nothing", "Give a weight, or take the term out.");
      if (!seen.insert(term.actuator).second) report_.error(title, quoted(term.actuator) + " is in it twice", "Add the two weights up.");
    }
  }

  const Rig& rig_;
  Report& report_;
  std::vector<std::string> actuators_, controls_, inputs_;
};

}  // namespace

void validate_mapping(const Rig& rig, Report& report) { MappingCheck(rig, report).run(); }

}  // namespace mien::show
