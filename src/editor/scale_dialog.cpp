// By how much, and about what, the chosen keys are scaled.
#include <imgui.h>

#include <algorithm>
#include <cmath>

#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {

Commands scale_dialog(const Scene& scene, ScaleState& state) {
  const Look& look = scene.look;
  Commands out;
  if (!begin_dialog(look, "Scale the chosen keys", 520)) return out;
  const Selection& chosen = scene.document.selection();
  show::Range span{show::Time::max(), show::Time::min()};
  for (const auto& [control, times] : chosen.times) span = {std::min(span.begin, times.front()), std::max(span.end, times.back())};
  const auto label = [&](const char* text) {
    const ImVec2 p = ImGui::GetCursorScreenPos();
    words(*ImGui::GetWindowDrawList(), look.fonts.body, p.x, p.y + look.px(14), look.theme.quiet, text);
    ImGui::Dummy({look.px(84), look.px(28)});
    ImGui::SameLine(0, 0);
  };
  label("Time, %");
  if (number_field(look, "##scale_time", state.time, state.time_percent, "%.1f", 84) && std::isfinite(state.time.value) && state.time.value > 0) state.time_percent = state.time.value;
  ImGui::SameLine(0, look.px(16));
  words(*ImGui::GetWindowDrawList(), look.fonts.body, ImGui::GetCursorScreenPos().x, ImGui::GetCursorScreenPos().y + look.px(14), look.theme.quiet, "about");
  ImGui::Dummy({width_of(look.fonts.body, "about") + look.px(8), look.px(28)});
  ImGui::SameLine(0, 0);
  constexpr const char* kPivots[] = {"First key", "Playhead", "Last key"};
  for (int i = 0; i < 3; ++i) {
    if (i > 0) ImGui::SameLine(0, look.px(4));
    if (button(look, kPivots[i], {0, 0}, state.pivot == i ? Weight::strong : Weight::plain)) state.pivot = i;
  }
  label("Value, %");
  if (number_field(look, "##scale_value", state.value, state.value_percent, "%.1f", 84) && std::isfinite(state.value.value)) state.value_percent = state.value.value;
  ImGui::SameLine(0, look.px(16));
  words(*ImGui::GetWindowDrawList(), look.fonts.body, ImGui::GetCursorScreenPos().x, ImGui::GetCursorScreenPos().y + look.px(14), look.theme.quiet, "about each control\u2019s rest");
  ImGui::NewLine();
  ImGui::Dummy({0, look.px(8)});
  const float width = look.px(96), height = look.px(36);
  ImGui::SetCursorPosX(ImGui::GetCursorPosX() + ImGui::GetContentRegionAvail().x - 2 * width - ImGui::GetStyle().ItemSpacing.x);
  if (button(look, "Cancel", {width, height})) out.push_back(Ask{Dialog::none});
  ImGui::SameLine();
  if (button(look, "Scale", {width, height}, Weight::strong)) {
    const show::Time pivot = state.pivot == 0 ? span.begin : state.pivot == 1 ? scene.report.time : span.end;
    out.push_back(Ask{Dialog::none});
    if (!chosen.empty()) out.push_back(Change{Reshaping{ScaleKeys{chosen.refs(), state.time_percent / 100, state.value_percent / 100, pivot}}});
  }
  end_dialog();
  return out;
}

}  // namespace mien::editor
