#include "store/layer_fields.hpp"

#include <algorithm>
#include <charconv>

namespace mien::store {
namespace {


// "12 6": numbers of action units.
struct UnitsText { std::vector<int> units; };
// "0.8 smile_left": value and control, as a rig's terms are written.
struct ValueText { show::Pose::Value value; };
// "0.25 ease-in-out": how long a fade takes, and its easing.
struct FadeText {
  show::Time time{0};
  show::Easing easing = show::kEaseInOut;
};
struct KeyText { show::Keyframe key; };
struct BlendText { show::Layer::Blend blend = show::Layer::Blend::over; };
struct MannerText { show::IdleLife::Manner manner = show::IdleLife::Manner::resting; };

template <class Archive>
std::string save_minimal(const Archive&, const UnitsText& text) {
  std::string all;
  for (const int unit : text.units) all += (all.empty() ? "" : " ") + std::to_string(unit);
  return all;
}
template <class Archive>
void load_minimal(const Archive&, UnitsText& to, const std::string& text) {
  const char* at = text.data();
  const char* end = at + text.size();
  while (at != end) {
    int unit = 0;
    const auto [stop, error] = std::from_chars(at, end, unit);
    if (error != std::errc{} || (stop != end && *stop != ' ') || to.units.size() == 64)
      throw Broken{"", "'" + shown(text) + "' is not a list of action units", "Write numbers, as in \"6 12\", or \"\" for none."};
    to.units.push_back(unit);
    at = std::find_if(stop, end, [](char c) { return c != ' '; });
  }
}

template <class Archive>
std::string save_minimal(const Archive&, const ValueText& text) {
  return show::number_text(text.value.value) + " " + text.value.control;
}
template <class Archive>
void load_minimal(const Archive&, ValueText& to, const std::string& text) {
  const std::size_t space = std::min(text.find(' '), text.size());
  const auto value = show::parse_number(std::string_view(text).substr(0, space));
  if (!value || space + 1 >= text.size()) throw Broken{"", "'" + shown(text) + "' is not a value of a pose", "Write value and control, as in \"0.8 smile_left\"."};
  to.value = {text.substr(space + 1), *value};
}

template <class Archive>
std::string save_minimal(const Archive&, const FadeText& text) {
  return show::seconds_text(text.time) + " " + show::to_text(text.easing);
}
template <class Archive>
void load_minimal(const Archive&, FadeText& to, const std::string& text) {
  const std::size_t space = std::min(text.find(' '), text.size());
  const auto easing = show::parse_easing(std::string_view(text).substr(std::min(space + 1, text.size())));
  if (!easing) throw Broken{"", "'" + shown(text) + "' is not a fade", "Write seconds and an easing, as in \"0.25 ease-in-out\"."};
  to = {time_from(std::string_view(text).substr(0, space)), *easing};
}

template <class Archive>
std::string save_minimal(const Archive&, const KeyText& text) {
  std::string row;
  append_key_row(row, text.key);
  return row;
}
template <class Archive>
void load_minimal(const Archive&, KeyText& to, const std::string& text) {
  const auto key = parse_key_row(text);
  if (!key) throw Broken{"", "'" + shown(text) + "' is not a key", "Write time in seconds, value and easing, as in \"1.25 0.8 smooth\"."};
  to.key = *key;
}

template <class Archive>
std::string save_minimal(const Archive&, const BlendText& text) { return name(text.blend); }
template <class Archive>
void load_minimal(const Archive&, BlendText& to, const std::string& text) {
  const auto blend = show::parse_blend(text);
  if (!blend) throw Broken{"", "'" + shown(text) + "' is no way to blend", "Write \"over\" or \"add\"."};
  to.blend = *blend;
}

template <class Archive>
std::string save_minimal(const Archive&, const MannerText& text) { return name(text.manner); }
template <class Archive>
void load_minimal(const Archive&, MannerText& to, const std::string& text) {
  const auto manner = show::parse_manner(text);
  if (!manner) throw Broken{"", "'" + shown(text) + "' is no manner of idle life", "Write \"resting\", \"listening\", \"speaking\" or \"reading\"."};
  to.manner = *manner;
}

}  // namespace

template <>
const char* kind_of<UnitsText>() { return "action units in quotes, as in \"6 12\""; }
template <>
const char* kind_of<ValueText>() { return "a value in quotes, as in \"0.8 smile_left\""; }
template <>
const char* kind_of<FadeText>() { return "a fade in quotes, as in \"0.25 ease-in-out\""; }
template <>
const char* kind_of<KeyText>() { return "a key in quotes, as in \"1.25 0.8 smooth\""; }
template <>
const char* kind_of<BlendText>() { return "a text in quotes"; }
template <>
const char* kind_of<MannerText>() { return "a text in quotes"; }

namespace {

// Each part as it goes through an archive, and what its findings call it.
struct PoseFields {
  std::string name;
  UnitsText units;
  std::string group;
  std::vector<ValueText> values;
};
template <class Archive>
void serialize(Archive& archive, PoseFields& pose) {
  field(archive, "name", pose.name);
  field(archive, "action_units", pose.units);
  field(archive, "group", pose.group, std::string());
  list(archive, "values", "value", pose.values);
}

struct PlacementFields {
  show::Placement placement;
};
template <class Archive>
void serialize(Archive& archive, PlacementFields& fields) {
  show::Placement& p = fields.placement;
  FadeText in{p.fade_in, p.fade_in_easing}, out{p.fade_out, p.fade_out_easing};
  field(archive, "clip", p.clip);
  time_field(archive, "start_s", p.start);
  time_field(archive, "offset_s", p.offset);
  field(archive, "rate", p.rate);
  field(archive, "weight", p.weight);
  field(archive, "repeats", p.repeats);
  field(archive, "fade_in", in), field(archive, "fade_out", out);
  p.fade_in = in.time, p.fade_in_easing = in.easing, p.fade_out = out.time, p.fade_out_easing = out.easing;
}

struct IdleFields {
  show::IdleLife life;
};
template <class Archive>
void serialize(Archive& archive, IdleFields& fields) {
  show::IdleLife& life = fields.life;
  MannerText manner{life.manner};
  field(archive, "seed", life.seed);
  field(archive, "manner", manner);
  field(archive, "blinks", life.blinks);
  field(archive, "gaze", life.gaze);
  field(archive, "brows", life.brows);
  field(archive, "head", life.head);
  life.manner = manner.manner;
}

// A clip or a layer, but for its channels, which differ on their way out and in.
struct ClipHead {
  std::string name;
  show::Time length{0};
};
template <class Archive>
void fields(Archive& archive, ClipHead& clip) {
  field(archive, "name", clip.name);
  time_field(archive, "length_s", clip.length);
}
struct LayerHead {
  std::string name;
  BlendText blend;
  bool muted = false;
  double weight = 1;
  std::vector<KeyText> weight_curve;
  std::vector<std::string> mask;
  std::vector<PlacementFields> placements;
  std::optional<IdleFields> idle;
};
template <class Archive>
void fields(Archive& archive, LayerHead& layer) {
  field(archive, "name", layer.name);
  field(archive, "blend", layer.blend);
  field(archive, "muted", layer.muted, false);
  field(archive, "weight", layer.weight);
  optional_list(archive, "weight_curve", "key", layer.weight_curve);
  optional_list(archive, "mask", "name", layer.mask);
  optional_list(archive, "placements", "placement", layer.placements);
  optional_field(archive, "idle", layer.idle);
}

template <class Head>
struct PartOut : Head {
  std::vector<ChannelOut> channels;
};
template <class Head>
void save(cereal::JSONOutputArchive& archive, const PartOut<Head>& part) {
  PartOut<Head> writable = part;  // one list of fields serves reading and writing
  fields(archive, static_cast<Head&>(writable));
  optional_list(archive, "channels", "channel", writable.channels);
}
template <class Head>
struct PartIn : Head {
  std::vector<ChannelIn> channels;
};
template <class Head>
void load(cereal::JSONInputArchive& archive, PartIn<Head>& part) {
  fields(archive, static_cast<Head&>(part));
  optional_list(archive, "channels", "channel", part.channels);
}

PoseFields fields_of(const show::Pose& pose) {
  PoseFields fields{pose.name, {pose.action_units}, pose.group, {}};
  for (const auto& value : pose.values) fields.values.push_back({value});
  return fields;
}

PartOut<LayerHead> out_of(const show::Layer& layer, TextSink& sink) {
  PartOut<LayerHead> out{{layer.name, {layer.blend}, layer.muted, layer.weight, {}, layer.mask, {}, {}}, channels_out(layer.channels, sink, kPartKeysDepth)};
  for (const auto& key : layer.weight_curve) out.weight_curve.push_back({key});
  for (const auto& placement : layer.placements) out.placements.push_back({placement});
  if (layer.idle) out.idle = IdleFields{*layer.idle};
  return out;
}

show::PosePtr pose_from(PoseFields& fields) {
  show::Pose pose{std::move(fields.name), std::move(fields.units.units), std::move(fields.group), {}};
  for (auto& value : fields.values) pose.values.push_back(std::move(value.value));
  return std::make_shared<const show::Pose>(std::move(pose));
}

show::LayerPtr layer_from(PartIn<LayerHead>& in, Scanned& scanned) {
  show::Layer layer{std::move(in.name), in.blend.blend, in.muted, in.weight, {}, std::move(in.mask), channels_from(in.channels, scanned), {}, {}};
  for (const auto& key : in.weight_curve) layer.weight_curve.push_back(key.key);
  for (auto& fields : in.placements) layer.placements.push_back(std::move(fields.placement));
  if (in.idle) layer.idle = in.idle->life;
  return std::make_shared<const show::Layer>(std::move(layer));
}

template <class Into>
void read_shared(cereal::JSONInputArchive& archive, Scanned& scanned, Into& into) {
  std::vector<PoseFields> poses;
  std::vector<PartIn<ClipHead>> clips;
  optional_list(archive, "poses", "pose", poses);
  optional_list(archive, "clips", "clip", clips);
  for (auto& pose : poses) into.poses.push_back(pose_from(pose));
  for (auto& in : clips) into.clips.push_back(std::make_shared<const show::Clip>(show::Clip{std::move(in.name), in.length, channels_from(in.channels, scanned)}));
}

}  // namespace

struct LayersOut::Parts {
  std::vector<PoseFields> poses;
  std::vector<PartOut<ClipHead>> clips;
  std::vector<PartOut<LayerHead>> layers;

