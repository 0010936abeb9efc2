#include <algorithm>

#include "show/text.hpp"
#include "store/header.hpp"
#include "store/key_row.hpp"
#include "store/version0.hpp"

namespace mien::store {
namespace {

// Times are texts, since a JSON number would pass through a double: "1.25" is exactly 1250000000 ns.
struct Seconds {
  show::Time time{0};
};

show::Time time_from(std::string_view text) {
  const auto time = show::parse_seconds(text);
  if (!time) throw Broken{"", "'" + shown(text) + "' is not a time", "Write seconds in quotes, as in \"1.25\"."};
  return *time;
}

template <class Archive>
std::string save_minimal(const Archive&, const Seconds& seconds) {
  return show::seconds_text(seconds.time);
}
template <class Archive>
void load_minimal(const Archive&, Seconds& seconds, const std::string& text) {
  seconds.time = time_from(text);
}

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

template <class Archive>
void time_field(Archive& archive, const char* name, show::Time& time) {
  Seconds seconds{time};
  field(archive, name, seconds);
  time = seconds.time;
}

// A channel on its way out: its keys go straight to the sink, all but the first, which makes the archive begin its list.
struct ChannelOut {
  const show::Channel* channel;
  TextSink* sink;
};
struct KeysOut {
  const std::vector<show::Keyframe>& keys;
  std::string& text;
};

void save(cereal::JSONOutputArchive& archive, const KeysOut& out) {
  constexpr std::size_t kDepth = 4;  // of a key in the file: show, channels, channel, keys
  static const std::string separator = ",\n" + std::string(kDepth * kIndent, ' ') + '"';
  archive(cereal::make_size_tag(static_cast<cereal::size_type>(out.keys.size())));
  if (out.keys.empty()) return;
  std::string first;
  append_key_row(first, out.keys.front());
  archive(first);
  for (auto key = out.keys.begin() + 1; key != out.keys.end(); ++key) {
    out.text += separator;
    append_key_row(out.text, *key);
    out.text += '"';
  }
}

void save(cereal::JSONOutputArchive& archive, const ChannelOut& out) {
  const KeysOut keys{out.channel->keys, out.sink->text};
  field(archive, "control", out.channel->control);
  field(archive, "keys", keys);
}

// A channel on its way in: `keys` is the mark that the scan left in place of the key rows.
struct ChannelIn {
  std::string name;  // of the control; called name for the sake of findings
  std::string keys;
};

void load(cereal::JSONInputArchive& archive, ChannelIn& in) {
  field(archive, "control", in.name);
  reading("keys", "a list of keys, each a text in quotes", [&] { archive(cereal::make_nvp("keys", in.keys)); });
  if (in.keys.empty() || in.keys.front() != kKeysMark)
    throw Broken{"keys", "is not a list of keys", "Write a list in [ ] of texts as \"1.25 0.8 smooth\"."};
}

template <class Archive>
void sound_fields(Archive& archive, show::Sound& sound) {
  field(archive, "file", sound.file);
  time_field(archive, "start_s", sound.start);
  time_field(archive, "trim_s", sound.trim);
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
const char* kind_of<Seconds>() {
  return "a time in quotes, as in \"1.25\"";
}
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

std::vector<show::ChannelPtr> channels_from(std::vector<ChannelIn>& read, Scanned& scanned) {
  std::vector<show::ChannelPtr> channels;
  for (ChannelIn& in : read) {
    const std::size_t index = std::stoul(in.keys.substr(1));
    channels.push_back(
        std::make_shared<const show::Channel>(show::Channel{std::move(in.name), std::move(scanned.keys.at(index))}));
  }
  return channels;
}

}  // namespace

std::string write_document(const show::Show& show) {
  TextSink sink;
  show::Show head =
      show;  // shares the channels; one list of fields serves reading and writing, so it wants them writable
  std::vector<ChannelOut> channels;
  std::size_t keys = 0;
  for (const auto& channel : show.channels) channels.push_back({channel.get(), &sink}), keys += channel->keys.size();
  constexpr std::size_t kUsualRow = 40;
  sink.text.reserve(4096 + keys * kUsualRow);
  return write_file(sink, kShowFormat, [&](cereal::JSONOutputArchive& archive) {
    show_head(archive, head);
    list(archive, "channels", "channel", channels);
  });
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
        return show;
      });
}

}  // namespace mien::store
