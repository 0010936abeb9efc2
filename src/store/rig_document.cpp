#include "show/text.hpp"
#include "store/header.hpp"
#include "store/version0.hpp"

// The serialize functions of the rig's types stand here, where cereal looks for them by the types' namespace.
namespace mien::show {

using store::field;
using store::list;

template <class Archive>
void serialize(Archive& archive, Rail& rail) {
  field(archive, "name", rail.name);
  field(archive, "rating_a", rail.rating_a);
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
  field(archive, "velocity_deg_s", actuator.velocity_deg_s);
  field(archive, "acceleration_deg_s2", actuator.acceleration_deg_s2);
  field(archive, "servo_response_ms", actuator.servo_response_ms, 0.0);
}

template <class Archive>
void serialize(Archive& archive, Control& control) {
  field(archive, "name", control.name);
  field(archive, "group", control.group);
  field(archive, "unit", control.unit);
  field(archive, "min", control.min);
  field(archive, "max", control.max);
  field(archive, "rest", control.rest);
}

// A term is one text, "12.5 smile": the weight, a space, the control's name.
template <class Archive>
std::string save_minimal(const Archive&, const Term& term) {
  return number_text(term.weight) + " " + term.control;
}

template <class Archive>
void load_minimal(const Archive&, Term& term, const std::string& text) {
  const std::size_t space = std::min(text.find(' '), text.size());
  const auto weight = parse_number(std::string_view(text).substr(0, space));
  if (!weight || space + 1 >= text.size()) {
    throw store::Broken{"", "'" + store::shown(text) + "' is not a term",
                        "Write weight and control, as in \"12.5 smile\"."};
  }
  term = {text.substr(space + 1), *weight};
}

template <class Archive>
void serialize(Archive& archive, Axis& axis) {
  field(archive, "role", axis.role);
  field(archive, "offset", axis.offset);
  list(archive, "terms", "term", axis.terms);
}

template <class Archive>
void serialize(Archive& archive, Response& response) {
  std::string kind = "straight";
  field(archive, "kind", kind);
  if (kind != "straight")
    throw store::Broken{"kind", "'" + store::shown(kind) + "' is not a response", "Known: 'straight'."};
  response = Straight{};
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
  list(archive, "actuators", "actuator", rig.actuators);
  list(archive, "controls", "control", rig.controls);
  list(archive, "mappings", "mapping", rig.mappings);
}

}  // namespace

std::string write_document(const show::Rig& rig) {
  TextSink sink;
  show::Rig copy = rig;  // one list of fields serves reading and writing, so it wants them writable
  return write_file(sink, kRigFormat, [&](cereal::JSONOutputArchive& archive) { rig_fields(archive, copy); });
}

show::Result<Document<show::Rig>> read_rig(std::string_view text, const std::string& file) {
  return FileReader(text, file)
      .read<show::Rig>(kRigFormat, [](cereal::JSONInputArchive& archive, int version, Scanned&) {
        if (version == 0) return version0::read_rig(archive);
        show::Rig rig;
        rig_fields(archive, rig);
        return rig;
      });
}

bool says_rig(std::string_view text) {
  constexpr std::string_view kField = "\"format\"";
  const std::size_t field = text.find(kField);
  if (field == std::string_view::npos) return false;
  const std::size_t value = text.find('"', field + kField.size());
  return value != std::string_view::npos && text.substr(value).starts_with('"' + kRigFormat + '"');
}

}  // namespace mien::store
