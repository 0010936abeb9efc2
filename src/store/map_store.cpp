#include "store/map_store.hpp"

#include <algorithm>

#include "show/text.hpp"
#include "store/header.hpp"

namespace mien::live {

using store::field;

// A word out of a few, in the file.
template <class T, auto Parse>
struct Word {
  T& value;
  const char* like;
};

template <class Archive, class T, auto Parse>
std::string save_minimal(const Archive&, const Word<T, Parse>& word) {
  return name(word.value);
}
template <class Archive, class T, auto Parse>
void load_minimal(const Archive&, Word<T, Parse>& word, const std::string& text) {
  const auto value = Parse(text);
  if (!value) throw store::Broken{"", "'" + store::shown(text) + "' is none of these: " + word.like, "Use one of them."};
  word.value = *value;
}

// A source as text, "controller 7", without device and channel.
struct SourceText {
  Source& source;
};
template <class Archive>
std::string save_minimal(const Archive&, const SourceText& text) {
  return to_text(text.source);
}
template <class Archive>
void load_minimal(const Archive&, SourceText& text, const std::string& written) {
  const auto source = parse_source(written);
  if (!source)
    throw store::Broken{"", "'" + store::shown(written) + "' is no source",
                        "Write controller, controller-14, note, key-pressure, axis, button or slot and a number, bend, pressure, or osc and an address, as in \"controller 7\"."};
  text.source.kind = source->kind, text.source.number = source->number, text.source.address = source->address;
}

template <class Archive>
void source_fields(Archive& archive, Source& source) {
  SourceText text{source};
  field(archive, "source", text);
  field(archive, "device", source.device, std::string());
  field(archive, "channel", source.channel, 0);
}

template <class Archive>
void serialize(Archive& archive, Knob& knob) {
  const Knob usual;
  source_fields(archive, knob.source);
  field(archive, "control", knob.control);
  field(archive, "low", knob.low);
  field(archive, "high", knob.high);
  field(archive, "inverted", knob.inverted, usual.inverted);
  field(archive, "curve", knob.curve, usual.curve);
  field(archive, "dead_zone", knob.dead_zone, usual.dead_zone);
  field(archive, "smoothing_ms", knob.smoothing_ms, usual.smoothing_ms);
  Word<Takeover, parse_takeover> takeover{knob.takeover, "pick-up, scaled, glide"};
  field(archive, "takeover", takeover);
  field(archive, "spring_back_s", knob.spring_back_s, usual.spring_back_s);
  field(archive, "bank", knob.bank, usual.bank);
}

template <class Archive>
void serialize(Archive& archive, Trigger& trigger) {
  const Trigger usual;
  source_fields(archive, trigger.source);
  Word<Trigger::What, parse_what> what{trigger.what, "pose, clip, bank, panic, cue"};
  field(archive, "does", what);
  field(archive, "name", trigger.name, std::string());
  Word<Trigger::Hold, parse_hold> hold{trigger.hold, "momentary, latch, once"};
  field(archive, "hold", hold);
  field(archive, "curve", trigger.curve, usual.curve);
  field(archive, "fade_in_s", trigger.fade_in_s);
  field(archive, "fade_out_s", trigger.fade_out_s);
  field(archive, "bank", trigger.bank, usual.bank);
}

}  // namespace mien::live

namespace mien::store {
namespace {

constexpr std::uintmax_t kLargestMap = 4u << 20;

template <class Archive>
void fields(Archive& archive, live::HandMap& map) {
  field(archive, "name", map.name);
  field(archive, "fade_s", map.fade_s);
  optional_list(archive, "banks", "bank", map.banks);
  list(archive, "knobs", "knob", map.knobs);
  list(archive, "triggers", "trigger", map.triggers);
}

}  // namespace

std::string write_map(const live::HandMap& map) {
  TextSink sink;
  live::HandMap copy = map;  // one list of fields serves reading and writing, so it wants them writable
  return write_file(sink, kMapFormat, [&](cereal::JSONOutputArchive& archive) { fields(archive, copy); });
}

show::Result<live::HandMap> read_map(std::string_view text, const std::string& file) {
  auto document = FileReader(text, file).read<live::HandMap>(kMapFormat, [](cereal::JSONInputArchive& archive, int, Scanned&) {
    live::HandMap map;
    fields(archive, map);
    return map;
  });
  if (!document) return document.problem();
  return std::move(document->content);
}

show::Result<LoadedMap> load_map(const Path& path, const show::Rig& rig, const show::Show* show) {
  auto text = read_file(path, kLargestMap);
  if (!text) return text.problem();
  auto map = read_map(*text, path.string());
  if (!map) return map.problem();
  LoadedMap loaded{std::move(*map), {}};
  const auto findings = validate(loaded.map, rig, path.string());
  if (!findings.empty()) {
    show::Finding first = findings.front();
    if (findings.size() > 1) first.cure += (first.cure.empty() ? "" : " ") + std::string("Findings in this file: ") + std::to_string(findings.size()) + ".";
    return first;
  }
  if (show) loaded.notes = unmet(loaded.map, *show, path.string());
  return loaded;
}

std::optional<show::Finding> save_map(const Path& path, const live::HandMap& map, Disk& disk) {
  const std::string text = write_map(map);
  const auto back = read_map(text, path.string());
  if (back) return replace_file(path, text, disk);
  return show::Finding{show::Severity::error, path.string(), back.problem().place, "is not saved, since it could not be read back: " + back.problem().what,
                       "Change that name or number, then save again."};
}

}  // namespace mien::store
