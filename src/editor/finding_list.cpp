// The findings by time: what, where, how much, and the cure as a button.
#include <imgui.h>

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "editor/draw.hpp"
#include "editor/finding_marks.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

using perform::Shortfall;

constexpr float kFindingRow = 44, kArriveWidth = 120;

void progress(const Scene& scene, Commands& out) {
  const Look& look = scene.look;
  const float width = ImGui::GetWindowWidth() - look.px(24), cancel = look.px(88), height = look.px(32);
  const ImVec2 p = ImGui::GetCursorScreenPos();
  const float bar = width - cancel - look.px(12), share = static_cast<float>(std::clamp(scene.arriving.share, 0.0, 1.0));
  ImDrawList& list = *ImGui::GetWindowDrawList();
  char text[48];
  std::snprintf(text, sizeof text, "Making it arrive: %.0f %%", share * 100);
  words(list, look.fonts.strong, p.x, p.y + look.px(10), look.theme.text, text, bar);
  const float y = p.y + look.px(24);
  fill(list, p.x, y, p.x + bar, y + look.px(4), look.theme.raised);
  fill(list, p.x, y, p.x + bar * share, y + look.px(4), look.theme.text);
  ImGui::SetCursorScreenPos({p.x + bar + look.px(12), p.y});
  if (button(look, "Cancel##arrive", {cancel, height})) out.push_back(StopArriving{});
}

bool mendable(const Scene& scene) {
  const auto& all = scene.feasibility->study.shortfalls;
  return std::any_of(all.begin(), all.end(), [&](const Shortfall& s) { return why_not(scene, s).empty(); });
}

// An outline until the pointer comes, so that a column of them doesn't shout.
bool quiet_button(const Look& look, const char* label, ImVec2 size) {
  const ImVec2 p = ImGui::GetCursorScreenPos();
  ImGui::PushStyleColor(ImGuiCol_Button, with_alpha(look.theme.raised, 0));
  const bool pressed = ImGui::Button(label, size);
  ImGui::PopStyleColor();
  ImGui::GetWindowDrawList()->AddRect(p, {p.x + size.x, p.y + size.y}, look.theme.line, look.px(3));
  return pressed;
}

void header(const Scene& scene, std::size_t count, Commands& out) {
  const Look& look = scene.look;
  if (scene.arriving.running) return progress(scene, out);
  const float width = ImGui::GetWindowWidth() - look.px(24), height = look.px(32), all = look.px(144);
  const ImVec2 p = ImGui::GetCursorScreenPos();
  const std::string text = count == 1 ? "1 finding" : std::to_string(count) + " findings";
  const float copy = look.px(104);
  words(*ImGui::GetWindowDrawList(), look.fonts.strong, p.x, p.y + height * 0.5f, look.theme.text, count == 0 ? "No findings" : text, width - all - copy - look.px(16));
  ImGui::SetCursorScreenPos({p.x + width - all - look.px(8) - copy, p.y});
  ImGui::BeginDisabled(count == 0);
  if (quiet_button(look, "Copy as text", {copy, height})) out.push_back(Act{"copy_findings"});
  ImGui::EndDisabled();
  mark("button/Copy as text");
  ImGui::SetCursorScreenPos({p.x + width - all, p.y});
  const bool possible = count > 0 && mendable(scene);
  ImGui::BeginDisabled(!possible);
  if (button(look, "Make all arrive", {all, height}, possible ? Weight::strong : Weight::plain)) out.push_back(MakeArrive{});
  ImGui::EndDisabled();
}

