#include "editor/fields.hpp"

#include <imgui.h>
#include <imgui_stdlib.h>

#include <cmath>

#include "editor/draw.hpp"
#include "editor/probe.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

constexpr float kLabels = 84, kField = 84, kSecond = 192, kHeight = 28;

}  // namespace

void Fields::heading(const char* text) const {
  ImGui::Dummy({0, look_.px(4)});
  const ImVec2 p = ImGui::GetCursorScreenPos();
  fill(*ImGui::GetWindowDrawList(), p.x, p.y, p.x + ImGui::GetContentRegionAvail().x, p.y + std::max(1.0f, look_.px(1)), look_.theme.line);
  ImGui::Dummy({0, look_.px(4)});
  line(look_.fonts.strong, look_.theme.text, text);
}

void Fields::label(const char* text) const {
  const ImVec2 p = ImGui::GetCursorScreenPos();
  words(*ImGui::GetWindowDrawList(), look_.fonts.body, p.x, p.y + look_.px(kHeight * 0.5f), look_.theme.quiet, text, look_.px(kLabels - 4));
  ImGui::Dummy({look_.px(kLabels), look_.px(kHeight)});
  ImGui::SameLine(0, 0);
}

std::optional<double> Fields::number(const char* text, const char* id, double shown, const char* format, bool second) {
  // Beside the one before, where the panel is wide enough for both.
  const float left = look_.px(kSecond) + ImGui::GetStyle().WindowPadding.x, right = ImGui::GetCursorPosX() + ImGui::GetContentRegionAvail().x;
  if (second && left + look_.px(kLabels + kField) <= right) ImGui::SameLine(left);
  label(text);
  Typing& typing = state_.numbers[id];
  const bool changed = number_field(look_, (std::string("##") + id).c_str(), typing, shown, format, kField);
  if (!changed || !std::isfinite(typing.value)) return {};
  return typing.value;
}

std::optional<std::string> Fields::name(const char* text, const char* id, const std::string& shown) {
  label(text);
  Texting& typing = state_.names[id];
  if (!typing.on) typing.text = shown;
  ImGui::SetNextItemWidth(ImGui::GetContentRegionAvail().x);
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look_.px(8), look_.px(6)});
  ImGui::InputText((std::string("##") + id).c_str(), &typing.text, ImGuiInputTextFlags_AutoSelectAll);
  ImGui::PopStyleVar();
  if (listening_probe) mark((std::string("field/") + id).c_str());
  typing.on = ImGui::IsItemActive();
  if (!ImGui::IsItemDeactivatedAfterEdit() || typing.text.empty() || typing.text == shown) return {};
  return typing.text;
}

bool Fields::chip(const char* text, bool on) const { return button(look_, text, {0, look_.px(kHeight)}, on ? Weight::strong : Weight::plain); }

}  // namespace mien::editor
