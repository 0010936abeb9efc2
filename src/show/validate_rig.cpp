#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <map>
#include <set>

#include "show/report.hpp"
#include "show/roles.hpp"
#include "show/validate.hpp"

namespace mien::show {
namespace {

constexpr double kPulseLowest_us = 400, kPulseHighest_us = 2600;
constexpr double kWatchdogLongest_ms = 60'000;

/// Every one of them, and not only up to the first that is false: each has said what is wrong.
bool all(std::initializer_list<bool> each) {
  return std::all_of(each.begin(), each.end(), [](bool one) { return one; });
}

class RigCheck {
 public:
  RigCheck(const Rig& rig, const std::string& file)
      : rig_(rig),
        groups_(names_of(rig.groups)),
        boards_(names_of(rig.boards)),
        actuators_(names_of(rig.actuators)),
        controls_(names_of(rig.controls)),
        report_(file) {}

  Findings findings() && {
    rig_itself();
    names("group", groups_, "");
    names("board", boards_, "");
    names("actuator", actuators_, "");
    names("control", controls_, "");
    for (std::size_t i = 0; i < rig_.boards.size(); ++i) board(rig_.boards[i], titled("board", rig_.boards[i].name, i));
    addresses();
    for (std::size_t i = 0; i < rig_.actuators.size(); ++i)
      actuator(rig_.actuators[i], titled("actuator", rig_.actuators[i].name, i));
    shared_outputs();
    for (std::size_t i = 0; i < rig_.controls.size(); ++i)
      control(rig_.controls[i], titled("control", rig_.controls[i].name, i));
    validate_power(rig_, report_);
    validate_lines(rig_, report_);
    validate_mapping(rig_, report_);
    return std::move(report_).take();
  }

 private:
  void positive(const std::string& place, double value, const std::string& unit) {
    if (report_.usable(place, value) && value <= 0) {
      report_.error(place, "is " + number_text(value) + " " + unit,
                    "Give a limit above zero: without one nothing could move safely.");
    }
  }

  void within(const std::string& place, double value, double low, double high, const std::string& cure) {
    if (!std::isfinite(value) || value < low || value > high) report_.error(place, "is " + number_text(value), cure);
  }

  void count(const std::string& what, std::size_t number, int most) {
    if (number > static_cast<std::size_t>(most)) {
      report_.error("", counted(number, what, what + "s") + ": a rig can have " + std::to_string(most),
                    "Take out what is not needed, or split the head into two rigs.");
    }
  }

  void rig_itself() {
    if (rig_.name.empty()) report_.warning("name", "the rig has no name", "Give it one.");
    if (has_control_character(rig_.name))
      report_.error("name", "has a control character in it", "Type the name again.");
    if (rig_.actuators.empty())
      report_.warning("actuators", "the rig has no actuators, so nothing will move", "Add the head's servos.");
    within("tick_hz", rig_.tick_hz, 10, 1000, "Give 10 to 1000 ticks a second; 100 is usual.");
    within("latch_lead_ms", rig_.latch_lead_ms, 0, 500, "Give 0 to 500 ms; 20 is usual.");
    if (!(rig_.creep_share > 0 && rig_.creep_share <= 1)) {
      report_.error("creep_share", "is " + number_text(rig_.creep_share),
                    "Give a share of the velocity limit above 0 and up to 1; 0.15 is usual.");
    }
    within("tolerance_deg", rig_.tolerance_deg, 0.01, 90, "Give 0.01 to 90 deg; 1 is usual.");
    within("tolerance_ms", rig_.tolerance_ms, 0, 500, "Give 0 to 500 ms; 20 is usual.");
    within("link_latency_ms", rig_.link_latency_ms, 0, 500, "Give 0 to 500 ms, as measured.");
    const std::string cure = "Give a time above 0 and up to 60000 ms.";
    for (const auto& [place, value] : {std::pair{"watchdog, hold_after_ms", rig_.watchdog.hold_after_ms},
                                       std::pair{"watchdog, ramp_after_ms", rig_.watchdog.ramp_after_ms},
                                       std::pair{"watchdog, release_after_ms", rig_.watchdog.release_after_ms}}) {
      if (!(value > 0 && value <= kWatchdogLongest_ms)) report_.error(place, "is " + number_text(value) + " ms", cure);
    }
    count("board", rig_.boards.size(), kMaxBoards);
    count("actuator", rig_.actuators.size(), kMaxActuators);
    count("control", rig_.controls.size(), kMaxControls);
  }

