#include <algorithm>
#include <array>
#include <utility>

#include "show/text.hpp"
#include "store/header.hpp"
#include "store/version0.hpp"

// The serialize functions of the rig's types stand here, where cereal looks for them by the types' namespace.
namespace mien::show {

using store::field;
using store::list;
using store::optional_field;
using store::optional_list;

template <class Archive>
void serialize(Archive& archive, Wire& wire) {
  field(archive, "awg", wire.awg, 0);
  field(archive, "area_mm2", wire.area_mm2, 0.0);
  field(archive, "length_m", wire.length_m);
  field(archive, "temperature_c", wire.temperature_c, 20.0);
}

template <class Archive>
void serialize(Archive& archive, Rail& rail) {
  field(archive, "name", rail.name);
  field(archive, "rating_a", rail.rating_a, 0.0);
  field(archive, "voltage_v", rail.voltage_v, 0.0);
  field(archive, "connector_a", rail.connector_a, 0.0);
  field(archive, "fuse_a", rail.fuse_a, 0.0);
  optional_field(archive, "wire", rail.wire);
  field(archive, "governed", rail.governed, false);
}

template <class Archive>
void serialize(Archive& archive, ServoKind& kind) {
  const ServoFigures usual;
  ServoFigures& f = kind.figures;
  field(archive, "name", kind.name);
  field(archive, "voltage_v", f.voltage_v);
  field(archive, "no_load_deg_s", f.no_load_deg_s);
  field(archive, "stall_torque_n_m", f.stall_torque_n_m);
  field(archive, "stall_current_a", f.stall_current_a);
  field(archive, "idle_current_a", f.idle_current_a, usual.idle_current_a);
  field(archive, "friction_n_m", f.friction_n_m, usual.friction_n_m);
  field(archive, "inertia_kg_m2", f.inertia_kg_m2, usual.inertia_kg_m2);
  field(archive, "full_drive_error_deg", f.full_drive_error_deg, usual.full_drive_error_deg);
  field(archive, "dead_band_deg", f.dead_band_deg, usual.dead_band_deg);
}

template <class Archive>
void serialize(Archive& archive, Watchdog& watchdog) {
  field(archive, "hold_after_ms", watchdog.hold_after_ms);
  field(archive, "ramp_after_ms", watchdog.ramp_after_ms);
  field(archive, "release_after_ms", watchdog.release_after_ms);
}

template <class Archive>
void serialize(Archive& archive, Board& board) {
  field(archive, "name", board.name);
  field(archive, "address", board.address);
  field(archive, "outputs", board.outputs);
  list(archive, "rails", "rail", board.rails);
  field(archive, "identity", board.identity, std::string());
  field(archive, "paired_outputs", board.paired_outputs, false);
}

template <class Archive>
void serialize(Archive& archive, Group& group) {
  field(archive, "name", group.name);
}

template <class Archive>
void serialize(Archive& archive, Actuator& actuator) {
  field(archive, "name", actuator.name);
  field(archive, "group", actuator.group);
  field(archive, "board", actuator.board);
  field(archive, "rail", actuator.rail);
  field(archive, "output", actuator.output);
  field(archive, "min_deg", actuator.min_deg);
  field(archive, "max_deg", actuator.max_deg);
  field(archive, "rest_deg", actuator.rest_deg);
  field(archive, "pulse_min_us", actuator.pulse_min_us);
  field(archive, "pulse_max_us", actuator.pulse_max_us);
  field(archive, "reversed", actuator.reversed);
  field(archive, "pulse_rate_hz", actuator.pulse_rate_hz, 50.0);
  field(archive, "pulse_offset_us", actuator.pulse_offset_us, 0.0);
  field(archive, "velocity_deg_s", actuator.velocity_deg_s);
  field(archive, "acceleration_deg_s2", actuator.acceleration_deg_s2);
  field(archive, "servo", actuator.servo, std::string());
  field(archive, "skin_n_m_per_deg", actuator.skin_n_m_per_deg, 0.0);
  field(archive, "load_kg_m2", actuator.load_kg_m2, 0.0);
  field(archive, "servo_response_ms", actuator.servo_response_ms, 0.0);
  field(archive, "commissioned", actuator.commissioned, false);
}

template <class Archive>
void serialize(Archive& archive, Control& control) {
  field(archive, "name", control.name);
  field(archive, "group", control.group);
  field(archive, "unit", control.unit);
  field(archive, "min", control.min);
  field(archive, "max", control.max);
  field(archive, "rest", control.rest);
  optional_list(archive, "states", "state", control.states);
}

// A weight and what it weighs are one text, "12.5 smile"; `like` is such a text for the finding.
inline std::string weighted(double weight, const std::string& name) { return number_text(weight) + " " + name; }

inline void read_weighted(const std::string& text, double& weight, std::string& name, const char* kind, const char* like) {
  const std::size_t space = std::min(text.find(' '), text.size());
  const auto number = parse_number(std::string_view(text).substr(0, space));
  if (!number || space + 1 >= text.size())
    throw store::Broken{"", "'" + store::shown(text) + "' is not a term", "Write weight and " + std::string(kind) + ", as in \"" + like + "\"."};
  weight = *number, name = text.substr(space + 1);
}

template <class Archive>
std::string save_minimal(const Archive&, const Term& term) {
  return weighted(term.weight, term.control);
}

template <class Archive>
void load_minimal(const Archive&, Term& term, const std::string& text) {
  read_weighted(text, term.weight, term.control, "control", "12.5 smile");
}

template <class Archive>
std::string save_minimal(const Archive&, const Constraint::Term& term) {
  return weighted(term.weight, term.actuator);
}

template <class Archive>
void load_minimal(const Archive&, Constraint::Term& term, const std::string& text) {
  read_weighted(text, term.weight, term.actuator, "actuator", "-1 lid_lower");
}

// A measured row is one text too, "4.5 -12": x, a space, the servo's angle.
template <class Archive>
std::string save_minimal(const Archive&, const Measured::Row& row) {
  return number_text(row.x) + " " + number_text(row.angle_deg);
}

template <class Archive>
void load_minimal(const Archive&, Measured::Row& row, const std::string& text) {
  const std::size_t space = std::min(text.find(' '), text.size());
  const auto x = parse_number(std::string_view(text).substr(0, space));
  const auto angle = space < text.size() ? parse_number(std::string_view(text).substr(space + 1)) : std::nullopt;
  if (!x || !angle)
    throw store::Broken{"", "'" + store::shown(text) + "' is not a measured row", "Write x and the servo's angle in degrees, as in \"4.5 -12\"."};
  row = {*x, *angle};
}

template <class Archive>
void serialize(Archive& archive, Closing& closing) {
  field(archive, "control", closing.control);
  field(archive, "value", closing.value);
}

template <class Archive>
void serialize(Archive& archive, Axis& axis) {
  field(archive, "role", axis.role);
  field(archive, "offset", axis.offset);
  list(archive, "terms", "term", axis.terms);
  optional_field(archive, "closing", axis.closing);
}

template <class Archive>
void measures(Archive&, Straight&) {}

template <class Archive>
void measures(Archive& archive, Measured& measured) {
  list(archive, "rows", "row", measured.rows);
}

template <class Archive>
void measures(Archive& archive, SliderCrank& linkage) {
  field(archive, "horn_mm", linkage.horn_mm);
  field(archive, "rod_mm", linkage.rod_mm);
  field(archive, "offset_mm", linkage.offset_mm);
  field(archive, "behind", linkage.behind);
  field(archive, "horn_at_zero_deg", linkage.horn_at_zero_deg);
}

template <class Archive>
void measures(Archive& archive, FourBar& linkage) {
  field(archive, "crank_mm", linkage.crank_mm);
  field(archive, "coupler_mm", linkage.coupler_mm);
  field(archive, "rocker_mm", linkage.rocker_mm);
  field(archive, "ground_mm", linkage.ground_mm);
  field(archive, "crossed", linkage.crossed);
  field(archive, "crank_at_zero_deg", linkage.crank_at_zero_deg);
}

template <class Archive>
void measures(Archive& archive, Differential& linkage) {
  field(archive, "pitch_gain", linkage.pitch_gain);
  field(archive, "roll_gain", linkage.roll_gain);
}

template <class Archive>
void measures(Archive& archive, TwoRodPlate& plate) {
  field(archive, "half_span_mm", plate.half_span_mm);
  field(archive, "arm_mm", plate.arm_mm);
  field(archive, "horn_mm", plate.horn_mm);
  field(archive, "rod_mm", plate.rod_mm);
  field(archive, "horns_ahead", plate.horns_ahead, false);
  field(archive, "horn_at_zero_deg", plate.horn_at_zero_deg, 0.0);
}

// By the variant's index.
constexpr std::array<const char*, std::variant_size_v<Response>> kKinds{"straight", "measured", "slider-crank", "four-bar", "differential", "two-rod-plate"};

constexpr std::array<const char*, std::variant_size_v<AuxiliaryKind>> kAuxiliaryKinds{"switch", "dimmer", "fan", "code"};

template <class Variant, std::size_t... Index>
Variant made(std::size_t kind, std::index_sequence<Index...>) {
  Variant value;
  ((Index == kind ? void(value.template emplace<Index>()) : void()), ...);
  return value;
}

/// One of several kinds: its name in "kind", then the fields of that kind.
template <class Archive, class Variant, std::size_t Count>
void choice(Archive& archive, const std::array<const char*, Count>& kinds, Variant& value, const std::string& what) {
  std::string kind = kinds[value.index()];
  field(archive, "kind", kind);
  const auto found = std::find(kinds.begin(), kinds.end(), kind);
  if (found == kinds.end()) {
    std::string known;
    for (const char* each : kinds) known += (known.empty() ? "'" : ", '") + std::string(each) + "'";
    throw store::Broken{"kind", "'" + store::shown(kind) + "' is not " + what, "Known: " + known + "."};
  }
  const auto index = static_cast<std::size_t>(found - kinds.begin());
  if (index != value.index()) value = made<Variant>(index, std::make_index_sequence<Count>());
  std::visit([&](auto& each) { measures(archive, each); }, value);
}

template <class Archive>
void serialize(Archive& archive, Response& response) {
  choice(archive, kKinds, response, "a response");
}

template <class Archive>
void measures(Archive&, Switch&) {}

template <class Archive>
void measures(Archive&, Dimmer&) {}

/// A field that people may leave out but that is always written, so that a Mien that doesn't know that still reads the file.
template <class Archive, class T>
void may_lack(Archive& archive, const char* name, T& value, const T& otherwise) {
  if constexpr (Archive::is_saving::value) field(archive, name, value);
  else field(archive, name, value, otherwise);
}

template <class Archive>
void measures(Archive& archive, Fan& fan) {
  may_lack(archive, "rail", fan.rail, std::string());
  may_lack(archive, "draw_a", fan.draw_a, Fan{}.draw_a);
  may_lack(archive, "on_a", fan.on_a, Fan{}.on_a);
  may_lack(archive, "off_a", fan.off_a, fan.on_a / 2);
  may_lack(archive, "smooth_s", fan.smooth_s, Fan{}.smooth_s);
}

template <class Archive>
void measures(Archive& archive, Code& code) {
  field(archive, "lines", code.lines);
  field(archive, "strobe", code.strobe, -1);
  field(archive, "settle_ms", code.settle_ms);
}

template <class Archive>
void serialize(Archive& archive, Auxiliary& auxiliary) {
  field(archive, "name", auxiliary.name);
  field(archive, "board", auxiliary.board);
  field(archive, "control", auxiliary.control, std::string());
  field(archive, "line", auxiliary.line);
  choice(archive, kAuxiliaryKinds, auxiliary.kind, "an auxiliary");
}

constexpr std::array<const char*, std::variant_size_v<InputAction>> kActions{"play", "stop", "play-from", "set-state", "start-cue"};

template <class Archive>
void measures(Archive&, PlayShow&) {}

template <class Archive>
void measures(Archive&, StopShow&) {}

template <class Archive>
void measures(Archive& archive, PlayFrom& play) {
  field(archive, "marker", play.marker);
}

template <class Archive>
void measures(Archive& archive, SetState& set) {
  field(archive, "auxiliary", set.auxiliary);
  field(archive, "state", set.state);
}

template <class Archive>
void measures(Archive& archive, StartCue& start) {
  field(archive, "cue", start.cue);
}

template <class Archive>
void serialize(Archive& archive, Input& input) {
  field(archive, "name", input.name);
  field(archive, "board", input.board);
  field(archive, "line", input.line);
  field(archive, "active_low", input.active_low, false);
  field(archive, "settle_ms", input.settle_ms, Input{}.settle_ms);
  choice(archive, kActions, input.action, "what an input does");
}

template <class Archive>
void serialize(Archive& archive, Gaze& gaze) {
  field(archive, "yaw", gaze.yaw);
  field(archive, "pitch", gaze.pitch);
  field(archive, "distance", gaze.distance);
  field(archive, "ipd_mm", gaze.ipd_mm);
  field(archive, "left", gaze.left);
  field(archive, "right", gaze.right);
}

template <class Archive>
void serialize(Archive& archive, Constraint& constraint) {
  field(archive, "name", constraint.name);
  list(archive, "terms", "term", constraint.terms);
  field(archive, "at_least_deg", constraint.at_least_deg);
}

template <class Archive>
void serialize(Archive& archive, Mapping& mapping) {
  list(archive, "actuators", "actuator", mapping.actuators);
  field(archive, "response", mapping.response);
  list(archive, "axes", "axis", mapping.axes);
}

}  // namespace mien::show

