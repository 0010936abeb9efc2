#include <algorithm>
#include <cmath>
#include <set>

#include "show/channel_check.hpp"
#include "show/facs.hpp"
#include "show/validate.hpp"

namespace mien::show {
namespace {

class LayerCheck {
 public:
  LayerCheck(const Show& show, const Rig& rig, ChannelCheck& channels, Report& report)
      : show_(show), rig_(rig), channels_(channels), report_(report), groups_(names_of(rig.groups)), controls_(names_of(rig.controls)) {
    for (const ClipPtr& clip : show.clips) clips_.push_back(clip->name);
    masks_ = groups_;
    masks_.insert(masks_.end(), controls_.begin(), controls_.end());
  }

  void run() {
    names("pose", show_.poses), names("clip", show_.clips), names("layer", show_.layers);
    for (std::size_t i = 0; i < show_.poses.size(); ++i) pose(*show_.poses[i], titled("pose", show_.poses[i]->name, i));
    for (std::size_t i = 0; i < show_.clips.size(); ++i) clip(*show_.clips[i], titled("clip", show_.clips[i]->name, i));
    if (show_.layers.size() > kMaxLayers)
      report_.error("layers", "there are " + std::to_string(show_.layers.size()), "Keep to " + std::to_string(kMaxLayers) + "; bake some of them down.");
    for (std::size_t i = 0; i < show_.layers.size(); ++i) layer(*show_.layers[i], titled("layer", show_.layers[i]->name, i));
  }

 private:
  template <class Part>
  void names(const std::string& kind, const std::vector<std::shared_ptr<const Part>>& parts) {
    std::set<std::string> seen;
    for (std::size_t i = 0; i < parts.size(); ++i) {
      const std::string place = titled(kind, parts[i]->name, i);
      if (parts[i]->name.empty()) report_.error(place, "has no name", "Give it one.");
      else if (!seen.insert(parts[i]->name).second) report_.error(place, "there is more than one " + kind + " of this name", "Rename one of them.");
    }
  }

  void pose(const Pose& pose, const std::string& place) {
    if (pose.values.empty()) report_.warning(place, "has no values, so it does nothing", "Capture it anew, or take it out.");
    if (!pose.group.empty()) report_.must_be_known(groups_, "group", pose.group, place + ", group", "Leave it empty for the whole face.");
    for (const int unit : pose.action_units)
      if (action_unit_name(unit).empty())
        report_.warning(place + ", action_units", "there is no action unit " + std::to_string(unit) + " in the list of FACS", "Give one of the list, as 12 for the lip corner puller.");
    std::set<std::string> seen;
    for (const Pose::Value& value : pose.values) {
      const std::string title = place + ", control " + quoted(value.control);
      if (!seen.insert(value.control).second) report_.error(title, "has more than one value", "Keep one of them.");
      const Control* control = channels_.known(value.control, title);
      if (!std::isfinite(value.value)) report_.error(title, "is not a finite number", "Give the value again.");
      else if (control && (value.value < control->min || value.value > control->max))
        report_.warning(title, "is " + number_text(value.value) + ", beyond the control's range " + number_text(control->min) + " to " + number_text(control->max),
                        "Bring the value into the range, or widen the control in the rig.");
    }
  }

  void clip(const Clip& clip, const std::string& place) {
    if (clip.length <= Time{0}) report_.error(place + ", length", "is " + seconds_text(clip.length) + " s", "Give the clip a length above zero.");
    if (clip.channels.empty()) report_.warning(place, "has no channels, so it does nothing", "Make it of some keys, or take it out.");
    channels_.check_all(clip.channels, place + ", ", clip.length, "the clip");
  }

  void weight(const std::string& place, double weight, Layer::Blend blend) {
    const double most = blend == Layer::Blend::add ? kMostWeight : 1;
    if (!std::isfinite(weight) || weight < 0 || weight > kMostWeight)
      report_.error(place, "is " + number_text(weight), "Give 0 to " + number_text(most) + ".");
    else if (weight > most) report_.warning(place, "is " + number_text(weight) + " on a layer that overrides, where 1 is all there is", "Give 0 to 1, or let the layer add.");
  }

  void layer(const Layer& layer, const std::string& place) {
    weight(place + ", weight", layer.weight, layer.blend);
    channels_.keys({"", layer.weight_curve}, place + ", weight_curve", show_.length, "the show");
    for (const Keyframe& key : layer.weight_curve) weight(place + ", weight_curve" + at(key.time), key.value, layer.blend);
    for (const std::string& name : layer.mask)
      if (std::find(masks_.begin(), masks_.end(), name) == masks_.end())
        report_.error(place + ", mask", "there is no group and no control " + quoted(name), cure_for_unknown(name, masks_, "Leave the mask empty for the whole face."));
    channels_.check_all(layer.channels, place + ", ", show_.length, "the show");
    for (std::size_t i = 0; i < layer.placements.size(); ++i)
      placement(layer.placements[i], layer.blend, place + ", " + titled("placement", layer.placements[i].clip, i) + at(layer.placements[i].start));
    if (layer.idle) idle(*layer.idle, place + ", idle");
    if (layer.channels.empty() && layer.placements.empty() && !layer.idle)
      report_.warning(place, "is empty, so it does nothing", "Place a clip on it, key it, give it idle life, or take it out.");
  }

