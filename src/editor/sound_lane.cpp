#include "editor/sound_lane.hpp"

#include <algorithm>
#include <cmath>

#include "editor/draw.hpp"
#include "editor/probe.hpp"
#include "editor/speech_lane.hpp"
#include "talk/talk.hpp"

namespace mien::editor {
namespace {

constexpr float kHandle = 10, kSoundEdge = 6, kColumn = 3;
constexpr show::Time kLeast{20'000'000};  // of a sound that a drag leaves

struct Span { float x0, x1; };
Span span_of(const TimelineLayout& at, const DrawnSound& sound) {
  const show::Range span = sound.span();
  return {at.axis.x(span.begin), at.axis.x(span.end)};
}

}  // namespace

DrawnSound as_placed(const Scene& scene, const DrawnSound& sound) {
  DrawnSound now = sound;
  const auto& sounds = scene.document.show().sounds;
  if (sound.index < sounds.size() && sounds[sound.index].file == sound.placed.file) now.placed = sounds[sound.index];
  return now;
}

std::optional<SoundHit> sound_at(const Scene& scene, const TimelineLayout& at, float x, float y) {
  if (x < at.split || y < at.marker_bottom || y >= at.sound_bottom || y >= at.marker_bottom + scene.look.px(kHandle)) return {};
  // The one that was placed last lies on top.
  for (auto sound = scene.sounds.rbegin(); sound != scene.sounds.rend(); ++sound) {
    if (!sound->wave) continue;
    const Span span = span_of(at, as_placed(scene, *sound));
    if (x < span.x0 - scene.look.px(2) || x >= span.x1 + scene.look.px(2)) continue;
    // A sound too short for two ends and a middle keeps a middle.
    const float edge = std::min(scene.look.px(kSoundEdge), (span.x1 - span.x0) / 3);
    return SoundHit{sound->index, x < span.x0 + edge ? Drag::Kind::sound_begin : x >= span.x1 - edge ? Drag::Kind::sound_end : Drag::Kind::sound};
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
  if (span.x1 <= at.right) fill(list, x1 - hair, y, x1, at.sound_bottom, look.theme.quiet);
  if (span.x0 >= at.split) fill(list, span.x0, y, span.x0 + look.px(3), y + height, look.theme.quiet);
  if (span.x1 <= at.right) fill(list, span.x1 - look.px(3), y, span.x1, y + height, look.theme.quiet);
  if (listening_probe) mark(("sound/" + sound.placed.file).c_str(), {x0, y}, {x1, y + height});
}

void draw_spectrum(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const DrawnSound& sound, const speech::Spectrogram& s) {
  if (!sound.wave || s.bands < 1) return;
  const Span span = span_of(at, sound);
  const show::Time zero = sound.zero();
  const show::Range heard = sound.heard();
  const double begin_s = show::to_seconds(heard.begin), end_s = show::to_seconds(heard.end);
  const float top = at.marker_bottom, height = at.sound_bottom - at.marker_bottom, step = std::max(1.0f, scene.look.px(kColumn)), band = height / static_cast<float>(s.bands);
  for (float x = std::max(std::floor(span.x0), at.split); x < std::min(span.x1, at.right); x += step) {
    const auto column = s.column(std::max(begin_s, show::to_seconds(at.axis.time(x) - zero)), std::min(end_s, show::to_seconds(at.axis.time(x + step) - zero)));
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
    const show::Time time = scene.report.time - sound.zero();
    if (!sound.heard().contains(time)) continue;
    if (const double lufs = sound.loudness->momentary_at(show::to_seconds(time)); lufs > -70) power += std::pow(10, (lufs + sounds[sound.index].gain_db) / 10);
  }
  const Look& look = scene.look;
  const std::string text = power > 0 ? std::to_string(static_cast<int>(std::lround(10 * std::log10(power)))) + " LUFS" : "< -70 LUFS";
  words(list, look.fonts.body, at.split - look.px(12) - width_of(look.fonts.body, text), (at.marker_bottom + at.sound_bottom) * 0.5f - look.fonts.body->FontSize * 0.62f, look.theme.quiet, text);
}

show::Time length_of(const Scene& scene, std::size_t sound) {
  for (const DrawnSound& s : scene.sounds)
    if (s.index == sound && s.wave) return s.wave->length();
  return show::Time{0};
}

show::Time held_of(const show::Sound& was, Drag::Kind kind, show::Time length) {
  return kind == Drag::Kind::sound_end ? was.start + show::heard_of(was, length).length() : was.start;
}

show::Sound pulled(const show::Sound& was, Drag::Kind kind, show::Time to, show::Time length) {
  show::Sound now = was;
  const show::Range heard = show::heard_of(was, length);
  if (kind == Drag::Kind::sound_end) {
    const show::Time end = heard.begin + std::max(to - was.start, kLeast);  // in the file
    now.trim_end = std::max(show::Time{0}, length - end);
    return now;
  }
  if (kind == Drag::Kind::sound_begin) to = std::min(to, std::max(was.start, was.start + heard.length() - kLeast));
  now.start = std::max(to, show::Time{0});
  if (kind != Drag::Kind::sound_begin) return now;
  now.trim = was.trim + now.start - was.start;
  if (now.trim < show::Time{0}) now.start -= now.trim, now.trim = show::Time{0};
  return now;
}

std::string pulled_text(const Scene& scene, const show::Sound& now, Drag::Kind kind, show::Time length) {
  std::string at = time_text(scene.view, held_of(now, kind, length));
  if (kind == Drag::Kind::sound) return at;
  return at + "   " + seconds_text(kind == Drag::Kind::sound_end ? now.trim_end : now.trim) + " of it left out";
}

Edit sound_edit(const Scene& scene, std::size_t sound, const show::Sound& now, const char* doing) {
  show::Show show = scene.document.undrafted();
  if (sound >= show.sounds.size()) return Composition{PutShow{doing, std::make_shared<const show::Show>(std::move(show))}};
  std::vector<show::Time> lengths;
  for (std::size_t n = 0; n < show.sounds.size(); ++n) lengths.push_back(length_of(scene, n));
  const speech::Alignment* said = nullptr;
  for (const DrawnSpeech& speech : scene.speech)
    if (speech.sound == sound) said = speech.alignment.get();
  show = talk::with_sound(show, sound, now, lengths, said);
  return Composition{PutShow{doing, std::make_shared<const show::Show>(std::move(show))}};
}

bool hint_heard(const Scene& scene, const TimelineLayout& at, float x, float y) {
  if (const auto hit = speech_at(scene, at, x, y)) {
    if (hit->edge) ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeEW);
    beside_pointer(scene.look, about(scene, *hit));
    return true;
  }
  if (const auto hit = sound_at(scene, at, x, y)) {
    ImGui::SetMouseCursor(hit->what == Drag::Kind::sound ? ImGuiMouseCursor_Hand : ImGuiMouseCursor_ResizeEW);
    beside_pointer(scene.look, hit->what == Drag::Kind::sound_begin ? "drag to leave its beginning out" : hit->what == Drag::Kind::sound_end ? "drag to leave its ending out" : "drag to move the sound, with the mouth that speaks it");
    return true;
  }
  return false;
}

}  // namespace mien::editor
