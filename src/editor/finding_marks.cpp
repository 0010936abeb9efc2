#include "editor/finding_marks.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <tuple>

#include "editor/draw.hpp"
#include "editor/key_runs.hpp"
#include "editor/probe.hpp"

namespace mien::editor {
namespace {

using perform::Cause;
using perform::Shortfall;

constexpr std::size_t kMostExplained = 3;
constexpr std::size_t kMostMarked = 64;
constexpr float kStretchGapPx = 2;  ///< below which two stretches look like one

float digits(std::size_t n) noexcept {
  float count = 1;
  while (n >= 10) n /= 10, ++count;
  return count;
}

std::string capital(std::string text) {
  if (!text.empty() && text.front() >= 'a' && text.front() <= 'z') text.front() = static_cast<char>(text.front() - 'a' + 'A');
  return text;
}

const std::string& actuator_name(const Feasibility& f, const Shortfall& s) { return f.plan->rig->actuators[static_cast<std::size_t>(s.actuator)].name; }

// ", blink_left, key at 1.200 s, off from 1.180 to 1.240 s".
std::string place_of(const Feasibility& f, const Shortfall& s) {
  std::string key = s.control < 0 ? "" : ", " + f.plan->rig->controls[static_cast<std::size_t>(s.control)].name + ", key at " + seconds_text(s.key);
  if (s.cause == Cause::out_of_sync) return key;
  std::string begin = seconds_text(s.range.begin);
  return key + ", off from " + begin.substr(0, begin.size() - 2) + " to " + seconds_text(s.range.end);
}

}  // namespace

const FindingMark* FindingMarks::near(const TimeAxis& axis, float x, float reach_px) const noexcept {
  const FindingMark* nearest = nullptr;
  for (const FindingMark& m : marks)
    if (const float off = std::abs(axis.x(m.time) - x); off <= reach_px) nearest = &m, reach_px = off;
  return nearest;
}

std::vector<std::size_t> FindingMarks::of(const FindingMark& mark) const {
  const auto& all = study->shortfalls;
  std::vector<std::size_t> items;
  for (const auto* strand : strands) {
    const auto begin = std::lower_bound(strand->seen.begin(), strand->seen.end(), mark.time), end = std::lower_bound(begin, strand->seen.end(), mark.until);
    items.insert(items.end(), strand->by_time.begin() + (begin - strand->seen.begin()), strand->by_time.begin() + (end - strand->seen.begin()));
  }
  if (strands.size() > 1) std::sort(items.begin(), items.end(), [&](std::size_t a, std::size_t b) { return std::tuple(seen_at(all[a]), a) < std::tuple(seen_at(all[b]), b); });
  return items;
}

namespace {

// Walks several strands at once, each from where it stands, so that what a mark takes in is counted and not gathered.
struct Walk {
  std::span<const FindingIndex::Strand* const> strands;
  std::vector<std::size_t> at = std::vector<std::size_t>(strands.size());

