#include "store/take_store.hpp"

#include <cmath>

#include "store/show_fields.hpp"

namespace mien::store {
namespace {

const std::string kTakesFormat = "mien takes";
constexpr std::uintmax_t kLargestTakes = 512u << 20;

// "0.5 3.25": from and to, both included.
struct Stretch {
  show::Range range;
};
template <class Archive>
std::string save_minimal(const Archive&, const Stretch& s) {
  return show::seconds_text(s.range.begin) + " " + show::seconds_text(s.range.end);
}
template <class Archive>
void load_minimal(const Archive&, Stretch& s, const std::string& text) {
  const std::size_t space = std::min(text.find(' '), text.size());
  s.range = {time_from(std::string_view(text).substr(0, space)), time_from(std::string_view(text).substr(std::min(space + 1, text.size())))};
}

struct TrackOut {
  std::vector<Stretch> touched;
  show::Channel channel;
  TextSink* sink;
};
void save(cereal::JSONOutputArchive& archive, const TrackOut& out) {
  field(archive, "control", out.channel.control);
  auto touched = out.touched;
  list(archive, "touched_s", "stretch", touched);
  const KeysOut keys{out.channel.keys, out.sink->text, kPartKeysDepth};
  field(archive, "keys", keys);
}
struct TakeOut {
  std::string name;
  std::vector<TrackOut> tracks;
};
void save(cereal::JSONOutputArchive& archive, const TakeOut& out) {
  field(archive, "name", out.name);
  auto tracks = out.tracks;
  list(archive, "tracks", "track", tracks);
}

struct TrackIn {
  std::string name, keys;  // of the control; called name for the sake of findings
  std::vector<Stretch> touched;
};
void load(cereal::JSONInputArchive& archive, TrackIn& in) {
  field(archive, "control", in.name);
  list(archive, "touched_s", "stretch", in.touched);
  reading("keys", "a list of keys, each a text in quotes", [&] { archive(cereal::make_nvp("keys", in.keys)); });
  if (in.keys.empty() || in.keys.front() != kKeysMark) throw Broken{"keys", "is not a list of keys", "Write a list in [ ] of texts as \"1.25 0.8 linear\"."};
}
struct TakeIn {
  std::string name;
  std::vector<TrackIn> tracks;
};
void load(cereal::JSONInputArchive& archive, TakeIn& in) {
  field(archive, "name", in.name);
  list(archive, "tracks", "track", in.tracks);
}

live::Track track_from(TrackIn& in, Scanned& scanned, const std::string& take) {
  const std::string place = "take '" + take + "', track '" + in.name + "'";
  live::Track track{std::move(in.name), {}, {}};
  for (const auto& key : scanned.keys.at(std::stoul(in.keys.substr(1)))) {
    if (!track.samples.empty() && key.time <= track.samples.back().time) throw Broken{place, "has times that do not rise, at " + show::seconds_text(key.time) + " s"};
    if (!std::isfinite(key.value)) throw Broken{place, "has a value that is no number"};
    track.samples.push_back({key.time, key.value});
  }
  if (track.samples.empty()) throw Broken{place, "has no samples"};
  show::Time last{-1};
  for (const Stretch& s : in.touched) {
    if (s.range.begin <= last || s.range.end < s.range.begin || s.range.end > track.samples.back().time || s.range.begin < track.samples.front().time)
      throw Broken{place + ", touched_s", "has stretches that overlap or lie beyond its samples"};
    track.touched.push_back(s.range), last = s.range.end;
  }
  return track;
}

show::Result<std::vector<live::Take>> read_takes(std::string_view text, const std::string& file) {
  auto document = FileReader(text, file).read<std::vector<live::Take>>(kTakesFormat, [](cereal::JSONInputArchive& archive, int, Scanned& scanned) {
    std::vector<TakeIn> read;
    list(archive, "takes", "take", read);
    std::vector<live::Take> takes;
    for (TakeIn& in : read) {
      takes.push_back({in.name, {}});
      for (TrackIn& track : in.tracks) takes.back().tracks.push_back(track_from(track, scanned, in.name));
    }
    return takes;
  });
  if (!document) return document.problem();
  return std::move(document->content);
}

}  // namespace

std::optional<show::Finding> save_takes(const Path& path, const std::vector<live::Take>& takes, Disk& disk) {
  TextSink sink;
  std::vector<TakeOut> out;
  for (const auto& take : takes) {
    out.push_back({take.name, {}});
    for (const auto& track : take.tracks) {
      TrackOut t{{}, {track.control, {}}, &sink};
      for (const auto& range : track.touched) t.touched.push_back({range});
      for (const auto& s : track.samples) t.channel.keys.push_back({s.time, s.value, show::kLinear});
      out.back().tracks.push_back(std::move(t));
    }
  }
  return replace_file(path, write_file(sink, kTakesFormat, [&](cereal::JSONOutputArchive& archive) { list(archive, "takes", "take", out); }), disk);
}

show::Result<std::vector<live::Take>> load_takes(const Path& path) {
  auto text = read_file(path, kLargestTakes);
  if (!text) return text.problem();
  auto takes = read_takes(*text, path.string());
  if (takes && takes->empty())
    return show::Finding{show::Severity::error, path.string(), "", "holds no take: nothing was touched while it was recorded", "Record again with hands on the map's controls."};
  return takes;
}

}  // namespace mien::store