  void placement(const Placement& p, Layer::Blend blend, const std::string& place) {
    report_.must_be_known(clips_, "clip", p.clip, place, "Make the clip, or take the placement out.");
    const bool rate_is_sound = std::isfinite(p.rate) && p.rate > 0 && p.rate <= kMostRate;
    const bool repeats_are_sound = p.repeats >= 1 && p.repeats <= kMostRepeats;
    if (!rate_is_sound) report_.error(place + ", rate", "is " + number_text(p.rate), "Give more than 0 and at most " + number_text(kMostRate) + "; 1 plays it as it was made.");
    if (!repeats_are_sound) report_.error(place + ", repeats", "is " + std::to_string(p.repeats), "Give 1 to " + std::to_string(kMostRepeats) + ".");
    weight(place + ", weight", p.weight, blend);
    fade(p.fade_in, p.fade_in_easing, place + ", fade_in"), fade(p.fade_out, p.fade_out_easing, place + ", fade_out");
    if (p.offset < Time{0}) report_.error(place + ", offset", "is " + seconds_text(p.offset) + " s", "Give zero or more.");
    const ClipPtr clip = find_clip(show_, p.clip);
    if (!clip || clip->length <= Time{0} || !rate_is_sound || !repeats_are_sound || p.offset < Time{0}) return;
    const Time length = duration(p, clip->length);
    if (length <= Time{0}) {
      report_.error(place + ", offset", "is " + seconds_text(p.offset) + " s, which leaves nothing of the clip", "Give less than the clip's length times its repeats.");
      return;
    }
    if (p.fade_in > length || p.fade_out > length - p.fade_in)
      report_.warning(place, "its fades take longer than the " + seconds_text(length) + " s that it lasts, so they are shortened", "Shorten them, or repeat the clip.");
    if (p.start >= show_.length || p.start + length <= Time{0}) report_.warning(place, "lies outside the show", "Move it, or lengthen the show.");
  }

  void fade(Time fade, const Easing& easing, const std::string& place) {
    if (fade < Time{0}) report_.error(place, "is " + seconds_text(fade) + " s", "Give zero or more.");
    if (!sound_easing(easing)) report_.error(place, "has an easing that can't be", "Give bezier(x1 y1 x2 y2) with x1 and x2 between 0 and 1.");
  }

  void idle(const IdleLife& life, const std::string& place) {
    for (const auto& [name, amount] : {std::pair{"blinks", life.blinks}, {"gaze", life.gaze}, {"brows", life.brows}, {"head", life.head}})
      if (!std::isfinite(amount) || amount < 0 || amount > kMostLively)
        report_.error(place + ", " + name, "is " + number_text(amount), "Give 0 to " + number_text(kMostLively) + "; 1 is the usual amount.");
    const auto has_role = [](const Mapping& m) { return std::any_of(m.axes.begin(), m.axes.end(), [](const Axis& a) { return !a.role.empty(); }); };
    if (std::none_of(rig_.mappings.begin(), rig_.mappings.end(), has_role))
      report_.warning(place, "no axis of the rig has a role, so nothing is known to live", "Give the axes of lids, eyes, brows and neck their roles in the rig.");
  }

  const Show& show_;
  const Rig& rig_;
  ChannelCheck& channels_;
  Report& report_;
  std::vector<std::string> groups_, controls_, clips_, masks_;
};

}  // namespace

void validate_layers(const Show& show, const Rig& rig, ChannelCheck& channels, Report& report) { LayerCheck(show, rig, channels, report).run(); }

Findings validate(const Library& library, const std::string& file) {
  // As a show of just these, on a rig of the controls that they name, with all the range and the groups that they want.
  Rig rig;
  const auto add = [&](const std::string& control, double value) {
    const auto found = std::find_if(rig.controls.begin(), rig.controls.end(), [&](const Control& c) { return c.name == control; });
    Control& of = found == rig.controls.end() ? rig.controls.emplace_back(Control{control, "", "1", value, value, value}) : *found;
    of.min = std::min(of.min, value), of.max = std::max(of.max, value);
  };
  for (const PosePtr& pose : library.poses) {
    for (const Pose::Value& value : pose->values) add(value.control, value.value);
    if (!pose->group.empty()) rig.groups.push_back({pose->group});
  }
  for (const ClipPtr& clip : library.clips)
    for (const ChannelPtr& channel : clip->channels) {
      add(channel->control, 0);
      for (const Keyframe& key : channel->keys) add(channel->control, key.value);
    }
  Show show;
  show.poses = library.poses, show.clips = library.clips;
  Report report(file);
  ChannelCheck channels(rig, report);
  validate_layers(show, rig, channels, report);
  return std::move(report).take();
}

}  // namespace mien::show