  /// Up to the first that is seen at t or later; returns how many were passed.
  std::size_t to(show::Time t) {
    std::size_t passed = 0;
    for (std::size_t s = 0; s < strands.size(); ++s) {
      const std::span<const show::Time> seen(strands[s]->seen);
      if (at[s] == seen.size() || seen[at[s]] >= t) continue;
      const std::size_t next = gallop(seen, at[s], t - show::Time{1}) + 1;
      passed += next - at[s];
      at[s] = next;
    }
    return passed;
  }
  /// The earliest that was not passed; nothing at the end.
  struct Next { show::Time seen; std::size_t index; };
  std::optional<Next> next() const {
    std::optional<Next> first;
    for (std::size_t s = 0; s < strands.size(); ++s) {
      if (at[s] == strands[s]->seen.size()) continue;
      const Next here{strands[s]->seen[at[s]], strands[s]->by_time[at[s]]};
      if (!first || std::tuple(here.seen, here.index) < std::tuple(first->seen, first->index)) first = here;
    }
    return first;
  }
};

}  // namespace

FindingMarks gather_findings(const Feasibility& feasibility, std::span<const int> controls, const TimeAxis& axis, float merge_px) {
  FindingMarks found;
  found.study = &feasibility.study;
  if (const auto* strand = feasibility.index.of(controls)) found.strands = {strand};
  else
    for (const int control : controls)
      if (const auto* one = feasibility.index.of(std::span(&control, 1))) found.strands.push_back(one);
  const show::Time margin = axis.span(2 * merge_px), until = axis.range.end + margin;
  Walk walk{found.strands};
  walk.to(axis.range.begin - margin);
  for (auto first = walk.next(); first && first->seen <= until; first = walk.next()) {
    FindingMark mark{first->seen, show::Time{0}, first->index, 0};
    // Apart from the first of a mark, so that a long row of near ones is several marks, each where it says.
    const auto take_in = [&](float px) {
      mark.until = mark.time + std::max(axis.span(px), show::Time{1});
      mark.count += walk.to(mark.until);
    };
    take_in(merge_px);
    for (float taken = merge_px;;) {
      const float wanted = mark.count > 1 ? merge_px * (1.0f + digits(mark.count)) : merge_px;
      if (wanted <= taken) break;
      take_in(taken = wanted);
    }
    found.marks.push_back(mark);
  }
  return found;
}

std::vector<ImVec2> finding_stretches(const Feasibility& feasibility, std::span<const int> controls, const TimeAxis& axis) {
  const show::Time gap = axis.span(kStretchGapPx);
  std::vector<ImVec2> spans;
  const auto add = [&](const FindingIndex::Strand& strand) {
    const std::span<const show::Range> all(strand.stretches);
    auto i = static_cast<std::size_t>(std::lower_bound(all.begin(), all.end(), axis.range.begin, [](const show::Range& r, show::Time t) { return r.end < t; }) - all.begin());
    while (i < all.size() && all[i].begin <= axis.range.end) {
      std::size_t last = i;
      for (;;) {
        const std::size_t next = gallop(all, last, all[last].end + gap);
        if (next == last) break;
        last = next;
        if (all[last].begin > axis.range.end) break;
      }
      const float x0 = std::max(axis.x(all[i].begin), axis.x0), x1 = std::min(axis.x(all[last].end), axis.x0 + axis.width);
      if (x1 > x0) spans.push_back({x0, std::max(x1, x0 + 1)});
      i = last + 1;
    }
  };
  if (const auto* strand = feasibility.index.of(controls)) return add(*strand), spans;
  for (const int control : controls)
    if (const auto* strand = feasibility.index.of(std::span(&control, 1))) add(*strand);
  std::sort(spans.begin(), spans.end(), [](ImVec2 a, ImVec2 b) { return a.x < b.x; });
  std::vector<ImVec2> joined;
  for (const ImVec2 s : spans) {
    if (!joined.empty() && s.x <= joined.back().y) joined.back().y = std::max(joined.back().y, s.y);
    else joined.push_back(s);
  }
  return joined;
}

void finding_mark(ImDrawList& list, const Look& look, float x, float y, Cause cause, Colour colour) {
  const float r = look.px(4), h = look.px(3), bar = std::max(1.0f, look.px(2));
  switch (cause) {
    case Cause::late: fill_triangle(list, {x - r, y + h}, {x, y - h}, {x + r, y + h}, colour); break;
    case Cause::clipped:
      fill(list, x - r, y - h, x + r, y - h + bar, colour);
      fill_triangle(list, {x - r, y + h}, {x, y - h + bar}, {x + r, y + h}, colour);
      break;
    case Cause::braked: fill_triangle(list, {x - r, y - h}, {x + r, y - h}, {x, y + h}, colour); break;
    case Cause::governed: fill(list, x - h, y - h, x + h, y + h, colour); break;
    case Cause::out_of_sync:
      fill(list, x - h, y - h, x - h + bar, y + h, colour);
      fill(list, x + h - bar, y - h, x + h, y + h, colour);
      break;
  }
}

void draw_finding_marks(ImDrawList& list, const Scene& scene, const TimeAxis& axis, float bottom, const FindingMarks& found, const std::string& name) {
  const Look& look = scene.look;
  const float y = bottom - look.px(kFindingStripPx * 0.5f), hair = std::max(1.0f, look.px(1));
  for (std::size_t i = 0; i < found.marks.size(); ++i) {
    const FindingMark& m = found.marks[i];
    const float x = std::round(axis.x(m.time));
    const Shortfall& s = scene.feasibility->study.shortfalls[m.first];
    finding_mark(list, look, x, y, s.cause, look.theme.warning);
    if (m.count > 1) {
      // On a ground of its own, since a key may stand there.
      const std::string count = std::to_string(m.count);
      const float left = x + look.px(6), middle = bottom - look.px(7), high = look.px(6);
      fill(list, left - look.px(1), middle - high, left + width_of(look.fonts.strong, count) + look.px(1), bottom - hair, look.theme.lane);
      words(list, look.fonts.strong, left, middle, look.theme.warning, count);
    }
    if (listening_probe && i < kMostMarked && x >= axis.x0 && x <= axis.x0 + axis.width) mark((name + "/" + std::to_string(i)).c_str(), {x - 3, y - 3}, {x + 3, y + 3});
  }
}

void explain(const Scene& scene, std::span<const std::size_t> which, bool mark) {
  const Look& look = scene.look;
  const Feasibility& f = *scene.feasibility;
  ImGui::SetNextWindowSize({look.px(400), 0});
  ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {look.px(8), look.px(4)});
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {look.px(12), look.px(12)});
  ImGui::BeginTooltip();
  for (std::size_t i = 0; i < std::min(which.size(), kMostExplained); ++i) {
    const Shortfall& s = f.study.shortfalls[which[i]];
    const show::Finding finding = finding_of(*f.plan, s);
    if (i > 0) ImGui::Dummy({0, look.px(4)});
    line(look.fonts.strong, look.theme.text, actuator_name(f, s) + ": " + size_text(s));
    paragraph(look.fonts.body, look.theme.quiet, capital(name(s.cause)) + place_of(f, s));
    paragraph(look.fonts.body, look.theme.text, finding.what + ".");
    const std::string never = why_not(scene, s);
    paragraph(look.fonts.body, look.theme.text, never.empty() ? finding.cure : never);
  }
  if (which.size() > kMostExplained) line(look.fonts.body, look.theme.quiet, "and " + std::to_string(which.size() - kMostExplained) + " more here");
  if (mark && !which.empty()) line(look.fonts.body, look.theme.quiet, why_not(scene, f.study.shortfalls[which.front()]).empty() ? "Click: go there. Double click: make it arrive." : "Click: go there.");
  ImGui::EndTooltip();
  ImGui::PopStyleVar(2);
}

