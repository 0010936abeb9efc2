#include "editor/snap.hpp"

#include <algorithm>

namespace mien::editor {
namespace {

constexpr float kSnapReach = 6;

// The nearest of what was offered, no farther than the reach.
struct Nearest {
  show::Time to, best, reach;
  void offer(show::Time t) {
    const show::Time away = t < to ? to - t : t - to;
    if (away <= reach) best = t, reach = away;
  }
};

void offer_keys(Nearest& nearest, const show::Channel& channel, const std::vector<show::Time>* moving) {
  const auto& keys = channel.keys;
  auto at = std::lower_bound(keys.begin(), keys.end(), nearest.to - nearest.reach, [](const show::Keyframe& k, show::Time t) { return k.time < t; });
  for (; at != keys.end() && at->time <= nearest.to + nearest.reach; ++at)
    if (!moving || !std::binary_search(moving->begin(), moving->end(), at->time)) nearest.offer(at->time);
}

void offer_onsets(Nearest& nearest, const DrawnSound& sound) {
  if (!sound.onsets) return;
  const show::Time zero = sound.zero(), in_file = nearest.to - zero;
  const show::Range heard = sound.heard();
  auto at = std::lower_bound(sound.onsets->begin(), sound.onsets->end(), in_file - nearest.reach);
  for (; at != sound.onsets->end() && *at <= in_file + nearest.reach; ++at)
    if (heard.contains(*at)) nearest.offer(*at + zero);
}

}  // namespace

show::Time snapped_to(const Scene& scene, const TimeAxis& axis, show::Time time, bool free, const Selection* moving) {
  const show::Show& show = scene.document.show();
  const Snapping& s = scene.view.snapping;
  const auto within = [&](show::Time t) { return std::clamp(t, show::Time{0}, std::max(show.length, show::Time{0})); };
  if (free || !s.on) return within(time);
  const show::Time tick{1'000'000'000 / std::max(1, scene.document.rig().tick_hz)};
  Nearest nearest{time, show::Time::min(), axis.span(scene.look.px(kSnapReach))};
  if (s.markers) {
    for (const show::Marker& m : show.markers) nearest.offer(m.time);
    if (!scene.report.playing) nearest.offer(scene.report.time);
  }
  if (s.keys) {
    // A drag draws what it moves, so that its own draft would hold it; its keys are those that were chosen.
    for (const show::ChannelPtr& c : show.channels) offer_keys(nearest, *c, moving ? moving->of(c->control) : nullptr);
  }
  if (s.onsets)
    for (const DrawnSound& sound : scene.sounds) offer_onsets(nearest, sound);
  if (nearest.best != show::Time::min()) return within(nearest.best);
  return within(s.frames ? show::snapped_to_frame(scene.view.rate, time) : snapped(time, tick));
}

}  // namespace mien::editor
