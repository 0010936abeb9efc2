#include "talk/rivals.hpp"

#include <algorithm>
#include <cmath>
#include <set>
#include <vector>

#include "show/layer_edit.hpp"
#include "show/text.hpp"
#include "speech/place.hpp"

namespace mien::talk {
namespace {

using show::Time;

// When the layer is on: from where its weight leaves 0 to where it comes back.
std::vector<show::Range> on(const show::Layer& layer, Time length) {
  const auto& keys = layer.weight_curve;
  if (keys.empty()) return layer.weight > 0 ? std::vector<show::Range>{{Time{0}, length + Time{1}}} : std::vector<show::Range>{};
  std::vector<show::Range> all;
  if (keys.front().value > 0) all.push_back({Time{0}, keys.front().time});
  for (std::size_t k = 0; k < keys.size(); ++k) {
    const bool last = k + 1 == keys.size();
    if (keys[k].value <= 0 && (last || keys[k + 1].value <= 0)) continue;
    const show::Range range{keys[k].time, last ? std::max(length, keys[k].time) + Time{1} : keys[k + 1].time};
    if (!all.empty() && all.back().end == range.begin) all.back().end = range.end;
    else all.push_back(range);
  }
  return all;
}

// The keys of one hand on the mouth while it speaks.
struct Found {
  std::set<std::string> controls;
  std::size_t keys = 0;
  Time first{0}, last{0};

  void at(const std::string& control, Time from, Time to) {
    first = keys == 0 ? from : std::min(first, from), last = keys == 0 ? to : std::max(last, to);
    ++keys, controls.insert(control);
  }
  void in(const show::Channel& channel, const std::vector<show::Range>& while_on) {
    for (const show::Range& range : while_on)
      for (auto key = std::lower_bound(channel.keys.begin(), channel.keys.end(), range.begin, [](const auto& k, Time t) { return k.time < t; }); key != channel.keys.end() && key->time < range.end; ++key)
        at(channel.control, key->time, key->time);
  }
  std::string list() const {
    std::string all;
    for (const auto& control : controls) all += (all.empty() ? "" : ", ") + control;
    return all;
  }
  std::string where() const {
    const auto text = [](Time t) { return show::number_text(std::round(show::to_seconds(t) * 100) / 100); };
    return first == last ? text(first) + " s" : text(first) + " to " + text(last) + " s";
  }
};

// A mask names groups and controls.
bool let_through(const show::Rig& rig, const show::Layer& layer, const std::string& control) {
  const auto named = [&](const std::string& name) { return std::find(layer.mask.begin(), layer.mask.end(), name) != layer.mask.end(); };
  if (layer.mask.empty() || named(control)) return true;
  const auto known = std::find_if(rig.controls.begin(), rig.controls.end(), [&](const auto& c) { return c.name == control; });
  return known != rig.controls.end() && !known->group.empty() && named(known->group);
}

}  // namespace

show::Findings rivals_of_speech(const show::Show& show, const show::Rig& rig, const std::string& file) {
  const auto speech = show::find_layer(show, speech::kSpeechLayer);
  if (!speech || speech->muted || speech->channels.empty()) return {};
  const auto while_on = on(*speech, show.length);
  const auto spoken = [&](const std::string& control) {
    return let_through(rig, *speech, control) && std::any_of(speech->channels.begin(), speech->channels.end(), [&](const auto& c) { return c->control == control && !c->keys.empty(); });
  };
  const bool covers = speech->blend == show::Layer::Blend::over;
  const std::string name = std::string("layer '") + speech::kSpeechLayer + "'";
  show::Findings notes;
  const auto covered = [&](const std::string& place, const Found& found, const std::string& whose) {
    if (found.keys == 0) return;
    const std::string keys = std::to_string(found.keys) + (found.keys == 1 ? " key" : " keys");
    notes.push_back({show::Severity::note, file, place + ", " + found.where(), whose + keys + " of " + found.list() + (covers ? " there, which " + name + " covers" : " there, to which " + name + " adds"),
                     "Delete them, or mute " + name + " if they are meant to move the mouth" + (covers ? ": they do nothing while the line is said." : ".")});
  };

  Found own;
  for (const auto& channel : show.channels)
    if (spoken(channel->control)) own.in(*channel, while_on);
  covered("channels of the show", own, "the show has ");
  bool under = true;
  for (const auto& layer : show.layers) {
    if (layer == speech) { under = false; continue; }
    if (layer->muted) continue;
    Found found;
    for (const auto& channel : layer->channels)
      if (spoken(channel->control) && let_through(rig, *layer, channel->control)) found.in(*channel, while_on);
    for (const auto& p : layer->placements) {
      const auto clip = show::find_clip(show, p.clip);
      if (!clip) continue;
      const show::Range placed{p.start, p.start + show::duration(p, clip->length)};
      for (const show::Range& range : while_on) {
        const Time from = std::max(range.begin, placed.begin), to = std::min(range.end, placed.end);
        if (from >= to) continue;
        for (const auto& channel : clip->channels)
          if (!channel->keys.empty() && spoken(channel->control) && let_through(rig, *layer, channel->control)) found.at(channel->control, from, to);
      }
    }
    if (found.keys == 0) continue;
    const std::string place = "layer '" + layer->name + "'";
    if (under) covered(place, found, "it has ");
    else
      notes.push_back({show::Severity::note, file, place + ", " + found.where(), std::string(layer->blend == show::Layer::Blend::over ? "it takes the mouth over from " : "it adds to the mouth of ") + name + " while that speaks (" + found.list() + ")",
                       "Move it under " + name + ", take these controls out of its mask, or mute it; leave it if the mouth is meant to do more than speak."});
  }
  return notes;
}

}  // namespace mien::talk