  void names(const std::string& kind, const std::vector<std::string>& all, const std::string& owner) {
    check_names(report_, kind, all, owner);
  }

  void board(const Board& board, const std::string& title) {
    within(title + ", outputs", board.outputs, 1, kMaxOutputsPerBoard,
           "Give 1 to " + std::to_string(kMaxOutputsPerBoard) + " outputs.");
    names("rail", names_of(board.rails), title + ", ");
  }

  void addresses() {
    std::map<int, std::string> taken;
    const int boards = static_cast<int>(rig_.boards.size());
    for (std::size_t i = 0; i < rig_.boards.size(); ++i) {
      const Board& board = rig_.boards[i];
      const std::string place = titled("board", board.name, i) + ", address";
      const auto [other, fresh] = taken.emplace(board.address, board.name);
      if (!fresh) {
        report_.error(place,
                      "is " + std::to_string(board.address) + ", which board " + quoted(other->second) + " has already",
                      "Number the boards 0 to " + std::to_string(boards - 1) + ", each once.");
      } else if (board.address < 0 || board.address >= boards) {
        report_.error(place,
                      "is " + std::to_string(board.address) + ", but " +
                          counted(rig_.boards.size(), "board has address", "boards have addresses") + " 0" +
                          (boards > 1 ? " to " + std::to_string(boards - 1) : ""),
                      "Number the boards without a gap; 0 is the one on the cable.");
      }
    }
  }

  const Board* find_board(const std::string& name) const noexcept {
    const auto found =
        std::find_if(rig_.boards.begin(), rig_.boards.end(), [&](const Board& b) { return b.name == name; });
    return found == rig_.boards.end() ? nullptr : &*found;
  }

  void group_of(const std::string& group, const std::string& title) {
    if (group.empty())
      report_.warning(title + ", group", "has no group",
                      "Name one of the rig's groups, so that it is shown with its neighbours.");
    else report_.must_be_known(groups_, "group", group, title + ", group", "Add the group to the rig's groups.");
  }

  void actuator(const Actuator& a, const std::string& title) {
    group_of(a.group, title);
    report_.must_be_known(boards_, "board", a.board, title + ", board", "Add the board to the rig's boards.");
    if (const Board* board = find_board(a.board)) {
      if (a.output < 0 || a.output >= board->outputs) {
        report_.error(title + ", output",
                      "is " + std::to_string(a.output) + ", but board " + quoted(board->name) + " has outputs 0 to " +
                          std::to_string(board->outputs - 1),
                      "Give the output that its servo is plugged into.");
      }
      if (!a.rail.empty()) {
        report_.must_be_known(names_of(board->rails), "rail", a.rail, title + ", rail",
                "Add the rail to board " + quoted(board->name) + ".");
      } else if (!board->rails.empty()) {
        report_.warning(title + ", rail", "has no rail, so its load is counted nowhere",
                        "Name the rail that feeds its servo.");
      }
    }
    travel(a, title);
    pulses(a, title);
    positive(title + ", velocity_deg_s", a.velocity_deg_s, "deg/s");
    positive(title + ", acceleration_deg_s2", a.acceleration_deg_s2, "deg/s^2");
    within(title + ", servo_response_ms", a.servo_response_ms, 0, 500, "Give 0 to 500 ms, as measured.");
  }

