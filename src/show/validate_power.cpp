#include <array>
#include <cmath>

#include "show/report.hpp"

namespace mien::show {
namespace {

// What a figure can be on anything that is a hobby servo, by orders of magnitude: slips of a decimal point or of a unit are found, and
// whatever computes with the figure later stays within what a double can hold.
struct Bounds {
  double ServoFigures::*figure;
  const char* name;
  double low, high;
  const char* unit;
};
constexpr std::array<Bounds, 9> kBounds{{
    {&ServoFigures::voltage_v, "voltage_v", 1, 60, "V"},
    {&ServoFigures::no_load_deg_s, "no_load_deg_s", 1, 10'000, "deg/s"},
    {&ServoFigures::stall_torque_n_m, "stall_torque_n_m", 0.001, 1000, "N m"},
    {&ServoFigures::stall_current_a, "stall_current_a", 0.01, 1000, "A"},
    {&ServoFigures::idle_current_a, "idle_current_a", 0, 10, "A"},
    {&ServoFigures::friction_n_m, "friction_n_m", 0, 100, "N m"},
    {&ServoFigures::inertia_kg_m2, "inertia_kg_m2", 1e-9, 10, "kg m2"},
    {&ServoFigures::full_drive_error_deg, "full_drive_error_deg", 0.01, 180, "deg"},
    {&ServoFigures::dead_band_deg, "dead_band_deg", 0, 45, "deg"},
}};

class PowerCheck {
 public:
  PowerCheck(const Rig& rig, Report& report) : rig_(rig), report_(report), kinds_(names_of(rig.servos)) {}

  void run() {
    check_names(report_, "servo", kinds_, "");
    if (rig_.servos.size() > kMaxServoKinds)
      report_.error("", counted(rig_.servos.size(), "servo", "servos") + ": a rig can have " + std::to_string(kMaxServoKinds) + " kinds",
                    "Name each kind once; actuators share it.");
    for (std::size_t i = 0; i < rig_.servos.size(); ++i) kind(rig_.servos[i].figures, titled("servo", rig_.servos[i].name, i));
    for (std::size_t i = 0; i < rig_.actuators.size(); ++i) actuator(rig_.actuators[i], titled("actuator", rig_.actuators[i].name, i));
    for (std::size_t b = 0; b < rig_.boards.size(); ++b) {
      const auto& rails = rig_.boards[b].rails;
      const std::string board = titled("board", rig_.boards[b].name, b);
      if (rails.size() > kMaxRailsPerBoard)
        report_.error(board, counted(rails.size(), "rail", "rails"), "Keep to " + std::to_string(kMaxRailsPerBoard) + " rails a board.");
      for (std::size_t i = 0; i < rails.size(); ++i) rail(rails[i], board + ", " + titled("rail", rails[i].name, i));
    }
  }

 private:
  bool within(const std::string& place, double value, double low, double high, const std::string& unit, const std::string& cure) {
    if (value >= low && value <= high) return true;
    report_.error(place, "is " + number_text(value) + (unit.empty() ? "" : " " + unit),
                  "Give " + number_text(low) + " to " + number_text(high) + (unit.empty() ? "" : " " + unit) + cure);
    return false;
  }

  void kind(const ServoFigures& f, const std::string& title) {
    bool good = true;
    for (const Bounds& b : kBounds)
      good &= within(title + ", " + b.name, f.*b.figure, b.low, b.high, b.unit, ", from its data sheet, or leave it out for a usual one where it may be.");
    if (good && f.stall_current_a < f.idle_current_a)
      report_.error(title + ", stall_current_a", "is " + number_text(f.stall_current_a) + " A, less than the idle current", "Give what it draws when it is held still at full drive.");
  }

  void actuator(const Actuator& a, const std::string& title) {
    if (!a.servo.empty())
      report_.must_be_known(kinds_, "servo", a.servo, title + ", servo", "Add the kind of servo to the rig's servos.");
    else if (!rig_.servos.empty())
      report_.warning(title + ", servo", "has no kind of servo, so the current of a usual micro servo is taken", "Name one of the rig's servos.");
    within(title + ", skin_n_m_per_deg", a.skin_n_m_per_deg, 0, 100, "N m/deg", "; 0.002 is usual for a lip.");
    within(title + ", load_kg_m2", a.load_kg_m2, 0, 10, "kg m2", "; a jaw of 100 g at 5 cm has 0.00025.");
  }

  void rail(const Rail& rail, const std::string& title) {
    rating(title + ", rating_a", rail.rating_a, "Give the current that the supply is rated for.");
    if (rail.rating_a == 0)
      report_.warning(title + ", rating_a", "the rail has no rating, so whether its supply carries the servos can't be judged", "Give the current that the supply is rated for; `mien power` tells what would do.");
    rating(title + ", connector_a", rail.connector_a, "Give the current that the weakest connector is rated for, or leave it out.");
    rating(title + ", fuse_a", rail.fuse_a, "Give what is printed on the fuse, or leave it out.");
    if (rail.voltage_v != 0) within(title + ", voltage_v", rail.voltage_v, 1, 60, "V", ", or leave it out.");
    if (rail.governed && rail.rating_a == 0)
      report_.error(title + ", governed", "a rail with no rating can't be governed", "Give its rating_a, or take 'governed' out.");
    if (rail.wire) wire(*rail.wire, title + ", wire");
  }

  void rating(const std::string& place, double value, const std::string& cure) {
    if (report_.usable(place, value) && value < 0) report_.error(place, "is " + number_text(value) + " A", cure);
  }

  void wire(const Wire& wire, const std::string& title) {
    if (wire.awg != 0 && wire.area_mm2 != 0)
      report_.error(title, "has both a gauge and an area", "Keep the one that is printed on the wire.");
    else if (wire.awg != 0) within(title + ", awg", wire.awg, 1, 40, "", ", or area_mm2 instead.");
    else within(title + ", area_mm2", wire.area_mm2, 0.001, 100, "mm2", ", or awg instead.");
    within(title + ", length_m", wire.length_m, 0.001, 100, "m", ", one way.");
    within(title + ", temperature_c", wire.temperature_c, -50, 150, "degrees Celsius", ".");
  }

  const Rig& rig_;
  Report& report_;
  std::vector<std::string> kinds_;
};

}  // namespace

void validate_power(const Rig& rig, Report& report) { PowerCheck(rig, report).run(); }

}  // namespace mien::show
