#include "editor/sound_lane.hpp"

#include <algorithm>
#include <cmath>

#include "editor/draw.hpp"
#include "editor/probe.hpp"
#include "editor/speech_lane.hpp"
#include "talk/talk.hpp"

namespace mien::editor {
namespace {

constexpr float kHandle = 10, kEdge = 6, kColumn = 3;

struct Span { float x0, x1; };
Span span_of(const TimelineLayout& at, const DrawnSound& sound) {
  return {at.axis.x(sound.start), at.axis.x(sound.start + sound.wave->length() - sound.trim)};
}

}  // namespace

DrawnSound as_placed(const Scene& scene, const DrawnSound& sound) {
  DrawnSound now = sound;
  const auto& sounds = scene.document.show().sounds;
  if (sound.index < sounds.size() && sounds[sound.index].file == sound.file) now.start = sounds[sound.index].start, now.trim = sounds[sound.index].trim;
  return now;
}

std::optional<SoundHit> sound_at(const Scene& scene, const TimelineLayout& at, float x, float y) {
  if (x < at.split || y < at.marker_bottom || y >= at.sound_bottom || y >= at.marker_bottom + scene.look.px(kHandle)) return {};
  // The one that was placed last lies on top.
  for (auto sound = scene.sounds.rbegin(); sound != scene.sounds.rend(); ++sound) {
    if (!sound->wave) continue;
    const Span span = span_of(at, as_placed(scene, *sound));
    if (x >= span.x0 - scene.look.px(2) && x < span.x1) return SoundHit{sound->index, x < span.x0 + scene.look.px(kEdge)};
  }
  return {};
}

void draw_handles(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const DrawnSound& sound) {
  if (!sound.wave) return;
  const Look& look = scene.look;
  const Span span = span_of(at, sound);
  const float x0 = std::max(span.x0, at.split), x1 = std::min(span.x1, at.right), y = at.marker_bottom, height = look.px(kHandle), hair = std::max(1.0f, look.px(1));
  if (x1 <= x0) return;
  fill(list, x0, y, x1, y + height, with_alpha(look.theme.raised, 0.85));
  fill(list, x0, y, x0 + hair, at.sound_bottom, look.theme.quiet);
  if (span.x0 >= at.split) fill(list, span.x0, y, span.x0 + look.px(3), y + height, look.theme.quiet);
  if (listening_probe) mark(("sound/" + sound.file).c_str(), {x0, y}, {x1, y + height});
}

void draw_spectrum(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const DrawnSound& sound, const speech::Spectrogram& s) {
  if (!sound.wave || s.bands < 1) return;
  const Span span = span_of(at, sound);
  const float top = at.marker_bottom, height = at.sound_bottom - at.marker_bottom, step = std::max(1.0f, scene.look.px(kColumn)), band = height / static_cast<float>(s.bands);
  for (float x = std::max(std::floor(span.x0), at.split); x < std::min(span.x1, at.right); x += step) {
    const auto column = s.column(show::to_seconds(at.axis.time(x) - sound.start + sound.trim), show::to_seconds(at.axis.time(x + step) - sound.start + sound.trim));
    // Neighbours of one shade are one rectangle; what is all but silent is none.
    for (int b = 0; b < s.bands;) {
      int end = b + 1;
      while (end < s.bands && column[static_cast<std::size_t>(end)] == column[static_cast<std::size_t>(b)]) ++end;
      if (const int level = column[static_cast<std::size_t>(b)]; level > 0)
        fill(list, x, top + height - static_cast<float>(end) * band, x + step, top + height - static_cast<float>(b) * band, with_alpha(scene.look.theme.wave, static_cast<double>(level) / (speech::Spectrogram::kLevels - 1)));
      b = end;
    }
  }
}

void draw_loudness(ImDrawList& list, const Scene& scene, const TimelineLayout& at) {
  double power = 0;
  for (std::size_t n = 0; n < scene.sounds.size(); ++n) {
    const DrawnSound sound = as_placed(scene, scene.sounds[n]);
    const auto& sounds = scene.document.show().sounds;
    if (!sound.loudness || sound.index >= sounds.size()) continue;
    const double at_s = show::to_seconds(scene.report.time - sound.start + sound.trim);
    if (at_s < show::to_seconds(sound.trim)) continue;
    if (const double lufs = sound.loudness->momentary_at(at_s); lufs > -70) power += std::pow(10, (lufs + sounds[sound.index].gain_db) / 10);
  }
  const Look& look = scene.look;
  const std::string text = power > 0 ? std::to_string(static_cast<int>(std::lround(10 * std::log10(power)))) + " LUFS" : "< -70 LUFS";
  words(list, look.fonts.body, at.split - look.px(12) - width_of(look.fonts.body, text), (at.marker_bottom + at.sound_bottom) * 0.5f - look.fonts.body->FontSize * 0.62f, look.theme.quiet, text);
}

show::Sound pulled(const show::Sound& was, Drag::Kind kind, show::Time to) {
  show::Sound now = was;
  now.start = std::max(to, show::Time{0});
  if (kind != Drag::Kind::sound_begin) return now;
  now.trim = was.trim + now.start - was.start;
  if (now.trim < show::Time{0}) now.start -= now.trim, now.trim = show::Time{0};
  return now;
}

Edit sound_edit(const Scene& scene, std::size_t sound, const show::Sound& now, const char* doing) {
  show::Show show = scene.document.undrafted();
  if (sound >= show.sounds.size()) return Composition{PutShow{doing, std::make_shared<const show::Show>(std::move(show))}};
  const show::Time was = show.sounds[sound].start - show.sounds[sound].trim, by = now.start - now.trim - was;
  for (const DrawnSpeech& speech : scene.speech)
    if (speech.sound == sound && !speech.alignment->phones.empty())
      show = talk::with_line_moved(show, {was + speech.alignment->phones.front().range.begin, was + speech.alignment->phones.back().range.end}, by);
  show.sounds[sound] = now;
  return Composition{PutShow{doing, std::make_shared<const show::Show>(std::move(show))}};
}

bool hint_heard(const Scene& scene, const TimelineLayout& at, float x, float y) {
  if (const auto hit = speech_at(scene, at, x, y)) {
    if (hit->edge) ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeEW);
    beside_pointer(scene.look, about(scene, *hit));
    return true;
  }
  if (const auto hit = sound_at(scene, at, x, y)) {
    ImGui::SetMouseCursor(hit->begin ? ImGuiMouseCursor_ResizeEW : ImGuiMouseCursor_Hand);
    beside_pointer(scene.look, hit->begin ? "drag to leave its beginning out" : "drag to move the sound, with the mouth that speaks it");
    return true;
  }
  return false;
}

}  // namespace mien::editor
