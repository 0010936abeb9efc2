// The shows that are open, as a row of names; where only one is, there is no such row.
#include <imgui.h>

#include <algorithm>

#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"
#include "editor/studio.hpp"

namespace mien::editor {

Commands tab_strip(const Scene& scene, const Studio& studio) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  Commands out;
  const ImVec2 pos = ImGui::GetWindowPos(), size = ImGui::GetWindowSize();
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const float cross = look.px(24), most = look.px(240), each = std::min(most, size.x / static_cast<float>(studio.tabs())), middle = pos.y + size.y * 0.5f;
  for (std::size_t i = 0; i < studio.tabs(); ++i) {
    const float x = pos.x + each * static_cast<float>(i);
    const Document& document = studio.tab(i);
    const bool front = i == studio.front();
    const std::string id = std::to_string(i);
    ImGui::SetCursorScreenPos({x, pos.y});
    if (ImGui::InvisibleButton(("tab" + id).c_str(), {std::max(1.0f, each - cross - look.px(4)), size.y})) out.push_back(ShowTab{i});
    mark(("show/" + id).c_str());
    const bool over = ImGui::IsItemHovered();
    if (over) ImGui::SetTooltip("%s", document.file().empty() ? "Not saved yet" : document.file().c_str());
    if (ImGui::IsItemClicked(ImGuiMouseButton_Middle)) out.push_back(CloseTab{i});
    ImGui::SetCursorScreenPos({x + each - cross - look.px(4), pos.y});
    if (ImGui::InvisibleButton(("close" + id).c_str(), {cross, size.y})) out.push_back(CloseTab{i});
    mark(("show/" + id + "/close").c_str());
    const bool over_cross = ImGui::IsItemHovered();
    if (over_cross) ImGui::SetTooltip("Close this show");
    if (front) fill(list, x, pos.y, x + each - look.px(2), pos.y + size.y, t.raised);
    if (front) fill(list, x, pos.y + size.y - look.px(2), x + each - look.px(2), pos.y + size.y, t.accent);
    float left = x + look.px(12);
    // What is on no disk yet has a dot before its name, as in the window's title.
    if (document.unsaved()) left += words(list, look.fonts.strong, left, middle, t.text, "\u2022") + look.px(6);
    words(list, front ? look.fonts.strong : look.fonts.body, left, middle, front || over ? t.text : t.quiet, document.whole().name, x + each - cross - look.px(8) - left);
    const float c = x + each - look.px(4) - cross * 0.5f, r = look.px(4), thick = std::max(1.0f, look.px(1.5f));
    const Colour colour = over_cross ? t.text : t.quiet;
    list.AddLine({c - r, middle - r}, {c + r, middle + r}, colour, thick);
    list.AddLine({c - r, middle + r}, {c + r, middle - r}, colour, thick);
  }
  return out;
}

}  // namespace mien::editor
