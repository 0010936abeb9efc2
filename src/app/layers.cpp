// mien layer: what lies on a show's channels.
#include <cstdio>

#include "app/commands.hpp"
#include "app/interrupt.hpp"
#include "app/show_edit.hpp"
#include "app/text.hpp"
#include "perform/bake_layers.hpp"
#include "show/layer_edit.hpp"
#include "show/text.hpp"

namespace mien::app {
namespace {

show::Finding no_layer(const show::Show& show, const std::string& file, const std::string& name) {
  std::vector<std::string> known;
  for (const auto& layer : show.layers) known.push_back(layer->name);
  const std::string hint = show::suggestion(name, known);
  return refused(file, "", "the show has no layer '" + name + "'", hint.empty() ? "Add it with 'mien layer add' or 'mien layer idle'." : hint);
}

std::string joined(const std::vector<std::string>& names) {
  std::string all;
  for (const auto& name : names) all += (all.empty() ? "" : ", ") + name;
  return all;
}

std::string content_of(const show::Layer& layer) {
  std::vector<std::string> parts;
  if (layer.idle) parts.push_back(std::string("idle life, ") + show::name(layer.idle->manner) + ", seed " + std::to_string(layer.idle->seed));
  if (!layer.placements.empty()) parts.push_back(std::to_string(layer.placements.size()) + (layer.placements.size() == 1 ? " placement" : " placements"));
  if (!layer.channels.empty()) parts.push_back(std::to_string(layer.channels.size()) + (layer.channels.size() == 1 ? " channel" : " channels"));
  return parts.empty() ? "nothing" : joined(parts);
}

void print_layers(const show::Show& show, bool as_json) {
  Json json;
  json.open_array();
  Table table{{"layer", "blend", "weight", "muted", "mask", "content"}};
  for (const auto& layer : show.layers) {
    const std::string weight = layer->weight_curve.empty() ? number(layer->weight) : "curve of " + std::to_string(layer->weight_curve.size()) + " keys";
    table.push_back({layer->name, show::name(layer->blend), weight, layer->muted ? "muted" : "-", layer->mask.empty() ? "-" : joined(layer->mask), content_of(*layer)});
    json.open_object().member("layer", layer->name).member("blend", show::name(layer->blend)).member("muted", layer->muted).member("weight", layer->weight);
    json.member("weight_keys", double(layer->weight_curve.size())).member("channels", double(layer->channels.size())).open_array("mask");
    for (const auto& name : layer->mask) json.member("", name);
    json.close().open_array("placements");
    for (const auto& p : layer->placements)
      json.open_object().member("clip", p.clip).member("start_s", show::to_seconds(p.start)).member("rate", p.rate).member("weight", p.weight).member("repeats", double(p.repeats)).close();
    json.close();
    if (layer->idle) json.open_object("idle").member("seed", double(layer->idle->seed)).member("manner", show::name(layer->idle->manner)).close();
    json.close();
  }
  if (as_json) std::printf("%s\n", json.close().text().c_str());
  else std::printf("%s", aligned(table).c_str());
}

}  // namespace

int run_layer_list(const LayerWords& words) {
  const auto loaded = store::load_show(words.show);
  if (!loaded) return tell(loaded.problem());
  const int code = tell(loaded->notes);
  print_layers(*loaded->show, words.json);
  return code;
}

int run_layer_add(const LayerWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    if (show::find_layer(e.show, words.name)) return refused(words.show, "", "the show has a layer '" + words.name + "' already", "Give the new one another name.");
    show::Layer layer;
    layer.name = words.name, layer.weight = words.weight, layer.mask = words.mask;
    layer.blend = words.add ? show::Layer::Blend::add : show::Layer::Blend::over;
    e.show = show::with_layer(e.show, std::move(layer));
    return "layer '" + words.name + "'";
  });
}

int run_layer_idle(const LayerWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    show::Layer layer;
    if (const auto known = show::find_layer(e.show, words.name)) layer = *known;
    layer.name = words.name, layer.weight = words.weight, layer.weight_curve.clear(), layer.mask = words.mask;
    layer.blend = words.over ? show::Layer::Blend::over : show::Layer::Blend::add;
    layer.idle = show::IdleLife{words.seed, show::parse_manner(words.manner).value_or(show::IdleLife::Manner::resting), words.blinks, words.gaze, words.brows, words.head};
    e.show = show::with_layer(e.show, std::move(layer));
    return "layer '" + words.name + "' of idle life, " + words.manner + ", seed " + std::to_string(words.seed);
  });
}

int run_layer_mute(const LayerWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    if (!show::find_layer(e.show, words.name)) return no_layer(e.show, words.show, words.name);
    e.show = show::with_layer_muted(e.show, words.name, !words.off);
    return "layer '" + words.name + (words.off ? "' is performed" : "' is muted");
  });
}

int run_layer_remove(const LayerWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    if (!show::find_layer(e.show, words.name)) return no_layer(e.show, words.show, words.name);
    e.show = show::without_layer(e.show, words.name);
    return "layer '" + words.name + "' is deleted";
  });
}

int run_layer_bake(const LayerWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    if (!show::find_layer(e.show, words.name)) return no_layer(e.show, words.show, words.name);
    auto baked = perform::baked_down(e.rig, e.show, words.name, {words.error_percent / 100, [](double) { return !interrupted(); }});
    if (baked.stopped) return refused(words.show, "", "stopped before it was done; nothing was written", "Run it again.");
    e.show = std::move(baked.show);
    return std::to_string(baked.layers) + (baked.layers == 1 ? " layer" : " layers") + " baked down to " + std::to_string(baked.keys) + " keys in " + std::to_string(baked.channels) + " channels";
  });
}

}  // namespace mien::app
