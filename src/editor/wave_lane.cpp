#include <algorithm>
#include <cmath>

#include "editor/draw.hpp"
#include "editor/sound_lane.hpp"
#include "editor/timeline_parts.hpp"

namespace mien::editor {
namespace {

void draw_wave(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const DrawnSound& sound) {
  if (!sound.wave || !sound.peaks) return;
  const double rate = sound.wave->rate_hz;
  const float top = at.marker_bottom, height = at.sound_bottom - at.marker_bottom, middle = top + height * 0.5f, half = height * 0.46f;
  const auto frame_at = [&](float x) { return std::max(0.0, show::to_seconds(at.axis.time(x) - sound.zero()) * rate); };
  const show::Range heard = sound.heard(), span = sound.span();
  const auto frame_of = [&](show::Time t) { return static_cast<std::size_t>(std::max(0.0, show::to_seconds(t) * rate)); };
  const std::size_t first = frame_of(heard.begin), last = std::min(sound.wave->frames(), frame_of(heard.end) + 1);
  const float x0 = std::max(std::floor(at.axis.x(span.begin)), at.split);
  const float x1 = std::min(std::ceil(at.axis.x(span.end)), at.right);
  // One bar for each screen pixel at scale 1, so that the picture costs the same on a dense screen.
  const float step = std::max(1.0f, std::floor(scene.look.scale));
  for (float x = x0; x < x1; x += step) {
    const auto begin = std::max(first, static_cast<std::size_t>(frame_at(x)));
    const auto end = std::min(last, static_cast<std::size_t>(frame_at(x + step)) + 1);
    if (begin >= end) continue;
    const auto bin = sound.peaks->over(begin, end);
    const float high = std::clamp(bin.high, -1.0f, 1.0f) * half, low = std::clamp(bin.low, -1.0f, 1.0f) * half;
    fill(list, x, middle - std::max(high, 0.5f), x + step, middle - std::min(low, -0.5f), scene.look.theme.wave);
  }
}

// Where something begins, as ticks on the wave's lower edge: what drags land on. Too near to tell apart, they are one.
void draw_onsets(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const DrawnSound& sound) {
  if (!sound.onsets || !scene.view.snapping.on || !scene.view.snapping.onsets) return;
  const Look& look = scene.look;
  const show::Time zero = sound.zero();
  const show::Range heard = sound.heard();
  float last = at.split - look.px(8);
  auto onset = std::lower_bound(sound.onsets->begin(), sound.onsets->end(), std::max(heard.begin, at.axis.range.begin - zero));
  for (; onset != sound.onsets->end() && *onset < heard.end && *onset + zero <= at.axis.range.end; ++onset) {
    const float x = std::round(at.axis.x(*onset + zero));
    if (x - last < look.px(4)) continue;
    last = x;
    fill(list, x, at.wave_bottom - look.px(8), x + std::max(1.0f, look.px(1.5f)), at.wave_bottom - look.px(1), look.theme.text);
  }
}

}  // namespace

void draw_waves(ImDrawList& list, const Scene& scene, const TimelineLayout& at) {
  if (at.sound_bottom <= at.marker_bottom) return;
  const Look& look = scene.look;
  fill(list, at.left, at.marker_bottom, at.right, at.sound_bottom, look.theme.panel);
  list.PushClipRect({at.split, at.marker_bottom}, {at.right, at.sound_bottom}, true);
  for (std::size_t n = 0; n < scene.sounds.size(); ++n) {
    const DrawnSound sound = as_placed(scene, scene.sounds[n]);
    if (scene.view.spectrogram && n < scene.spectra.size() && scene.spectra[n]) draw_spectrum(list, scene, at, sound, *scene.spectra[n]);
    else draw_wave(list, scene, at, sound);
    draw_onsets(list, scene, at, sound);
    draw_handles(list, scene, at, sound);
  }
  list.PopClipRect();
  const float middle = (at.marker_bottom + at.sound_bottom) * 0.5f, x = at.left + look.px(12), room = at.split - x - look.px(12);
  const float line = look.fonts.body->FontSize * 0.62f;
  words(list, look.fonts.strong, x, middle - line, look.theme.text, "Sound", room);
  const auto& sounds = scene.document.show().sounds;
  words(list, look.fonts.body, x, middle + line, look.theme.quiet, sounds.size() == 1 ? sounds.front().file : std::to_string(sounds.size()) + " sounds", room);
  draw_loudness(list, scene, at);
  fill(list, at.left, at.sound_bottom - look.px(1), at.right, at.sound_bottom, look.theme.line);
}

}  // namespace mien::editor
