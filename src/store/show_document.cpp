#include <algorithm>

#include "show/text.hpp"
#include "store/cue_fields.hpp"
#include "store/header.hpp"
#include "store/layer_fields.hpp"
#include "store/version0.hpp"

namespace mien::store {
namespace {

// "1 3.5": begin and end; an empty text where there is no loop.
struct LoopText {
  std::optional<show::Range> loop;
};

template <class Archive>
std::string save_minimal(const Archive&, const LoopText& text) {
  return text.loop ? show::seconds_text(text.loop->begin) + " " + show::seconds_text(text.loop->end) : "";
}
template <class Archive>
void load_minimal(const Archive&, LoopText& loop, const std::string& text) {
  if (text.empty()) return;
  const std::size_t space = text.find(' ');
  if (space == std::string::npos)
    throw Broken{"", "'" + shown(text) + "' is not a loop",
                 "Write begin and end in seconds, as in \"1 3.5\", or \"\" for none."};
  loop.loop = show::Range{time_from(std::string_view(text).substr(0, space)),
                          time_from(std::string_view(text).substr(space + 1))};
}

// "1.5 first word": the time, a space, the name.
struct MarkerText {
  show::Marker marker;
};

template <class Archive>
std::string save_minimal(const Archive&, const MarkerText& text) {
  return show::seconds_text(text.marker.time) + " " + text.marker.name;
}
template <class Archive>
void load_minimal(const Archive&, MarkerText& marker, const std::string& text) {
  const std::size_t space = std::min(text.find(' '), text.size());
  marker.marker.time = time_from(std::string_view(text).substr(0, space));
  if (space < text.size()) marker.marker.name = text.substr(space + 1);
}

// Only where something is left out: other files are as they ever were.
void trim_end_field(cereal::JSONOutputArchive& archive, show::Time& trim) {
  if (trim != show::Time{0}) time_field(archive, "trim_end_s", trim);
}
void trim_end_field(cereal::JSONInputArchive& archive, show::Time& trim) {
  is_there("trim_end_s", [&] { time_field(archive, "trim_end_s", trim); });
}

template <class Archive>
void sound_fields(Archive& archive, show::Sound& sound) {
  field(archive, "file", sound.file);
  time_field(archive, "start_s", sound.start);
  time_field(archive, "trim_s", sound.trim);
  trim_end_field(archive, sound.trim_end);
  field(archive, "gain_db", sound.gain_db);
}

struct SoundText {
  show::Sound sound;
};
template <class Archive>
void serialize(Archive& archive, SoundText& text) {
  sound_fields(archive, text.sound);
}

}  // namespace

template <>
const char* kind_of<LoopText>() {
  return "a loop in quotes, as in \"1 3.5\"";
}
template <>
const char* kind_of<MarkerText>() {
  return "a marker in quotes, as in \"1.5 first word\"";
}

namespace {

template <class Archive>
void show_head(Archive& archive, show::Show& show) {
  LoopText loop{show.loop};
  std::vector<SoundText> sounds;
  std::vector<MarkerText> markers;
  for (const auto& sound : show.sounds) sounds.push_back({sound});
  for (const auto& marker : show.markers) markers.push_back({marker});
  field(archive, "name", show.name);
  field(archive, "rig", show.rig_file);
  time_field(archive, "length_s", show.length);
  field(archive, "loop_s", loop);
  list(archive, "sounds", "sound", sounds);
  list(archive, "markers", "marker", markers);
  show.loop = loop.loop;
  show.sounds.clear();
  show.markers.clear();
  for (auto& text : sounds) show.sounds.push_back(std::move(text.sound));
  for (auto& text : markers) show.markers.push_back(std::move(text.marker));
}

}  // namespace

std::string write_document(const show::Show& show) {
  TextSink sink;
  show::Show head = show;  // shares the channels; one list of fields serves reading and writing, so it wants them writable
  auto channels = channels_out(show.channels, sink, kShowKeysDepth);
  LayersOut layers(show, sink);
  constexpr std::size_t kUsualRow = 40;
  sink.text.reserve(4096 + keys_in(show.channels) * kUsualRow);
  const bool layered = !(show.poses.empty() && show.clips.empty() && show.layers.empty());
  const bool ends_trimmed = std::any_of(show.sounds.begin(), show.sounds.end(), [](const show::Sound& s) { return s.trim_end != show::Time{0}; });
  return write_file(sink, kShowFormat, [&](cereal::JSONOutputArchive& archive) {
    show_head(archive, head);
    list(archive, "channels", "channel", channels);
    layers.write(archive);
    write_cues(archive, show.cues);
  }, ends_trimmed ? kTrimmedVersion : !show.cues.empty() ? kCuedVersion : layered ? kLayeredVersion : kVersion);
}

show::Result<Document<show::Show>> read_show(std::string_view text, const std::string& file) {
  return FileReader(text, file)
      .read<show::Show>(kShowFormat, [](cereal::JSONInputArchive& archive, int version, Scanned& scanned) {
        if (version == 0) return version0::read_show(archive);
        show::Show show;
        show_head(archive, show);
        std::vector<ChannelIn> channels;
        list(archive, "channels", "channel", channels);
        show.channels = channels_from(channels, scanned);
        if (version >= kLayeredVersion) read_layers(archive, scanned, show);
        if (version >= kCuedVersion) show.cues = read_cues(archive);
        return show;
      }, kTrimmedVersion);
}

}  // namespace mien::store
