#include "editor/compose.hpp"

#include <algorithm>

#include "editor/edits.hpp"

namespace mien::editor {
namespace {

struct Composer {
  const show::Show& show;
  const show::Rig& rig;
  const Selection& selection;

  Edited operator()(const PutLayer& e) const { return {e.doing, show::with_layer(show, e.layer), selection}; }
  Edited operator()(const RenameLayer& e) const { return {"Rename layer", show::with_layer_renamed(show, e.name, e.now), selection}; }
  Edited operator()(const DropLayer& e) const { return {"Remove layer " + e.name, show::without_layer(show, e.name), selection}; }
  Edited operator()(const MoveLayer& e) const { return {"Move layer " + e.name, show::with_layer_at(show, e.name, e.index), selection}; }
  Edited operator()(const PutClip& e) const { return {e.doing, show::with_clip(show, e.clip), selection}; }
  Edited operator()(const RenameClip& e) const { return {"Rename clip", show::with_clip_renamed(show, e.name, e.now), selection}; }
  Edited operator()(const DropClip& e) const { return {"Remove clip " + e.name, show::without_clip(show, e.name), selection}; }
  Edited operator()(const MakeClip& e) const {
    show::Clip clip = show::clip_of(show, e.keys, e.name);
    if (clip.channels.empty()) return {"", show, selection};
    return {"Make clip " + e.name, show::with_clip(show, std::move(clip)), selection};
  }
  Edited operator()(const PutPose& e) const { return {e.doing, show::with_pose(show, e.pose), selection}; }
  Edited operator()(const RenamePose& e) const { return {"Rename pose", show::with_pose_renamed(show, e.name, e.now), selection}; }
  Edited operator()(const DropPose& e) const { return {"Remove pose " + e.name, show::without_pose(show, e.name), selection}; }
  Edited operator()(const KeyPose& e) const {
    const show::PosePtr pose = show::find_pose(show, e.pose);
    if (!pose) return {"", show, selection};
    show::PoseKeying keying = e.keying;
    keying.at = std::clamp(keying.at, show::Time{0}, std::max(show.length, show::Time{0}));
    std::vector<show::KeyRef> keyed;
    show::Show after = show::with_pose_keyed(show, rig, *pose, keying, &keyed);
    for (const show::KeyRef& ref : keyed) {  // a weight beyond 1 may ask for more than the control has
      const show::Keyframe* key = find_key(after, ref);
      const show::Control* control = find_control(rig, ref.control);
      if (!key || !control || (key->value >= control->min && key->value <= control->max)) continue;
      show::Keyframe within = *key;
      within.value = std::clamp(within.value, control->min, control->max);
      after = show::with_key(after, ref.control, within);
    }
    return {"Key pose " + e.pose, std::move(after), keyed.empty() ? selection : Selection::from(std::move(keyed))};
  }
  Edited operator()(const PutShow& e) const {
    show::Show after = e.show ? *e.show : show;
    Selection left = kept(selection, after);
    return {e.doing, std::move(after), std::move(left)};
  }
};

bool is_there(const show::Show& whole, const KeysOf& of) noexcept {
  return of.kind == KeysOf::Kind::clip ? show::find_clip(whole, of.name) != nullptr : of.kind == KeysOf::Kind::layer && show::find_layer(whole, of.name) != nullptr;
}

}  // namespace

show::ShowPtr opened(const show::ShowPtr& whole, const KeysOf& of) {
  if (!is_there(*whole, of)) return whole;
  if (of.kind == KeysOf::Kind::layer) return std::make_shared<const show::Show>(show::opened_layer(*whole, of.name));
  show::Show clip = show::opened_clip(*whole, of.name);
  clip.loop.reset(), clip.markers.clear(), clip.sounds.clear();
  return std::make_shared<const show::Show>(std::move(clip));
}

show::Show put_back(const show::Show& whole, const KeysOf& of, const show::Show& before, show::Show after) {
  if (!is_there(whole, of)) return after;
  const bool keys_changed = after.channels != before.channels || after.length != before.length;
  auto channels = std::move(after.channels);
  const show::Time length = after.length;
  after.channels = whole.channels;
  if (of.kind == KeysOf::Kind::clip) after.length = whole.length, after.loop = whole.loop, after.markers = whole.markers, after.sounds = whole.sounds;
  if (!keys_changed) return after;
  if (of.kind == KeysOf::Kind::layer) return show::with_layer_channels(after, of.name, std::move(channels));
  if (const show::ClipPtr clip = show::find_clip(after, of.name)) after = show::with_clip(after, {of.name, std::max(length, show::Time{1}), std::move(channels)});
  return after;
}

Composition::Composition(const Composition&) = default;
Composition::Composition(Composition&&) noexcept = default;
Composition& Composition::operator=(const Composition&) = default;
Composition& Composition::operator=(Composition&&) noexcept = default;
Composition::~Composition() = default;

Edited compose(const Composition& edit, const show::Show& show, const show::Rig& rig, const Selection& selection) {
  return std::visit(Composer{show, rig, selection}, edit);
}

std::string fresh_name(const std::string& wanted, const std::vector<std::string>& taken) {
  std::string name = wanted;
  for (int n = 2; std::find(taken.begin(), taken.end(), name) != taken.end(); ++n) name = wanted + " " + std::to_string(n);
  return name;
}

}  // namespace mien::editor
