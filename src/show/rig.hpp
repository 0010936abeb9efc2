// One head, as plain values: its boards, rails, actuators, controls and the mapping between them. Parts refer to each
// other by name, as in the file; validate() (show/validate.hpp) tells whether the names meet. Angles are degrees, pulses
// microseconds, currents amperes, everywhere.
#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "show/auxiliary.hpp"
#include "show/input.hpp"
#include "show/linkage.hpp"
#include "show/servo.hpp"

namespace mien::show {

/// Fixed bounds, so that whatever the tick needs has a size known in advance.
inline constexpr int kMaxActuators = 64;
inline constexpr int kMaxBoards = 8;
inline constexpr int kMaxOutputsPerBoard = 16;
inline constexpr int kMaxControls = 256;
inline constexpr int kMaxRailsPerBoard = 8;
inline constexpr int kMaxServoKinds = 64;
inline constexpr int kMaxConstraints = 64;
inline constexpr int kMaxConstraintTerms = 8;
inline constexpr int kMaxMeasuredRows = 256;

/// The pair of leads between a supply and a board: its thickness by gauge or by area, and its length one way.
struct Wire {
  int awg = 0;          ///< 1 to 40; 0: by area
  double area_mm2 = 0;  ///< of one lead
  double length_m = 0;
  double temperature_c = 20;
  friend bool operator==(const Wire&, const Wire&) = default;
};

/// What feeds some of a board's outputs. A zero says that nobody has told.
struct Rail {
  std::string name;
  double rating_a = 0;  ///< of the supply
  double voltage_v = 0;
  double connector_a = 0;  ///< rating of the weakest connector
  double fuse_a = 0;
  std::optional<Wire> wire{};
  bool governed = false;  ///< slows its actuators rather than ask more of the rail than it may give (perform/governor.hpp)
  friend bool operator==(const Rail&, const Rail&) = default;
};

/// What a board does by itself when it hears nothing: hold, then ramp to rest, then release. Each counted from the one before.
struct Watchdog {
  double hold_after_ms = 200;     ///< silence after which the board counts the link as lost and holds where it is
  double ramp_after_ms = 1000;    ///< time it holds before it starts toward rest
  double release_after_ms = 4000; ///< time after the ramp's start at which pulses stop
  friend bool operator==(const Watchdog&, const Watchdog&) = default;
};

struct Board {
  std::string name;
  int address = 0;  ///< 0 is the board on the cable
  int outputs = kMaxOutputsPerBoard;
  std::vector<Rail> rails;
  std::string identity{};        ///< of the very board, 16 hexadecimal digits as it tells them; empty: any board will do
  bool paired_outputs = false;   ///< outputs 0 and 1, 2 and 3, ... share a timer: one pulse rate and offset a pair (RP2040)
  friend bool operator==(const Board&, const Board&) = default;
};

/// A part of the face. Order in Rig::groups is the order on screen.
struct Group {
  std::string name;
  friend bool operator==(const Group&, const Group&) = default;
};

struct Actuator {
  std::string name;
  std::string group;
  std::string board;
  std::string rail;
  int output = 0;
  double min_deg = -45, max_deg = 45, rest_deg = 0;
  double pulse_min_us = 1000, pulse_max_us = 2000;  ///< at min_deg and max_deg; reversed: at max_deg and min_deg
  bool reversed = false;
  double velocity_deg_s = 300;
  double acceleration_deg_s2 = 4000;
  double pulse_rate_hz = 50;    ///< 50 to 333; more than 50 only for a servo whose sheet says so
  double pulse_offset_us = 0;   ///< how long after the start of each period its pulse starts, to spread the inrush of many servos
  std::string servo{};          ///< its kind, by name; empty: taken to be a usual micro servo
  double skin_n_m_per_deg = 0;  ///< what the skin pulls it back to rest with
  double load_kg_m2 = 0;        ///< inertia of what it moves, on top of the servo's own
  double servo_response_ms = 0;  ///< from latching a setpoint to the horn standing there, measured or from its sheet
  bool commissioned = false;     ///< its ends were found on the head and travelled between, slowly, with nothing in the way
  friend bool operator==(const Actuator&, const Actuator&) = default;
};

/// One degree of freedom of expression, in its own unit.
struct Control {
  std::string name;
  std::string group;
  std::string unit;  ///< "deg", "mm", or "1" for a plain share
  double min = 0, max = 1, rest = 0;
  std::vector<std::string> states{};  ///< where its values are names and not an amount: value n is states[n]; min 0, max their count less 1
  friend bool operator==(const Control&, const Control&) = default;
};

/// weight times the value of a control, or of an eye's yaw by the name that Gaze gives it.
struct Term {
  std::string control;
  double weight = 0;
  friend bool operator==(const Term&, const Term&) = default;
};

/// What rides on top of an axis and always arrives: x becomes x + (value - x) * control, with the control from 0 to 1. A blink.
struct Closing {
  std::string control;
  double value = 0;  ///< x where it is closed
  friend bool operator==(const Closing&, const Closing&) = default;
};

/// One way in which the skin moves: x = offset + sum of terms, then its closing. In degrees of the servo for a straight response, in the
/// unit of the rows for a measured one; for a linkage the skin's displacement from where it is when the servo stands at its rest. The role
/// says which part of the face it moves (show/roles.hpp), so that the preview can draw any rig; empty where it has none. Positive x is
/// the direction that the role's name says (up, open, wide, left).
struct Axis {
  std::string role;
  double offset = 0;
  std::vector<Term> terms;
  std::optional<Closing> closing{};
  friend bool operator==(const Axis&, const Axis&) = default;
};

/// The servo's angle is the axis itself: x in degrees.
struct Straight {
  friend bool operator==(const Straight&, const Straight&) = default;
};

/// What the maker read off with ruler or protractor: where the skin is at some angles of the servo, x rising from row to row.
/// Between rows a curve that turns nowhere (motion/table.hpp).
struct Measured {
  struct Row {
    double x = 0, angle_deg = 0;
    friend bool operator==(const Row&, const Row&) = default;
  };
  std::vector<Row> rows;
  friend bool operator==(const Measured&, const Measured&) = default;
};

/// How axes become servo angles. A slider-crank's x is in mm, a four-bar's in degrees of the rocker. A differential has two axes (pitch
/// and roll, or raise and tilt, in degrees of the servos) and two actuators, so has a two-rod plate (pitch and roll, in degrees of the
/// plate); all others have one of each.
using Response = std::variant<Straight, Measured, SliderCrank, FourBar, Differential, TwoRodPlate>;

/// Whether a response couples two axes and two actuators.
inline bool couples(const Response& response) noexcept {
  return std::holds_alternative<Differential>(response) || std::holds_alternative<TwoRodPlate>(response);
}

/// As many axes as actuators: one of each, or two for a linkage that couples two servos.
struct Mapping {
  std::vector<Axis> axes;
  Response response;
  std::vector<std::string> actuators;
  friend bool operator==(const Mapping&, const Mapping&) = default;
};

/// What actuators may not do together: sum of weight * angle >= at_least_deg.
struct Constraint {
  struct Term {
    std::string actuator;
    double weight = 0;
    friend bool operator==(const Term&, const Term&) = default;
  };
  std::string name;
  std::vector<Term> terms;
  double at_least_deg = 0;
  friend bool operator==(const Constraint&, const Constraint&) = default;
};

/// Two eyes that look at one point: which controls say where it is, and under which names terms of a mapping may use the yaw of each
/// eye, in degrees to the head's left. Pitch turns both about the line through them, so it has no part in the vergence.
struct Gaze {
  std::string yaw, pitch, distance;  ///< controls; the distance in mm from the middle between the eyes
  double ipd_mm = 63;                ///< between the eyes' axes
  std::string left = "eye_left", right = "eye_right";
  friend bool operator==(const Gaze&, const Gaze&) = default;
};

struct Rig {
  std::string name;
  int tick_hz = 100;
  double latch_lead_ms = 20;      ///< how long before its latch time a frame is computed and sent
  double creep_share = 0.15;      ///< share of the velocity limit for the first move after arming
  double tolerance_deg = 1;       ///< a setpoint within this of what is authored,
  double tolerance_ms = 20;       ///< or that near in time to it, counts as made
  double link_latency_ms = 0;     ///< from a frame's latch time to the pulse on the wire, beyond what the boards' clocks make up for
  Watchdog watchdog;
  std::vector<Group> groups;
  std::vector<Board> boards;
  std::vector<ServoKind> servos;
  std::vector<Actuator> actuators;
  std::vector<Control> controls;
  std::optional<Gaze> gaze;
  std::vector<Mapping> mappings;
  std::vector<Constraint> constraints;
  std::vector<Auxiliary> auxiliaries;
  std::vector<Input> inputs{};  ///< what boards' digital inputs do at the host
  friend bool operator==(const Rig&, const Rig&) = default;
};

/// What an auxiliary is told for its control's value, 0..255: the number of a state for a code, else the share of the control's range.
/// NaN counts as the minimum.
std::uint8_t auxiliary_value(const Auxiliary& auxiliary, const Control& control, double value) noexcept;

/// The pulse that puts the actuator at an angle; linear between the two ends, not clamped.
constexpr double pulse_us(const Actuator& a, double angle_deg) noexcept {
  const double share = (angle_deg - a.min_deg) / (a.max_deg - a.min_deg);
  const double span = a.pulse_max_us - a.pulse_min_us;
  return a.reversed ? a.pulse_max_us - share * span : a.pulse_min_us + share * span;
}

}  // namespace mien::show
