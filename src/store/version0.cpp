#include "store/version0.hpp"

#include <algorithm>

namespace mien::store::version0 {
namespace {

using Archive = cereal::JSONInputArchive;

show::Time from_ms(std::int64_t ms) {
  constexpr std::int64_t kMost = 9'000'000'000'000;  // 285 years, the farthest time that a show can hold
  if (ms < -kMost || ms > kMost) throw Broken{"", "is " + std::to_string(ms) + " ms, longer than any show"};
  return std::chrono::milliseconds(ms);
}

void time_field(Archive& archive, const char* name, show::Time& time) {
  std::int64_t ms = 0;
  field(archive, name, ms);
  reading(name, "", [&] { time = from_ms(ms); });
}

struct Key {
  show::Keyframe key;
};
void load(Archive& archive, Key& k) {
  std::string easing;
  time_field(archive, "t", k.key.time);
  field(archive, "v", k.key.value);
  field(archive, "e", easing);
  const auto parsed = show::parse_easing(easing);
  if (!parsed) throw Broken{"e", "'" + shown(easing) + "' is not an easing", "Write one as 'linear' or 'smooth'."};
  k.key.easing = *parsed;
}

struct Track {
  std::string name;
  std::vector<Key> keys;
};
void load(Archive& archive, Track& track) {
  field(archive, "control", track.name);
  list(archive, "keys", "key", track.keys);
}

struct Cue {
  show::Marker marker;
};
void load(Archive& archive, Cue& cue) {
  time_field(archive, "t", cue.marker.time);
  field(archive, "name", cue.marker.name);
}

struct Rail : show::Rail {};
void load(Archive& archive, Rail& rail) {
  field(archive, "name", rail.name);
  field(archive, "rating_a", rail.rating_a);
}

struct Board : show::Board {};
void load(Archive& archive, Board& board) {
  std::vector<Rail> supplies;
  field(archive, "name", board.name);
  field(archive, "address", board.address);
  field(archive, "outputs", board.outputs);
  list(archive, "rails", "rail", supplies);
  board.rails.assign(supplies.begin(), supplies.end());
}

struct Group {
  std::string name;
};
void load(Archive& archive, Group& group) { field(archive, "name", group.name); }

struct Actuator : show::Actuator {};
void load(Archive& archive, Actuator& a) {
  field(archive, "name", a.name);
  field(archive, "group", a.group);
  field(archive, "board", a.board);
  field(archive, "rail", a.rail);
  field(archive, "output", a.output);
  field(archive, "min_deg", a.min_deg);
  field(archive, "max_deg", a.max_deg);
  field(archive, "rest_deg", a.rest_deg);
  field(archive, "pulse_min_us", a.pulse_min_us);
  field(archive, "pulse_max_us", a.pulse_max_us);
  field(archive, "reversed", a.reversed);
  field(archive, "velocity_deg_s", a.velocity_deg_s);
  field(archive, "acceleration_deg_s2", a.acceleration_deg_s2);
}

struct Control : show::Control {};
void load(Archive& archive, Control& control) {
  field(archive, "name", control.name);
  field(archive, "unit", control.unit);
  field(archive, "min", control.min);
  field(archive, "max", control.max);
  field(archive, "rest", control.rest);
}

struct Term : show::Term {};
void load(Archive& archive, Term& term) {
  field(archive, "control", term.control);
  field(archive, "weight", term.weight);
}

// One axis and one actuator: all that there was.
struct Mapping {
  std::string actuator, role;
  double offset = 0;
  std::vector<Term> terms;
};
void load(Archive& archive, Mapping& mapping) {
  field(archive, "actuator", mapping.actuator);
  field(archive, "role", mapping.role);
  field(archive, "offset", mapping.offset);
  list(archive, "terms", "term", mapping.terms);
}

std::string group_moved_by(const show::Rig& rig, const std::string& control) {
  for (const auto& mapping : rig.mappings) {
    const auto& terms = mapping.axes.front().terms;
    if (std::none_of(terms.begin(), terms.end(), [&](const show::Term& t) { return t.control == control; })) continue;
    for (const auto& actuator : rig.actuators) {
      if (actuator.name == mapping.actuators.front()) return actuator.group;
    }
  }
  return {};
}

}  // namespace

show::Show read_show(Archive& archive) {
  show::Show show;
  std::vector<Cue> markers;
  std::vector<Track> tracks;
  std::string sound;
  field(archive, "name", show.name);
  field(archive, "rig", show.rig_file);
  time_field(archive, "length_ms", show.length);
  field(archive, "sound", sound);
  list(archive, "markers", "marker", markers);
  list(archive, "tracks", "track", tracks);
  if (!sound.empty()) show.sounds.push_back({sound});
  for (Cue& cue : markers) show.markers.push_back(std::move(cue.marker));
  for (Track& track : tracks) {
    show::Channel channel{std::move(track.name), {}};
    for (const Key& key : track.keys) channel.keys.push_back(key.key);
    show.channels.push_back(std::make_shared<const show::Channel>(std::move(channel)));
  }
  return show;
}

show::Rig read_rig(Archive& archive) {
  show::Rig rig;
  std::vector<Group> groups;
  std::vector<Board> boards;
  std::vector<Actuator> actuators;
  std::vector<Control> controls;
  std::vector<Mapping> mappings;
  field(archive, "name", rig.name);
  list(archive, "groups", "group", groups);
  list(archive, "boards", "board", boards);
  list(archive, "actuators", "actuator", actuators);
  list(archive, "controls", "control", controls);
  list(archive, "mappings", "mapping", mappings);
  for (const Group& group : groups) rig.groups.push_back({group.name});
  rig.boards.assign(boards.begin(), boards.end());
  rig.actuators.assign(actuators.begin(), actuators.end());
  for (const Mapping& m : mappings) {
    rig.mappings.push_back({{{m.role, m.offset, {m.terms.begin(), m.terms.end()}}}, show::Straight{}, {m.actuator}});
  }
  rig.controls.assign(controls.begin(), controls.end());
  for (auto& control : rig.controls) control.group = group_moved_by(rig, control.name);
  return rig;
}

}  // namespace mien::store::version0
