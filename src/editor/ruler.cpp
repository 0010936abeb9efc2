#include <algorithm>
#include <cmath>
#include <cstdio>

#include "editor/draw.hpp"
#include "editor/timeline_parts.hpp"

namespace mien::editor {
namespace {

std::string ruler_text(show::Time t, show::Time step) {
  const double s = show::to_seconds(t);
  const double step_s = show::to_seconds(step);
  const int decimals = step_s >= 1 ? 0 : step_s >= 0.1 ? 1 : step_s >= 0.01 ? 2 : 3;
  char text[48];
  if (std::abs(s) < 60) std::snprintf(text, sizeof text, "%.*f s", decimals, s);
  else std::snprintf(text, sizeof text, "%d:%0*.*f", static_cast<int>(s / 60), decimals ? 3 + decimals : 2, decimals, std::fmod(s, 60.0));
  return text;
}

void draw_loop(ImDrawList& list, const Scene& scene, const TimelineLayout& at) {
  const auto& loop = scene.document.show().loop;
  const Theme& t = scene.look.theme;
  if (!loop) return;
  const float x0 = std::max(at.axis.x(loop->begin), at.split), x1 = std::min(at.axis.x(loop->end), at.right);
  if (x1 <= x0) return;
  const float inset = scene.look.px(3), grip = scene.look.px(4);
  fill(list, x0, at.top + inset, x1, at.loop_bottom - inset, t.loop);
  fill(list, x0, at.top, x0 + grip, at.loop_bottom, t.text);
  fill(list, x1 - grip, at.top, x1, at.loop_bottom, t.text);
}

struct MarkerName { float x, room; };
MarkerName marker_name(const Look& look, const TimelineLayout& at, const std::vector<show::Marker>& markers, std::size_t i) {
  const float x = at.axis.x(markers[i].time) + look.px(12);
  const float next = i + 1 < markers.size() ? std::min(at.axis.x(markers[i + 1].time), at.right) : at.right;
  return {x, next - x - look.px(6)};
}

// Names as far as the next marker leaves room; without room the flag alone.
void draw_markers(ImDrawList& list, const Scene& scene, const TimelineLayout& at) {
  const Look& look = scene.look;
  const float flag = look.px(5), y = (at.ruler_bottom + at.marker_bottom) * 0.5f;
  const auto& markers = scene.document.show().markers;
  for (std::size_t i = 0; i < markers.size(); ++i) {
    const float x = at.axis.x(markers[i].time);
    const MarkerName name = marker_name(look, at, markers, i);
    if (name.x + name.room < at.split || x > at.right) continue;
    fill_triangle(list, {x, y - flag}, {x + 1.6f * flag, y}, {x, y + flag}, look.theme.quiet);
    if (name.room > look.px(16)) words(list, look.fonts.body, name.x, y, look.theme.quiet, markers[i].name, name.room);
  }
  fill(list, at.left, at.marker_bottom - std::max(1.0f, look.px(1)), at.right, at.marker_bottom, look.theme.line);
}

}  // namespace

const show::Marker* marker_at(const Scene& scene, const TimelineLayout& at, float x) noexcept {
  const Look& look = scene.look;
  const auto& markers = scene.document.show().markers;
  for (std::size_t i = markers.size(); i-- > 0;) {
    const MarkerName name = marker_name(look, at, markers, i);
    const float end = std::max(name.x, name.x + std::min(name.room, width_of(look.fonts.body, markers[i].name)));
    if (x >= at.axis.x(markers[i].time) - look.px(3) && x <= end) return &markers[i];
  }
  return nullptr;
}

show::Time ruler_step(const TimeAxis& axis, float px) noexcept {
  const std::int64_t least = std::max<std::int64_t>(axis.span(px).count(), 1'000'000);
  std::int64_t step = 1'000'000;
  for (;;) {
    for (const int factor : {1, 2, 5})
      if (step * factor >= least) return show::Time{step * factor};
    if (step > 1'000'000'000'000'000'000 / 10) return show::Time{step};
    step *= 10;
  }
}

std::vector<RulerMark> ruler_marks(const View& view, const TimeAxis& axis, float px) {
  std::vector<RulerMark> marks;
  if (!view.timecode) {
    const show::Time step = ruler_step(axis, px), fine = step / 5;
    const std::int64_t from = axis.range.begin.count() / fine.count() - 1, to = axis.range.end.count() / fine.count() + 1;
    for (std::int64_t i = std::max<std::int64_t>(from, 0); i <= to; ++i) marks.push_back({fine * i, i % 5 == 0 ? ruler_text(fine * i, step) : std::string()});
    return marks;
  }
  // Words at every so many frames: few, or seconds, or minutes.
  const std::int64_t second = view.rate == show::FrameRate::f24 ? 24 : view.rate == show::FrameRate::f25 ? 25 : 30;
  const std::int64_t least = show::frame_at(view.rate, axis.span(px * 1.3f)) + 1;
  std::int64_t step = 0;
  for (const std::int64_t frames : {std::int64_t{1}, std::int64_t{2}, std::int64_t{5}, second, 2 * second, 5 * second, 10 * second, 30 * second, 60 * second, 300 * second, 600 * second, 3600 * second})
    if (step == 0 && frames >= least) step = frames;
  if (step == 0) step = least;
  const std::int64_t fine = step >= second ? step / (step % 5 == 0 ? 5 : 4) : 1;
  const std::int64_t from = std::max<std::int64_t>(0, show::frame_at(view.rate, axis.range.begin) / fine), to = show::frame_at(view.rate, axis.range.end) / fine + 1;
  for (std::int64_t i = from; i <= to; ++i) marks.push_back({show::frame_time(view.rate, i * fine), i * fine % step == 0 ? show::timecode(view.rate, i * fine) : std::string()});
  return marks;
}

void draw_ruler(ImDrawList& list, const Scene& scene, const TimelineLayout& at) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  fill(list, at.left, at.top, at.right, at.marker_bottom, t.panel);
  list.PushClipRect({at.split, at.top}, {at.right, at.bottom}, true);
  const float line_width = std::max(1.0f, look.px(1));
  for (const RulerMark& m : ruler_marks(scene.view, at.axis, look.px(84))) {
    const float x = std::round(at.axis.x(m.time));
    const bool whole = !m.words.empty();
    fill(list, x, at.ruler_bottom - look.px(whole ? 10 : 4), x + line_width, at.ruler_bottom, t.quiet);
    // Beside the playhead's flag where that stands there, and none that would be cut off at the edge.
    const float text = x + look.px(8);
    if (whole && text + width_of(look.fonts.body, m.words) <= at.right) words(list, look.fonts.body, text, at.loop_bottom + look.px(10), t.quiet, m.words);
  }
  draw_loop(list, scene, at);
  if (at.marker_bottom > at.ruler_bottom) draw_markers(list, scene, at);
  list.PopClipRect();
  words(list, look.fonts.body, at.left + look.px(12), (at.top + at.loop_bottom) * 0.5f, t.quiet, "Loop");
  words(list, look.fonts.body, at.left + look.px(12), (at.loop_bottom + at.ruler_bottom) * 0.5f, t.quiet, "Time");
  if (at.marker_bottom > at.ruler_bottom)
    words(list, look.fonts.body, at.left + look.px(12), (at.ruler_bottom + at.marker_bottom) * 0.5f, t.quiet, "Markers");
  fill(list, at.left, at.ruler_bottom - line_width, at.right, at.ruler_bottom, t.line);
}

void draw_playhead(ImDrawList& list, const Scene& scene, const TimelineLayout& at) {
  const Look& look = scene.look;
  const float x = std::round(at.axis.x(scene.report.time));
  list.PushClipRect({at.split, at.top}, {at.right, at.bottom}, true);
  fill(list, x - look.px(1), at.loop_bottom, x + look.px(1), at.bottom, look.theme.playhead);
  const float flag = look.px(6);
  fill_triangle(list, {x - flag, at.loop_bottom}, {x + flag, at.loop_bottom}, {x, at.loop_bottom + 2 * flag}, look.theme.playhead);
  list.PopClipRect();
}

}  // namespace mien::editor
