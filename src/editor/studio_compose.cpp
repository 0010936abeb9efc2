// The part of the studio that knows whose keys are open, and bakes layers.
#include "editor/studio.hpp"

namespace mien::editor {

void Studio::apply_one(const ChooseLayer& c) {
  view_.layer = c.layer, view_.placement = c.placement;
  if (!document_.open() || c.placement < 0) return;
  if (!document_.selection().empty()) document_.select({});
  if (const auto layer = show::find_layer(document_.whole(), c.layer); layer && static_cast<std::size_t>(c.placement) < layer->placements.size())
    view_.clip = layer->placements[static_cast<std::size_t>(c.placement)].clip;
}

void Studio::apply_one(const ChooseClip& c) { view_.clip = c.clip; }
void Studio::apply_one(const ChoosePose& c) { view_.pose = c.pose; }
void Studio::apply_one(const KeepInCurve& c) {
  if (c.control.empty() && !c.keep) return view_.kept.clear();
  std::erase(view_.kept, c.control);
  if (c.keep && document_.open() && find_control(document_.rig(), c.control)) view_.kept.push_back(c.control);
}

void Studio::apply_one(const ShowCurve& c) { view_.strips = c.strips, view_.handles = c.handles; }
void Studio::apply_one(const ShowSide& c) { panels_.side = c.side; }

void Studio::apply_one(const UsePose& c) { view_.pose_group = c.group, view_.pose_weight = c.weight; }
void Studio::apply_one(const ShowTime& c) { view_.timecode = c.timecode, view_.rate = c.rate; }
void Studio::apply_one(const SnapTo& c) { view_.snapping = c.snapping; }

void Studio::apply_one(const SwitchLane& c) {
  auto& set = c.what == SwitchLane::What::mute ? view_.muted : c.what == SwitchLane::What::solo ? view_.soloed : view_.locked;
  if (!set.erase(c.control)) set.insert(c.control);
  if (c.what != SwitchLane::What::lock) return after_edit();
  document_.lock(view_.locked);
  Selection free = document_.selection();
  free.times.erase(c.control);
  document_.select(std::move(free));
}

void Studio::apply_one(const GoToStep& c) {
  if (!document_.open() || c.step >= document_.steps()) return;
  document_.go_to(c.step);
  if (live()) document_.open_keys({});
  journal_.line("step " + document_.step_name(document_.at()));
  after_edit();
}

void Studio::apply_one(const OpenKeys& c) {
  // A clip is performed alone: never on a head that is driven.
  if (!document_.open() || bench_ || c.of == document_.keys_of() || (c.of.kind == KeysOf::Kind::clip && live())) return;
  document_.open_keys(c.of);
  journal_.line("keys of " + (document_.keys_of().kind == KeysOf::Kind::show ? "the show" : document_.keys_of().name));
  after_edit();
}

// A clip is seen and heard by itself: view and sound change with it, and the playhead once the stage has it (after_edit).
void Studio::follow_keys() {
  if (shown_of_ == document_.keys_of()) return;
  const bool was_clip = shown_of_.kind == KeysOf::Kind::clip, is_clip = document_.keys_of().kind == KeysOf::Kind::clip;
  if (shown_of_.kind == KeysOf::Kind::show) before_clip_.control = view_.control;
  shown_of_ = document_.keys_of();
  if (is_clip && !was_clip) {
    before_clip_.visible = view_.visible, before_clip_.playhead = playhead();
    stage_.set_sounds({});
  }
  if (is_clip || was_clip) {
    stage_.pause();
    view_.visible = is_clip ? fitted(document_.show().length) : sane_view(before_clip_.visible, document_.show().length);
  }
  if (was_clip && !is_clip) stage_.set_sounds(placed_);
  panels_.timeline.drag = {}, panels_.curve.drag = {}, panels_.timeline.scroll = 0;
  view_.control = before_clip_.control;
  if (shown_of_.kind == KeysOf::Kind::show) return;
  for (const show::ChannelPtr& c : document_.show().channels)
    if (!c->keys.empty()) {
      view_.control = c->control;
      break;
    }
}

// A clip alone, without what lies on the show; and without the channels that are muted, or aren't soloed where any is.
show::ShowPtr Studio::performed() const {
  const bool clip = document_.keys_of().kind == KeysOf::Kind::clip;
  if (!clip && view_.muted.empty() && view_.soloed.empty()) return document_.shared_whole();
  show::Show heard = clip ? document_.show() : document_.whole();
  if (clip) heard.layers.clear();
  std::erase_if(heard.channels, [&](const show::ChannelPtr& c) { return view_.soloed.empty() ? view_.muted.contains(c->control) : !view_.soloed.contains(c->control); });
  return std::make_shared<const show::Show>(std::move(heard));
}

// What keys can be made to arrive in: a clip as it is performed alone, else the show.
show::ShowPtr Studio::arrives() const {
  const bool all = view_.muted.empty() && view_.soloed.empty();  // else keys that aren't performed would be lost
  return document_.keys_of().kind == KeysOf::Kind::clip && all ? performed_ : document_.shared_show();
}

void Studio::apply_one(const Bake& c) {
  if (!document_.open() || document_.drafting() || bake_job_.running() || !show::find_layer(document_.whole(), c.layer)) return;
  apply(OpenKeys{});
  baking_ = {true, 0, ""};
  bake_job_.start([rig = document_.shared_rig(), show = document_.shared_whole(), layer = c.layer](const GoOn& go_on) {
    perform::BakeDown settings;
    settings.go_on = go_on;
    return LayerBaked{show, layer, perform::baked_down(rig, *show, layer, settings)};
  });
}

void Studio::apply_one(const StopBaking&) { bake_job_.stop(); }

void Studio::follow_bake() {
  if (auto done = bake_job_.take()) {
    const auto& baked = done->baked;
    const bool same = document_.open() && done->from == document_.shared_whole();
    if (baked.stopped) baking_.word = "Cancelled; nothing was changed.";
    else if (!same) baking_.word = "Stopped, since the show was changed meanwhile.";
    else {
      apply(OpenKeys{});
      apply(Change{Composition{PutShow{"Bake down " + done->layer, std::make_shared<const show::Show>(baked.show)}}});
      baking_.word = std::to_string(baked.layers) + (baked.layers == 1 ? " layer is " : " layers are ") + std::to_string(baked.keys) + " keys in " +
                     std::to_string(baked.channels) + (baked.channels == 1 ? " channel now." : " channels now.") + " Undo brings back what was.";
    }
    journal_.line("baked: " + baking_.word);
  }
  baking_.running = bake_job_.running();
  baking_.share = bake_job_.share();
}

}  // namespace mien::editor