namespace mien::store {

template <>
const char* kind_of<show::Term>() {
  return kind_of<std::string>();
}
template <>
const char* kind_of<show::Constraint::Term>() {
  return kind_of<std::string>();
}
template <>
const char* kind_of<show::Measured::Row>() {
  return kind_of<std::string>();
}

namespace {

template <class Archive>
void rig_fields(Archive& archive, show::Rig& rig) {
  field(archive, "name", rig.name);
  field(archive, "tick_hz", rig.tick_hz);
  field(archive, "latch_lead_ms", rig.latch_lead_ms);
  field(archive, "creep_share", rig.creep_share);
  field(archive, "tolerance_deg", rig.tolerance_deg, 1.0);
  field(archive, "tolerance_ms", rig.tolerance_ms, 20.0);
  field(archive, "link_latency_ms", rig.link_latency_ms, 0.0);
  field(archive, "watchdog", rig.watchdog);
  list(archive, "groups", "group", rig.groups);
  list(archive, "boards", "board", rig.boards);
  optional_list(archive, "servos", "servo", rig.servos);
  list(archive, "actuators", "actuator", rig.actuators);
  list(archive, "controls", "control", rig.controls);
  optional_field(archive, "gaze", rig.gaze);
  list(archive, "mappings", "mapping", rig.mappings);
  optional_list(archive, "constraints", "constraint", rig.constraints);
  optional_list(archive, "auxiliaries", "auxiliary", rig.auxiliaries);
  optional_list(archive, "inputs", "input", rig.inputs);
}

}  // namespace

std::string write_document(const show::Rig& rig) {
  TextSink sink;
  show::Rig copy = rig;  // one list of fields serves reading and writing, so it wants them writable
  const bool plate = std::any_of(rig.mappings.begin(), rig.mappings.end(), [](const show::Mapping& m) { return std::holds_alternative<show::TwoRodPlate>(m.response); });
  return write_file(sink, kRigFormat, [&](cereal::JSONOutputArchive& archive) { rig_fields(archive, copy); }, plate ? kPlateVersion : kVersion);
}

show::Result<Document<show::Rig>> read_rig(std::string_view text, const std::string& file) {
  return FileReader(text, file)
      .read<show::Rig>(kRigFormat, [](cereal::JSONInputArchive& archive, int version, Scanned&) {
        if (version == 0) return version0::read_rig(archive);
        show::Rig rig;
        rig_fields(archive, rig);
        return rig;
      }, kPlateVersion);
}

namespace {

bool says(std::string_view text, const std::string& format) {
  constexpr std::string_view kField = "\"format\"";
  const std::size_t field = text.find(kField);
  if (field == std::string_view::npos) return false;
  const std::size_t value = text.find('"', field + kField.size());
  return value != std::string_view::npos && text.substr(value).starts_with('"' + format + '"');
}

}  // namespace

bool says_rig(std::string_view text) { return says(text, kRigFormat); }
bool says_library(std::string_view text) { return says(text, kLibraryFormat); }
bool says_map(std::string_view text) { return says(text, kMapFormat); }

}  // namespace mien::store