void finding_row(const Scene& scene, const Shortfall& s, std::size_t index, std::size_t at, Commands& out) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  const Feasibility& f = *scene.feasibility;
  const ImVec2 p = ImGui::GetCursorScreenPos();
  const float width = ImGui::GetContentRegionAvail().x, height = look.px(kFindingRow), pad = look.px(12);
  const GoTo to = where(f, s);
  ImGui::PushID(static_cast<int>(at));
  if (ImGui::InvisibleButton("row", {width, height})) out.push_back(to);
  ImGui::SetItemAllowOverlap();
  const bool over = ImGui::IsItemHovered(), here = seen_at(s) == scene.report.time && (to.control.empty() || to.control == scene.view.control);
  if (listening_probe) mark(("row/" + std::to_string(at)).c_str());
  ImDrawList& list = *ImGui::GetWindowDrawList();
  if (here || over) fill(list, p.x, p.y, p.x + width, p.y + height, here ? t.raised : t.lane);
  if (here) fill(list, p.x, p.y, p.x + look.px(4), p.y + height, t.accent);
  finding_mark(list, look, p.x + pad + look.px(4), p.y + look.px(13), s.cause, t.warning);

  const std::string never = why_not(scene, s);
  const float right = p.x + width - pad - (never.empty() ? look.px(kArriveWidth) + look.px(8) : 0), x = p.x + pad + look.px(20), wide = look.px(72);
  words(list, look.fonts.body, x, p.y + look.px(13), t.text, seconds_text(seen_at(s)));
  words(list, look.fonts.strong, x + wide, p.y + look.px(13), t.text, to.control.empty() ? "no key asks" : to.control, right - x - wide);
  words(list, look.fonts.body, x, p.y + look.px(31), t.quiet,
        f.plan->rig->actuators[static_cast<std::size_t>(s.actuator)].name + ": " + size_text(s), right - x);
  if (never.empty()) {
    ImGui::SetCursorScreenPos({p.x + width - pad - look.px(kArriveWidth), p.y + look.px(8)});
    ImGui::BeginDisabled(scene.arriving.running);
    if (quiet_button(look, "Make it arrive", {look.px(kArriveWidth), look.px(28)})) out.push_back(MakeArrive{s});
    ImGui::EndDisabled();
    if (listening_probe) mark(("row/" + std::to_string(at) + "/arrive").c_str());
  }
  if (over) {
    // Beside the list, not over the rows below.
    ImGui::SetNextWindowPos({p.x - look.px(8), p.y}, ImGuiCond_Always, {1, 0});
    explain(scene, std::span(&index, 1), false);
  }
  ImGui::SetCursorScreenPos({p.x, p.y + height});
  ImGui::PopID();
}

// When the playhead goes to a finding, the list follows.
void follow_playhead(const Scene& scene, FindingListState& state) {
  if (state.playhead == scene.report.time || scene.report.playing) return;
  state.playhead = scene.report.time;
  const Feasibility& f = *scene.feasibility;
  const int control = perform::control_index(scene.document.rig(), scene.view.control);
  const auto at = std::find_if(f.by_time.begin(), f.by_time.end(), [&](std::size_t i) {
    const Shortfall& s = f.study.shortfalls[i];
    return seen_at(s) == scene.report.time && (s.control < 0 || s.control == control);
  });
  if (at == f.by_time.end()) return;
  const float height = scene.look.px(kFindingRow), top = static_cast<float>(at - f.by_time.begin()) * height, room = ImGui::GetWindowHeight();
  if (top < ImGui::GetScrollY() || top + height > ImGui::GetScrollY() + room) ImGui::SetScrollY(std::max(0.0f, top - (room - height) * 0.5f));
}

void rows(const Scene& scene, FindingListState& state, Commands& out) {
  const Feasibility& f = *scene.feasibility;
  ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {0, 0});
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {0, 0});
  ImGui::BeginChild("rows");
  follow_playhead(scene, state);
  ImGuiListClipper clipper;
  clipper.Begin(static_cast<int>(f.by_time.size()), scene.look.px(kFindingRow));
  while (clipper.Step())
    for (int i = clipper.DisplayStart; i < clipper.DisplayEnd; ++i) {
      const auto at = static_cast<std::size_t>(i);
      finding_row(scene, f.study.shortfalls[f.by_time[at]], f.by_time[at], at, out);
    }
  ImGui::EndChild();
  ImGui::PopStyleVar(2);
}

}  // namespace

Commands finding_list(const Scene& scene, FindingListState& state) {
  const Look& look = scene.look;
  Commands out;
  const std::size_t count = scene.feasibility ? scene.feasibility->study.shortfalls.size() : 0;
  ImGui::SetCursorPos({look.px(12), look.px(12)});
  header(scene, count, out);
  ImGui::SetCursorPos({look.px(12), look.px(52)});
  if (!scene.arriving.word.empty()) {
    ImGui::PushTextWrapPos(ImGui::GetWindowWidth() - look.px(12));
    line(look.fonts.body, look.theme.quiet, scene.arriving.word);
    ImGui::PopTextWrapPos();
  } else if (scene.feasibility && count == 0) {
    ImGui::PushTextWrapPos(ImGui::GetWindowWidth() - look.px(12));
    line(look.fonts.body, look.theme.quiet, "The head can follow everything in this show. Where it can\u2019t, this list says by how much, and mends it.");
    ImGui::PopTextWrapPos();
  }
  ImGui::SetCursorPosX(0);
  if (count > 0) rows(scene, state, out);
  return out;
}

}  // namespace mien::editor
