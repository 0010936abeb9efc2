#include "editor/compose_actions.hpp"

#include <algorithm>
#include <span>

#include "editor/studio.hpp"
#include "show/mirror.hpp"

namespace mien::editor {
namespace {

void edit_composition(Studio& s, Composition c) { s.apply(Change{std::move(c), true}); }

bool ready(const Studio& s) { return s.document().open() && !s.bench(); }

// From below; the number of layers where none is chosen.
std::size_t place_of_layer(const Studio& s) {
  const auto& layers = s.document().whole().layers;
  return static_cast<std::size_t>(std::find_if(layers.begin(), layers.end(), [&](const auto& l) { return l->name == s.view().layer; }) - layers.begin());
}

// Of what the head is asked for at the playhead.
show::Pose here(const Studio& s, std::string name, bool all) {
  const auto& report = s.report();
  return show::captured(s.document().rig(), std::span(report.control).first(static_cast<std::size_t>(std::max(0, report.controls))), std::move(name), s.view().pose_group, all);
}

void add_chosen(Studio& s, show::Layer layer, const char* doing) {
  layer.name = fresh_name(layer.name, s.document().whole().layers);
  const std::string name = layer.name;
  edit_composition(s, PutLayer{doing, std::move(layer)});
  s.apply(ChooseLayer{name});
  s.apply(ShowSide{Side::layers});
}

}  // namespace

show::LayerPtr chosen_layer(const Studio& s) { return ready(s) ? show::find_layer(s.document().whole(), s.view().layer) : nullptr; }
show::ClipPtr chosen_clip(const Studio& s) { return ready(s) ? show::find_clip(s.document().whole(), s.view().clip) : nullptr; }

bool has_layer(const Studio& s) { return chosen_layer(s) != nullptr; }
bool can_raise_layer(const Studio& s) { return has_layer(s) && place_of_layer(s) + 1 < s.document().whole().layers.size(); }
bool can_lower_layer(const Studio& s) { return has_layer(s) && place_of_layer(s) > 0; }
bool can_open_layer(const Studio& s) { return has_layer(s) && !s.live() && !(s.document().keys_of() == KeysOf{KeysOf::Kind::layer, s.view().layer}); }
bool can_bake(const Studio& s) { return has_layer(s) && !s.baking().running; }
bool has_clip(const Studio& s) { return chosen_clip(s) != nullptr; }
bool can_place_clip(const Studio& s) { return has_clip(s) && s.document().keys_of().kind != KeysOf::Kind::clip; }
bool can_open_clip(const Studio& s) { return has_clip(s) && !s.live() && !(s.document().keys_of() == KeysOf{KeysOf::Kind::clip, s.view().clip}); }
bool has_placement(const Studio& s) {
  const auto layer = chosen_layer(s);
  return layer && s.view().placement >= 0 && static_cast<std::size_t>(s.view().placement) < layer->placements.size();
}
bool in_part(const Studio& s) { return ready(s) && s.document().keys_of().kind != KeysOf::Kind::show; }

void add_layer(Studio& s) {
  show::Layer layer;
  layer.name = "Layer";
  add_chosen(s, std::move(layer), "Add layer");
}

void add_idle_layer(Studio& s) {
  show::Layer layer;
  layer.name = "Idle life", layer.blend = show::Layer::Blend::add, layer.idle = show::IdleLife{};
  add_chosen(s, std::move(layer), "Add idle life");
}

void raise_layer(Studio& s) { edit_composition(s, MoveLayer{s.view().layer, place_of_layer(s) + 1}); }
void lower_layer(Studio& s) { edit_composition(s, MoveLayer{s.view().layer, place_of_layer(s) - 1}); }

void mute_layer(Studio& s) {
  show::Layer layer = *chosen_layer(s);
  layer.muted = !layer.muted;
  edit_composition(s, PutLayer{layer.muted ? "Mute layer " + layer.name : "Unmute layer " + layer.name, layer});
}

void open_layer(Studio& s) { s.apply(OpenKeys{{KeysOf::Kind::layer, s.view().layer}}); }
void bake_layer(Studio& s) { s.apply(Bake{s.view().layer}); }
void remove_layer(Studio& s) { edit_composition(s, DropLayer{s.view().layer}); }

void make_clip(Studio& s) {
  const std::string name = fresh_name("Clip", s.document().whole().clips);
  edit_composition(s, MakeClip{s.document().selection().refs(), name});
  s.apply(ChooseClip{name});
  s.apply(ShowSide{Side::clips});
}

void place_clip(Studio& s) {
  show::Layer layer;
  if (const auto chosen = chosen_layer(s)) layer = *chosen;
  else layer.name = fresh_name("Layer", s.document().whole().layers);
  show::Placement placement;
  placement.clip = s.view().clip, placement.start = s.playhead();
  layer.placements.push_back(placement);
  const ChooseLayer choice{layer.name, static_cast<int>(layer.placements.size()) - 1};
  edit_composition(s, PutLayer{"Place clip " + placement.clip, std::move(layer)});
  s.apply(choice);
}

void open_clip(Studio& s) { s.apply(OpenKeys{{KeysOf::Kind::clip, s.view().clip}}); }

void mirror_clip(Studio& s) {
  show::Clip seen = show::mirrored(*chosen_clip(s), s.document().rig());
  seen.name = fresh_name(seen.name + " mirrored", s.document().whole().clips);
  const std::string name = seen.name;
  edit_composition(s, PutClip{"Mirror clip", std::move(seen)});
  s.apply(ChooseClip{name});
}

void remove_clip(Studio& s) { edit_composition(s, DropClip{s.view().clip}); }

void remove_placement(Studio& s) {
  show::Layer layer = *chosen_layer(s);
  const auto at = layer.placements.begin() + s.view().placement;
  const std::string clip = at->clip;
  layer.placements.erase(at);
  edit_composition(s, PutLayer{"Take clip " + clip + " off", std::move(layer)});
  s.apply(ChooseLayer{s.view().layer});
}

void back_to_show(Studio& s) { s.apply(OpenKeys{}); }

bool has_pose(const Studio& s) { return ready(s) && show::find_pose(s.document().whole(), s.view().pose) != nullptr; }

void key_pose(Studio& s) { edit_composition(s, KeyPose{s.view().pose, {s.playhead(), s.view().pose_weight, s.view().pose_group}}); }

void capture_pose(Studio& s) {
  show::Pose pose = here(s, fresh_name("Pose", s.document().whole().poses), false);
  if (pose.values.empty()) return s.refuse({show::Severity::note, "", "", "Everything that would be captured is at rest", "Go to where the face does something, or choose another group."});
  const std::string name = pose.name;
  edit_composition(s, PutPose{"Capture pose", std::move(pose)});
  s.apply(ChoosePose{name});
  s.apply(ShowSide{Side::poses});
}

void recapture_pose(Studio& s) {
  show::Pose pose = here(s, s.view().pose, false);
  pose.action_units = show::find_pose(s.document().whole(), s.view().pose)->action_units;
  if (pose.values.empty()) return s.refuse({show::Severity::note, "", "", "Everything that would be captured is at rest", "Go to where the face does something, or choose another group."});
  edit_composition(s, PutPose{"Capture pose anew", std::move(pose)});
}

void mirror_pose(Studio& s) {
  show::Pose seen = show::mirrored(*show::find_pose(s.document().whole(), s.view().pose), s.document().rig());
  seen.name = fresh_name(seen.name + " mirrored", s.document().whole().poses);
  const std::string name = seen.name;
  edit_composition(s, PutPose{"Mirror pose", std::move(seen)});
  s.apply(ChoosePose{name});
}

void remove_pose(Studio& s) { edit_composition(s, DropPose{s.view().pose}); }

}  // namespace mien::editor
