// Every step since the show was opened: a click goes there. Steps that were undone stand below the current one, in quiet letters.
#include <imgui.h>

#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"

namespace mien::editor {

Commands history_panel(const Scene& scene) {
  const Look& look = scene.look;
  const Document& document = scene.document;
  Commands out;
  const float height = look.px(28);
  ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {0, 0});
  ImGui::BeginChild("steps");
  if (document.steps() == 1) {
    ImGui::SetCursorPos({look.px(12), look.px(12)});
    paragraph(look.fonts.body, look.theme.quiet, "Every change of the show stands here from now on; a click goes back to it, or on.");
    ImGui::SetCursorPos({0, ImGui::GetCursorPosY() + look.px(8)});
  }
  ImGuiListClipper clipper;
  clipper.Begin(static_cast<int>(document.steps()), height);
  while (clipper.Step())
    for (int i = clipper.DisplayStart; i < clipper.DisplayEnd; ++i) {
      const auto step = static_cast<std::size_t>(i);
      const bool now = step == document.at(), undone = step > document.at();
      const ImVec2 p = ImGui::GetCursorScreenPos();
      const float width = ImGui::GetContentRegionAvail().x, middle = p.y + height * 0.5f;
      ImGui::PushID(i);
      if (ImGui::InvisibleButton("step", {width, height}) && !now) out.push_back(GoToStep{step});
      mark(("step/" + std::to_string(i)).c_str());
      ImDrawList& list = *ImGui::GetWindowDrawList();
      if (now) fill(list, p.x, p.y, p.x + width, p.y + height, look.theme.raised);
      else if (ImGui::IsItemHovered()) fill(list, p.x, p.y, p.x + width, p.y + height, with_alpha(look.theme.raised, 0.5));
      ImGui::PopID();
      if (now) fill_triangle(list, {p.x + look.px(12), middle - look.px(4)}, {p.x + look.px(18), middle}, {p.x + look.px(12), middle + look.px(4)}, look.theme.accent);
      words(list, now ? look.fonts.strong : look.fonts.body, p.x + look.px(28), middle, undone ? look.theme.quiet : look.theme.text, document.step_name(step), width - look.px(120));
      const std::string about = now ? "now" : undone ? "undone" : "";
      words(list, look.fonts.body, p.x + width - look.px(12) - width_of(look.fonts.body, about), middle, look.theme.quiet, about);
    }
  if (document.at() + 1 == document.steps() && ImGui::GetScrollMaxY() > 0 && !ImGui::IsWindowHovered()) ImGui::SetScrollHereY(1);
  ImGui::EndChild();
  ImGui::PopStyleVar();
  return out;
}

}  // namespace mien::editor
