// Fields that shows, clips and layers have in common: times, and channels with their keys. Inside src/store.
#pragma once
#include "show/text.hpp"
#include "store/header.hpp"
#include "store/key_row.hpp"

namespace mien::store {

// Times are texts, since a JSON number would pass through a double: "1.25" is exactly 1250000000 ns.
struct Seconds {
  show::Time time{0};
};

inline show::Time time_from(std::string_view text) {
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

template <>
inline const char* kind_of<Seconds>() {
  return "a time in quotes, as in \"1.25\"";
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
  unsigned depth;  // of a key in the file
};
struct KeysOut {
  const std::vector<show::Keyframe>& keys;
  std::string& text;
  unsigned depth;
};
inline constexpr unsigned kShowKeysDepth = 4;   // show, channels, channel, keys
inline constexpr unsigned kPartKeysDepth = 6;   // show, clips, clip, channels, channel, keys; a layer's, too

inline void save(cereal::JSONOutputArchive& archive, const KeysOut& out) {
  const std::string separator = ",\n" + std::string(std::size_t{out.depth} * kIndent, ' ') + '"';
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

inline void save(cereal::JSONOutputArchive& archive, const ChannelOut& out) {
  const KeysOut keys{out.channel->keys, out.sink->text, out.depth};
  field(archive, "control", out.channel->control);
  field(archive, "keys", keys);
}

// A channel on its way in: `keys` is the mark that the scan left in place of the key rows.
struct ChannelIn {
  std::string name;  // of the control; called name for the sake of findings
  std::string keys;
};

inline void load(cereal::JSONInputArchive& archive, ChannelIn& in) {
  field(archive, "control", in.name);
  reading("keys", "a list of keys, each a text in quotes", [&] { archive(cereal::make_nvp("keys", in.keys)); });
  if (in.keys.empty() || in.keys.front() != kKeysMark)
    throw Broken{"keys", "is not a list of keys", "Write a list in [ ] of texts as \"1.25 0.8 smooth\"."};
}

inline std::vector<show::ChannelPtr> channels_from(std::vector<ChannelIn>& read, Scanned& scanned) {
  std::vector<show::ChannelPtr> channels;
  for (ChannelIn& in : read) {
    const std::size_t index = std::stoul(in.keys.substr(1));
    channels.push_back(
        std::make_shared<const show::Channel>(show::Channel{std::move(in.name), std::move(scanned.keys.at(index))}));
  }
  return channels;
}

inline std::vector<ChannelOut> channels_out(const std::vector<show::ChannelPtr>& channels, TextSink& sink, unsigned depth) {
  std::vector<ChannelOut> out;
  for (const auto& channel : channels) out.push_back({channel.get(), &sink, depth});
  return out;
}

inline std::size_t keys_in(const std::vector<show::ChannelPtr>& channels) {
  std::size_t keys = 0;
  for (const auto& channel : channels) keys += channel->keys.size();
  return keys;
}

}  // namespace mien::store
