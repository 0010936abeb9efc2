// Layers among the lanes: placements of clips as blocks, with their fades.
#include <algorithm>
#include <cmath>

#include "editor/draw.hpp"
#include "editor/layer_lane.hpp"
#include "editor/probe.hpp"

namespace mien::editor {
namespace {

constexpr float kInset = 2, kFadeReach = 6;

struct Edges { float x0, x1, in, out; };  ///< of a block, and where its fades end

Edges edges_of(const TimelineLayout& at, const show::Placement& p, show::Time clip_length) {
  const show::Time lasts = show::duration(p, clip_length), end = p.start + lasts;
  // As the mix does it: where both fades don't fit, each gets its share of the room.
  double in = static_cast<double>(p.fade_in.count()), out = static_cast<double>(p.fade_out.count());
  if (const double both = in + out, room = static_cast<double>(lasts.count()); both > room && both > 0) in *= room / both, out *= room / both;
  return {at.axis.x(p.start), at.axis.x(end), at.axis.x(p.start + show::Time{static_cast<std::int64_t>(in)}), at.axis.x(end - show::Time{static_cast<std::int64_t>(out)})};
}

show::Time length_of_clip(const show::Show& show, const std::string& clip) {
  const auto found = show::find_clip(show, clip);
  return found ? found->length : show::Time{0};
}

// What a fade leaves out is cut off the block's upper corners.
void draw_block(ImDrawList& list, const Look& look, const TimelineLayout& at, const Edges& e, float top, const std::string& name, bool chosen, bool muted) {
  const Theme& t = look.theme;
  const Colour back = with_alpha(chosen ? t.accent : t.raised_hover, muted ? 0.4 : 1), front = chosen ? t.accent_text : t.text;
  const float y0 = top + look.px(kInset), y1 = top + at.lane_height - look.px(kInset), hair = std::max(1.0f, look.px(1));
  const float x1 = std::max(e.x1, e.x0 + 2 * hair);
  fill(list, std::min(e.in, x1), y0, std::max(e.out, std::min(e.in, x1)), y1, back);
  if (e.in > e.x0) fill_triangle(list, {e.x0, y1}, {e.in, y0}, {e.in, y1}, back);
  if (e.out < x1) fill_triangle(list, {e.out, y0}, {x1, y1}, {e.out, y1}, back);
  fill(list, e.x0, y0, e.x0 + hair, y1, chosen ? t.accent : t.quiet);
  fill(list, x1 - hair, y0, x1, y1, chosen ? t.accent : t.quiet);
  const float left = std::max(e.in, at.split) + look.px(6), room = std::min(e.out, at.right) - left - look.px(4);
  if (room > look.px(16)) words(list, look.fonts.body, left, (y0 + y1) * 0.5f, front, name, room);
}

// Where a clip begins anew inside its block.
void draw_repeats(ImDrawList& list, const Look& look, const TimelineLayout& at, const show::Placement& p, show::Time length, float top) {
  if (p.repeats < 2 || length.count() <= 0) return;
  const double each_ns = static_cast<double>(length.count()) / p.rate;
  if (each_ns * at.axis.px_per_ns() < look.px(4)) return;
  const double first = static_cast<double>(p.start.count()) - static_cast<double>(p.offset.count()) / p.rate;
  const auto from = static_cast<int>(std::max(1.0, std::floor((static_cast<double>(at.axis.range.begin.count()) - first) / each_ns)));
  for (int i = from; i < p.repeats; ++i) {
    const float x = at.axis.x(show::Time{static_cast<std::int64_t>(first + each_ns * i)});
    if (x > at.right) break;
    if (x <= at.axis.x(p.start)) continue;
    fill(list, x, top + look.px(6), x + std::max(1.0f, look.px(1)), top + at.lane_height - look.px(6), look.theme.quiet);
  }
}

// Where a layer's own keys have a say: from its first key to its last, as far as its weight is not 0.
void draw_own_keys(ImDrawList& list, const Look& look, const TimelineLayout& at, const show::Layer& layer, float top) {
  show::Range keys{show::Time::max(), show::Time::min()};
  for (const auto& channel : layer.channels)
    if (!channel->keys.empty()) keys = {std::min(keys.begin, channel->keys.front().time), std::max(keys.end, channel->keys.back().time)};
  if (keys.end < keys.begin) return;
  const Colour back = with_alpha(look.theme.raised, layer.muted ? 0.5 : 1);
  const std::string what = std::to_string(layer.channels.size()) + (layer.channels.size() == 1 ? " channel" : " channels");
  const auto band = [&](show::Time from, show::Time to) {
    const float x0 = std::max(at.split, at.axis.x(std::max(from, keys.begin))), x1 = std::min(at.right, at.axis.x(std::min(to, keys.end)));
    if (x1 <= x0) return;
    fill(list, x0, top + look.px(kInset), x1, top + at.lane_height - look.px(kInset), back);
    if (x1 - x0 > look.px(24)) words(list, look.fonts.body, x0 + look.px(8), top + at.lane_height * 0.5f, look.theme.quiet, what, x1 - x0 - look.px(12));
  };
  const auto& weight = layer.weight_curve;
  if (weight.empty()) return layer.weight > 0 ? band(keys.begin, keys.end) : void();
  for (std::size_t k = 0; k < weight.size();) {
    if (weight[k].value <= 0 && (k + 1 == weight.size() || weight[k + 1].value <= 0)) { ++k; continue; }
    std::size_t last = k + 1;
    while (last < weight.size() && weight[last].value > 0) ++last;
    band(k == 0 && weight[0].value > 0 ? keys.begin : weight[k].time, last < weight.size() ? weight[last].time : keys.end);
    k = last;
  }
}

}  // namespace

void draw_layer(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const Lane& lane, float top) {
  const Look& look = scene.look;
  const show::Layer& layer = *lane.layer;
  const float middle = top + at.lane_height * 0.5f;
  draw_own_keys(list, look, at, layer, top);
  if (layer.idle) {
    // As long as the show is.
    const float x0 = std::max(at.split, at.axis.x(show::Time{0})), x1 = std::min(at.right, at.axis.x(scene.document.show().length));
    fill(list, x0, top + look.px(kInset), std::max(x0, x1), top + at.lane_height - look.px(kInset), with_alpha(look.theme.raised, layer.muted ? 0.5 : 1));
    words(list, look.fonts.body, x0 + look.px(8), middle, layer.muted ? look.theme.quiet : look.theme.text, std::string(show::name(layer.idle->manner)) + ", seed " + std::to_string(layer.idle->seed));
  }
  for (std::size_t i = 0; i < layer.placements.size(); ++i) {
    const show::Placement& p = layer.placements[i];
    const show::Time length = length_of_clip(scene.document.show(), p.clip);
    const Edges e = edges_of(at, p, length);
    if (e.x1 < at.split || e.x0 > at.right) continue;
    const bool chosen = scene.view.layer == lane.name && scene.view.placement == static_cast<int>(i);
    draw_block(list, look, at, e, top, p.clip, chosen, layer.muted);
    draw_repeats(list, look, at, p, length, top);
    if (listening_probe) mark(("block/" + lane.name + "/" + std::to_string(i)).c_str(), {e.x0, top}, {e.x1, top + at.lane_height});
  }
}

void draw_layer_name(ImDrawList& list, const Scene& scene, const TimelineLayout& at, const Lane& lane, float top, float y) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  const show::Layer& layer = *lane.layer;
  const bool chosen = scene.view.layer == lane.name;
  if (chosen) fill(list, at.left, top, at.split, top + at.lane_height, t.raised);
  const float right = at.split - look.px(12);
  const std::string weight = !layer.weight_curve.empty() ? "curve" : percent_text(layer.weight);
  const std::string state = layer.muted ? "muted" : std::string(layer.blend == show::Layer::Blend::add ? "adds " : "") + weight;
  const float width = width_of(look.fonts.body, state), x = at.left + look.px(28);
  words(list, look.fonts.body, right - width, y, t.quiet, state);
  words(list, chosen ? look.fonts.strong : look.fonts.body, x, y, layer.muted ? t.quiet : t.text, lane.name, right - width - x - look.px(8));
}