std::string why_not(const Scene& scene, const Shortfall& s) {
  const std::string cure = finding_of(*scene.feasibility->plan, s).cure;
  if (s.cause == Cause::out_of_sync) return "Keys that arrive on time can\u2019t make up for how servos and link respond. " + cure;
  if (s.control < 0) return "No key asks for this by itself, so there is none to change. " + cure;
  const auto& left = scene.arriving.unmended;
  if (std::find(left.begin(), left.end(), s) != left.end()) return "No change of its keys was found that meets it. " + cure;
  return "";
}

Commands pressed_finding(const Scene& scene, std::span<const std::size_t> which, bool twice) {
  const Shortfall& s = scene.feasibility->study.shortfalls[which.front()];
  Commands out{where(*scene.feasibility, s)};
  if (twice && !scene.arriving.running && why_not(scene, s).empty()) out.push_back(MakeArrive{s});
  return out;
}

GoTo where(const Feasibility& f, const Shortfall& s) {
  return {s.control < 0 ? "" : f.plan->rig->controls[static_cast<std::size_t>(s.control)].name, seen_at(s)};
}

const Shortfall* next_finding(const Feasibility& f, show::Time playhead, int control, int direction) noexcept {
  const auto& all = f.study.shortfalls;
  const auto here = std::pair(playhead, control);
  const auto place = [&](std::size_t i) { return std::pair(seen_at(all[i]), all[i].control); };
  if (direction > 0) {
    const auto at = std::find_if(f.by_time.begin(), f.by_time.end(), [&](std::size_t i) { return place(i) > here; });
    return at == f.by_time.end() ? nullptr : &all[*at];
  }
  // One that no key asks for names no channel, so at the playhead it is where one has been.
  const auto at = std::find_if(f.by_time.rbegin(), f.by_time.rend(), [&](std::size_t i) {
    return place(i) < here && !(all[i].control < 0 && seen_at(all[i]) == playhead);
  });
  return at == f.by_time.rend() ? nullptr : &all[*at];
}

}  // namespace mien::editor
