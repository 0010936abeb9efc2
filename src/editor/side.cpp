// What stands beside the lanes, and the strip above them while they show the keys of a clip or layer.
#include <imgui.h>

#include <algorithm>
#include <array>

#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"
#include "editor/studio.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {

Commands side_tabs(const Scene& scene, Side side) {
  const Look& look = scene.look;
  Commands out;
  struct Tab { const char* name; Side side; };
  constexpr std::array<Tab, 7> kSideTabs{{{"Findings", Side::findings}, {"Layers", Side::layers}, {"Clips", Side::clips}, {"Poses", Side::poses}, {"Cues", Side::cues}, {"History", Side::history}, {"Sounds", Side::sounds}}};
  const ImVec2 pos = ImGui::GetWindowPos(), size = ImGui::GetWindowSize();
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const float close = width_of(look.fonts.strong, "\u00D7") + look.px(20);
  float x = pos.x + look.px(4), named = 0;
  for (const Tab& tab : kSideTabs) named += width_of(look.fonts.strong, tab.name);
  // Nearer to each other where the column is narrow.
  const float between = std::clamp((size.x - look.px(4) - close - named) / static_cast<float>(kSideTabs.size()), look.px(4), look.px(16));
  for (const Tab& tab : kSideTabs) {
    const float width = width_of(look.fonts.strong, tab.name) + between;
    ImGui::SetCursorScreenPos({x, pos.y});
    if (ImGui::InvisibleButton(tab.name, {width, size.y})) out.push_back(ShowSide{tab.side});
    mark((std::string("tab/") + tab.name).c_str());
    const bool on = tab.side == side, over = ImGui::IsItemHovered();
    words(list, on ? look.fonts.strong : look.fonts.body, x + between / 2, pos.y + size.y * 0.5f, on || over ? look.theme.text : look.theme.quiet, tab.name);
    if (on) fill(list, x + between / 2, pos.y + size.y - look.px(4), x + width - between / 2, pos.y + size.y - look.px(2), look.theme.accent);
    x += width;
  }
  ImGui::SetCursorScreenPos({pos.x + size.x - close, pos.y});
  if (ImGui::InvisibleButton("close", {close, size.y})) out.push_back(ShowSide{Side::none});
  mark("tab/close");
  words(list, look.fonts.strong, pos.x + size.x - close + look.px(10), pos.y + size.y * 0.5f, ImGui::IsItemHovered() ? look.theme.text : look.theme.quiet, "\u00D7");
  fill(list, pos.x, pos.y + size.y - std::max(1.0f, look.px(1)), pos.x + size.x, pos.y + size.y, look.theme.line);
  return out;
}

Commands keys_of_strip(const Scene& scene, const Studio& studio) {
  const Look& look = scene.look;
  Commands out;
  const ImVec2 pos = ImGui::GetWindowPos(), size = ImGui::GetWindowSize();
  const float middle = pos.y + size.y * 0.5f;
  const KeysOf& of = scene.document.keys_of();
  const bool clip = of.kind == KeysOf::Kind::clip;
  std::size_t placed = 0;
  for (const auto& layer : scene.document.whole().layers)
    for (const auto& p : layer->placements) placed += clip && p.clip == of.name;
  ImDrawList& list = *ImGui::GetWindowDrawList();
  fill(list, pos.x, pos.y, pos.x + look.px(4), pos.y + size.y, look.theme.accent);
  ImGui::SetCursorScreenPos({pos.x + look.px(12), middle - look.px(16)});
  action_button(look, studio, "back", "Back to the show", false, out);
  const float x = ImGui::GetItemRectMax().x + look.px(16);
  const float used = words(list, look.fonts.strong, x, middle, look.theme.text, std::string(clip ? "Keys of clip " : "Keys of layer ") + of.name);
  const std::string where = !clip ? "on top of what lies below" : placed == 0 ? "placed nowhere yet" : placed == 1 ? "placed once; it shows there" : "placed " + std::to_string(placed) + " times; what you change shows at each";
  words(list, look.fonts.body, x + used + look.px(16), middle, look.theme.quiet, where, pos.x + size.x - x - used - look.px(28));
  return out;
}

}  // namespace mien::editor