  template <class From>
  Parts(const From& from, TextSink& sink) {
    for (const auto& pose : from.poses) poses.push_back(fields_of(*pose));
    for (const auto& clip : from.clips) clips.push_back({{clip->name, clip->length}, channels_out(clip->channels, sink, kPartKeysDepth)});
  }
};

LayersOut::LayersOut(const show::Show& show, TextSink& sink) : parts_(std::make_unique<Parts>(show, sink)) {
  for (const auto& layer : show.layers) parts_->layers.push_back(out_of(*layer, sink));
}
LayersOut::LayersOut(const show::Library& library, TextSink& sink) : parts_(std::make_unique<Parts>(library, sink)) {}
LayersOut::~LayersOut() = default;

void LayersOut::write(cereal::JSONOutputArchive& archive) {
  optional_list(archive, "poses", "pose", parts_->poses);
  optional_list(archive, "clips", "clip", parts_->clips);
  optional_list(archive, "layers", "layer", parts_->layers);
}

void read_layers(cereal::JSONInputArchive& archive, Scanned& scanned, show::Show& into) {
  read_shared(archive, scanned, into);
  std::vector<PartIn<LayerHead>> layers;
  optional_list(archive, "layers", "layer", layers);
  for (auto& layer : layers) into.layers.push_back(layer_from(layer, scanned));
}

void read_layers(cereal::JSONInputArchive& archive, Scanned& scanned, show::Library& into) { read_shared(archive, scanned, into); }

// -------------------------------------------------------------------------------------------------------------------- libraries

std::string write_document(const show::Library& library) {
  TextSink sink;
  LayersOut parts(library, sink);
  std::string name = library.name;
  return write_file(sink, kLibraryFormat, [&](cereal::JSONOutputArchive& archive) {
    field(archive, "name", name);
    parts.write(archive);
  });
}

show::Result<Document<show::Library>> read_library(std::string_view text, const std::string& file) {
  return FileReader(text, file).read<show::Library>(kLibraryFormat, [](cereal::JSONInputArchive& archive, int, Scanned& scanned) {
    show::Library library;
    field(archive, "name", library.name);
    read_layers(archive, scanned, library);
    return library;
  });
}

}  // namespace mien::store