std::optional<BlockHit> block_at(const Scene& scene, const TimelineLayout& at, std::size_t lane, float x, float y) {
  if (lane >= at.lanes.size() || !at.lanes[lane].layer || x < at.split) return {};
  const auto& placements = at.lanes[lane].layer->placements;
  const float reach = scene.look.px(kFadeReach), upper = at.lane_top(lane) + at.lane_height * 0.5f;
  for (std::size_t i = placements.size(); i-- > 0;) {  // the last lies on top
    const Edges e = edges_of(at, placements[i], length_of_clip(scene.document.show(), placements[i].clip));
    if (x < e.x0 - reach * 0.5f || x > e.x1 + reach * 0.5f) continue;
    const float inside = std::min(reach, (e.x1 - e.x0) * 0.25f);  // a short block can still be held in its middle
    // The upper half of an end pulls the fade out of it, the lower half moves the end itself.
    if (y < upper && std::abs(x - e.in) <= inside) return BlockHit{i, Drag::Kind::block_fade_in};
    if (y < upper && std::abs(x - e.out) <= inside) return BlockHit{i, Drag::Kind::block_fade_out};
    if (x <= e.x0 + inside) return BlockHit{i, y < upper ? Drag::Kind::block_fade_in : Drag::Kind::block_begin};
    if (x >= e.x1 - inside) return BlockHit{i, y < upper ? Drag::Kind::block_fade_out : Drag::Kind::block_end};
    return BlockHit{i, Drag::Kind::block};
  }
  return {};
}