  void travel(const Actuator& a, const std::string& title) {
    if (!all({report_.usable(title + ", min_deg", a.min_deg), report_.usable(title + ", max_deg", a.max_deg), report_.usable(title + ", rest_deg", a.rest_deg)}))
      return;
    const std::string range = number_text(a.min_deg) + " to " + number_text(a.max_deg) + " deg";
    if (a.min_deg >= a.max_deg) {
      report_.error(title + ", min_deg", "travel from " + range + " is empty or upside down",
                    "Make min_deg the lesser; a servo that turns the other way is 'reversed'.");
    } else if (a.rest_deg < a.min_deg || a.rest_deg > a.max_deg) {
      report_.error(title + ", rest_deg", "is " + number_text(a.rest_deg) + " deg, outside the travel of " + range,
                    "Give a rest inside the travel.");
    }
  }

  void pulses(const Actuator& a, const std::string& title) {
    if (!all({report_.usable(title + ", pulse_min_us", a.pulse_min_us), report_.usable(title + ", pulse_max_us", a.pulse_max_us)})) return;
    if (a.pulse_min_us >= a.pulse_max_us) {
      report_.error(title + ", pulse_min_us",
                    "pulses from " + number_text(a.pulse_min_us) + " to " + number_text(a.pulse_max_us) +
                        " us are an empty range or upside down",
                    "Make pulse_min_us the lesser; a servo that turns the other way is 'reversed'.");
    }
    for (const auto& [field, value] :
         {std::pair{", pulse_min_us", a.pulse_min_us}, std::pair{", pulse_max_us", a.pulse_max_us}}) {
      if (value < kPulseLowest_us || value > kPulseHighest_us) {
        report_.error(title + field, "is " + number_text(value) + " us, which no servo takes",
                      "Give 400 to 2600 us; 1000 to 2000 suits most servos.");
      }
    }
  }

  void shared_outputs() {
    std::map<std::pair<std::string, int>, std::string> taken;
    for (std::size_t i = 0; i < rig_.actuators.size(); ++i) {
      const Actuator& a = rig_.actuators[i];
      const auto [other, fresh] = taken.emplace(std::pair{a.board, a.output}, titled("actuator", a.name, i));
      if (!fresh) {
        report_.error(titled("actuator", a.name, i) + ", output",
                      "output " + std::to_string(a.output) + " of board " + quoted(a.board) + " drives " +
                          other->second + " already",
                      "Give each actuator an output of its own.");
      }
    }
  }

  void control(const Control& c, const std::string& title) {
    group_of(c.group, title);
    if (!all({report_.usable(title + ", min", c.min), report_.usable(title + ", max", c.max), report_.usable(title + ", rest", c.rest)})) return;
    const std::string range = number_text(c.min) + " to " + number_text(c.max);
    if (c.min >= c.max)
      report_.error(title + ", min", "the range " + range + " is empty or upside down", "Make min the lesser.");
    else if (c.rest < c.min || c.rest > c.max) {
      report_.error(title + ", rest", "is " + number_text(c.rest) + ", outside the range " + range,
                    "Give a rest inside the range.");
    }
  }

  const Rig& rig_;
  std::vector<std::string> groups_, boards_, actuators_, controls_;
  Report report_;
};

}  // namespace

void check_names(Report& report, const std::string& kind, const std::vector<std::string>& all, const std::string& owner) {
  std::set<std::string> seen;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const std::string place = owner + titled(kind, all[i], i);
    if (all[i].empty()) report.error(place, "has no name", "Give it one: other parts refer to it by name.");
    else if (has_control_character(all[i])) report.error(place, "has a control character in its name", "Type the name again.");
    else if (!seen.insert(all[i]).second) {
      report.error(place, "there is more than one " + kind + " of this name", "Rename one, and what refers to it.");
    }
  }
}

Findings validate(const Rig& rig, const std::string& file) { return RigCheck(rig, file).findings(); }

}  // namespace mien::show
