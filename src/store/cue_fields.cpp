#include "store/cue_fields.hpp"

#include <algorithm>
#include <array>

namespace mien::store {
namespace {

// A time that a file has only where it is not 0.
template <class Archive>
void time_unless_zero(Archive& archive, const char* name, show::Time& time) {
  std::string text = time == show::Time{0} ? "" : show::seconds_text(time);
  field(archive, name, text, std::string());
  time = show::Time{0};
  if (!text.empty()) reading(name, kind_of<Seconds>(), [&] { time = time_from(text); });
}

template <class Archive>
void time_where_any(Archive& archive, const char* name, std::optional<show::Time>& time) {
  std::string text = time ? show::seconds_text(*time) : "";
  field(archive, name, text, std::string());
  time.reset();
  if (!text.empty()) reading(name, kind_of<Seconds>(), [&] { time = time_from(text); });
}

template <class Archive>
void clock_where_any(Archive& archive, const char* name, std::optional<show::Time>& clock) {
  std::string text = clock ? show::clock_text(*clock) : "";
  field(archive, name, text, std::string());
  clock.reset();
  if (text.empty()) return;
  clock = show::parse_clock(text);
  if (!clock) throw Broken{name, "'" + shown(text) + "' is no time of day", "Write hours, minutes and seconds, as in \"08:30:00\"."};
}

template <class Archive>
void measures(Archive& archive, show::CueClip& d) {
  field(archive, "clip", d.clip);
  field(archive, "loops", d.loops, false);
}
template <class Archive>
void measures(Archive& archive, show::CuePose& d) {
  field(archive, "pose", d.pose);
  field(archive, "weight", d.weight, 1.0);
}
template <class Archive>
void measures(Archive& archive, show::CueStretch& d) {
  field(archive, "from", d.from, std::string());
  field(archive, "until", d.until, std::string());
}
template <class Archive>
void measures(Archive& archive, show::CueState& d) {
  field(archive, "auxiliary", d.auxiliary);
  field(archive, "state", d.state);
}
template <class Archive>
void measures(Archive& archive, show::CueChoice& d) {
  list(archive, "cues", "name", d.cues);
  field(archive, "seed", d.seed, std::uint32_t{1});
}
template <class Archive>
void measures(Archive&, show::CueStop&) {}

template <class Archive>
void deed_fields(Archive& archive, show::CueDeed& deed) {
  std::string kind = show::kind_name(deed);
  field(archive, "does", kind);
  static const std::array<show::CueDeed, std::variant_size_v<show::CueDeed>> kAll{show::CueClip{}, show::CuePose{}, show::CueStretch{}, show::CueState{}, show::CueChoice{}, show::CueStop{}};
  const auto found = std::find_if(kAll.begin(), kAll.end(), [&](const auto& each) { return kind == show::kind_name(each); });
  if (found == kAll.end()) throw Broken{"does", "'" + shown(kind) + "' is nothing that a cue does", "Write \"clip\", \"pose\", \"stretch\", \"state\", \"choice\" or \"stop\"."};
  if (found->index() != deed.index()) deed = *found;
  std::visit([&](auto& each) { measures(archive, each); }, deed);
}

struct CueFields {
  std::string name;
  show::Cue cue;
};
template <class Archive>
void serialize(Archive& archive, CueFields& fields) {
  show::Cue& cue = fields.cue;
  field(archive, "name", fields.name);
  deed_fields(archive, cue.deed);
  time_field(archive, "fade_in_s", cue.fade_in);
  time_field(archive, "fade_out_s", cue.fade_out);
  time_unless_zero(archive, "hold_s", cue.hold);
  field(archive, "follow", cue.follow, std::string());
  field(archive, "priority", cue.priority, 0);
  time_unless_zero(archive, "pause_s", cue.pause);
  field(archive, "key", cue.key, std::string());
  time_where_any(archive, "at_time_s", cue.at_time);
  clock_where_any(archive, "at_clock", cue.at_clock);
  cue.name = fields.name;
}

}  // namespace

void write_cues(cereal::JSONOutputArchive& archive, std::vector<show::Cue> cues) {
  std::vector<CueFields> fields;
  for (show::Cue& cue : cues) fields.push_back({cue.name, std::move(cue)});
  optional_list(archive, "cues", "cue", fields);
}

std::vector<show::Cue> read_cues(cereal::JSONInputArchive& archive) {
  std::vector<CueFields> fields;
  optional_list(archive, "cues", "cue", fields);
  std::vector<show::Cue> cues;
  for (CueFields& f : fields) cues.push_back(std::move(f.cue));
  return cues;
}

}  // namespace mien::store