BlockPull pulled(const show::Placement& was, show::Time clip_length, Drag::Kind kind, show::Time to, bool whole) {
  show::Placement p = was;
  const show::Time lasts = show::duration(was, clip_length), end = was.start + lasts;
  const auto text = [](const char* what, show::Time t) { return std::string(what) + seconds_text(t); };
  switch (kind) {
    case Drag::Kind::block: p.start = std::max(to, show::Time{0}); return {p, text("", p.start)};
    case Drag::Kind::block_begin: {
      // What of the clip lies before its beginning is trimmed; it can't begin before it has anything.
      const double before_ns = static_cast<double>(was.offset.count()) / was.rate;
      const show::Time least = std::max(show::Time{0}, was.start - show::Time{static_cast<std::int64_t>(before_ns)});
      p.start = std::clamp(to, least, std::max(least, end - show::Time{1'000'000}));
      p.offset = std::max(show::Time{0}, was.offset + show::Time{static_cast<std::int64_t>(std::llround(static_cast<double>((p.start - was.start).count()) * was.rate))});
      return {p, text("from ", p.start) + text(", trimmed by ", p.offset)};
    }
    case Drag::Kind::block_end: {
      const double wanted = std::max(1e6, static_cast<double>((to - was.start).count()));
      const double has = static_cast<double>(clip_length.count()) * was.repeats - static_cast<double>(was.offset.count());
      if (whole) {
        const double each = std::max(1.0, static_cast<double>(clip_length.count()));
        p.repeats = static_cast<int>(std::clamp(std::round((wanted * was.rate + static_cast<double>(was.offset.count())) / each), 1.0, static_cast<double>(show::kMostRepeats)));
        if (static_cast<double>(clip_length.count()) * p.repeats <= static_cast<double>(was.offset.count())) p.repeats = was.repeats;
        return {p, p.repeats == 1 ? "once" : std::to_string(p.repeats) + " times"};
      }
      p.rate = std::clamp(has / wanted, 0.01, show::kMostRate);
      return {p, "rate " + value_text(p.rate, "", 1)};
    }
    case Drag::Kind::block_fade_in: p.fade_in = std::clamp(to - was.start, show::Time{0}, std::max(show::Time{0}, lasts - was.fade_out)); return {p, text("fade in ", p.fade_in)};
    case Drag::Kind::block_fade_out: p.fade_out = std::clamp(end - to, show::Time{0}, std::max(show::Time{0}, lasts - was.fade_in)); return {p, text("fade out ", p.fade_out)};
    default: return {p, ""};
  }
}

void hint_layer(const Scene& scene, const TimelineLayout& at, std::size_t lane) {
  const ImVec2 pointer = ImGui::GetIO().MousePos;
  const auto hit = block_at(scene, at, lane, pointer.x, pointer.y);
  if (!hit) {
    if (show::find_clip(scene.document.show(), scene.view.clip)) beside_pointer(scene.look, "double-click to place " + scene.view.clip + " here");
    return;
  }
  const show::Placement& p = at.lanes[lane].layer->placements[hit->placement];
  ImGui::SetMouseCursor(hit->part == Drag::Kind::block ? ImGuiMouseCursor_Hand : ImGuiMouseCursor_ResizeEW);
  switch (hit->part) {
    case Drag::Kind::block: return beside_pointer(scene.look, p.clip + "   " + time_text(scene.view, p.start) + "   drag to move, Alt for a copy, double-click for its keys");
    case Drag::Kind::block_begin: return beside_pointer(scene.look, "drag to trim");
    case Drag::Kind::block_end: return beside_pointer(scene.look, "drag to stretch, Shift to repeat");
    default: return beside_pointer(scene.look, "drag to fade");
  }
}

}  // namespace mien::editor
