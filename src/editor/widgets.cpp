#include "editor/widgets.hpp"

#include <imgui_internal.h>

#include <algorithm>
#include <string>
#include <utility>

#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"
#include "editor/studio.hpp"

namespace mien::editor {

bool button(const Look& look, const char* label, ImVec2 size, Weight weight) {
  const Theme& t = look.theme;
  // What can't be pressed doesn't call for it.
  const bool filled = weight != Weight::plain && !(GImGui->CurrentItemFlags & ImGuiItemFlags_Disabled);
  if (filled) {
    const Colour back = weight == Weight::live ? t.live : t.accent;
    ImGui::PushStyleColor(ImGuiCol_Button, back);
    ImGui::PushStyleColor(ImGuiCol_ButtonHovered, back);
    ImGui::PushStyleColor(ImGuiCol_ButtonActive, back);
    ImGui::PushStyleColor(ImGuiCol_Text, weight == Weight::live ? t.live_text : t.accent_text);
    ImGui::PushFont(look.fonts.strong);
  }
  if (size.y == 0) size.y = look.px(28);
  if (size.x == 0) size.x = width_of(ImGui::GetFont(), std::string_view(label).substr(0, std::string_view(label).find("##"))) + look.px(24);
  const bool pressed = ImGui::Button(label, size);
  if (filled) {
    ImGui::PopFont();
    ImGui::PopStyleColor(4);
  }
  if (listening_probe) mark((std::string("button/") + label).c_str());
  return pressed;
}

void action_button(const Look& look, const Studio& studio, std::string_view id, const char* label, bool on, Commands& out) {
  const Action* action = find_action(id);
  if (!action) return;
  const Theme& t = look.theme;
  const std::string key = to_text(studio.keys().of(*action));
  const float pad = look.px(12), height = look.px(32);
  const float width = width_of(look.fonts.strong, label) + (key.empty() ? 0 : width_of(look.fonts.body, key) + look.px(8)) + 2 * pad;
  const bool possible = action->possible(studio);
  ImGui::BeginDisabled(!possible);
  ImGui::PushID(action->id.data());
  const ImVec2 at = ImGui::GetCursorScreenPos();
  if (on) ImGui::PushStyleColor(ImGuiCol_Button, t.accent), ImGui::PushStyleColor(ImGuiCol_ButtonHovered, t.accent), ImGui::PushStyleColor(ImGuiCol_ButtonActive, t.accent);
  if (ImGui::Button("##press", {width, height})) out.push_back(Act{std::string(id)});
  if (on) ImGui::PopStyleColor(3);
  const double alpha = possible ? 1.0 : 0.45;
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const float y = at.y + height * 0.5f;
  const float used = words(list, look.fonts.strong, at.x + pad, y, with_alpha(on ? t.accent_text : t.text, alpha), label);
  words(list, look.fonts.body, at.x + pad + used + look.px(8), y, with_alpha(on ? t.accent_text : t.quiet, alpha), key);
  ImGui::PopID();
  ImGui::EndDisabled();
  mark(("action/" + std::string(id)).c_str());
}

void action_row(const Look& look, const Studio& studio, std::initializer_list<std::pair<const char*, const char*>> buttons, Commands& out) {
  const float right = ImGui::GetCursorScreenPos().x + ImGui::GetContentRegionAvail().x;
  bool first = true;
  for (const auto& [id, label] : buttons) {
    const std::string key = to_text(studio.keys().of(*find_action(id)));
    const float width = width_of(look.fonts.strong, label) + (key.empty() ? 0 : width_of(look.fonts.body, key) + look.px(8)) + look.px(24);
    if (!std::exchange(first, false) && ImGui::GetItemRectMax().x + look.px(8) + width <= right) ImGui::SameLine(0, look.px(8));
    action_button(look, studio, id, label, false, out);
  }
}

namespace {

struct Framed {
  explicit Framed(const Look& look) {
    ImGui::PushStyleVar(ImGuiStyleVar_FrameBorderSize, std::max(1.0f, look.px(1)));
    ImGui::PushStyleColor(ImGuiCol_Border, look.theme.quiet);
  }
  ~Framed() {
    ImGui::PopStyleColor();
    ImGui::PopStyleVar();
  }
  Framed(const Framed&) = delete;
  Framed& operator=(const Framed&) = delete;
};

}  // namespace

bool tick_box(const Look& look, const char* label, bool* on) {
  const Framed framed(look);
  return ImGui::Checkbox(label, on);
}

bool choice_dot(const Look& look, const char* label, bool on) {
  const Framed framed(look);
  return ImGui::RadioButton(label, on);
}

int answers(const Look& look, std::span<const char* const> labels, Weight last, bool possible) {
  const float height = look.px(36), gap = ImGui::GetStyle().ItemSpacing.x;
  const auto wide = [&](const char* label) { return std::max(look.px(96), width_of(look.fonts.strong, label) + look.px(32)); };
  ImGui::Dummy({0, look.px(8)});
  float width = -gap;
  for (const char* l : labels) width += wide(l) + gap;
  ImGui::SetCursorPosX(ImGui::GetCursorPosX() + std::max(0.0f, ImGui::GetContentRegionAvail().x - width));
  int pressed = -1;
  for (std::size_t i = 0; i < labels.size(); ++i) {
    const bool end = i + 1 == labels.size();
    if (end) ImGui::BeginDisabled(!possible);
    if (button(look, labels[i], {wide(labels[i]), height}, end ? last : Weight::plain)) pressed = static_cast<int>(i);
    if (end) ImGui::EndDisabled();
    else ImGui::SameLine();
  }
  return pressed;
}

// The text under the fingers is the drawing library's own, so the number below it stands still meanwhile.
bool number_field(const Look& look, const char* name, Typing& typing, double shown, const char* format, float design_width) {
  if (!typing.on) typing.value = shown;
  ImGui::SetNextItemWidth(look.px(design_width));
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(8), look.px(6)});
  ImGui::InputDouble(name, &typing.value, 0, 0, format, ImGuiInputTextFlags_AutoSelectAll);
  ImGui::PopStyleVar();
  if (listening_probe) mark((std::string("field/") + (name + 2)).c_str());
  typing.on = ImGui::IsItemActive();
  return ImGui::IsItemDeactivatedAfterEdit();
}

bool begin_dialog(const Look& look, const char* title, float design_width) {
  if (!ImGui::IsPopupOpen(title)) ImGui::OpenPopup(title);
  const ImVec2 screen = ImGui::GetIO().DisplaySize;
  const float left = look.px(kSafetyWidth), room = screen.x - left;
  ImGui::SetNextWindowPos({std::round(left + room * 0.5f), std::round(screen.y * 0.45f)}, ImGuiCond_Always, {0.5f, 0.5f});
  ImGui::SetNextWindowSize({std::min(look.px(design_width), room - look.px(32)), 0});
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {look.px(24), look.px(20)});
  const bool shown = ImGui::BeginPopupModal(title, nullptr, ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoResize | ImGuiWindowFlags_AlwaysAutoResize | ImGuiWindowFlags_NoBackground);
  if (!shown) {
    ImGui::PopStyleVar();
    return false;
  }
  // What is below is dimmed, the whole menu with it, but never the safety column.
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const ImVec2 min = ImGui::GetWindowPos(), size = ImGui::GetWindowSize(), max{min.x + size.x, min.y + size.y};
  list.PushClipRectFullScreen();
  fill(list, left, 0, screen.x, screen.y, look.theme.dim);
  fill(list, 0, 0, left, ImGui::GetFrameHeight() + look.px(4), look.theme.dim);
  list.AddRectFilled(min, max, look.theme.panel, look.px(4));
  list.AddRect(min, max, look.theme.line, look.px(4));
  list.PopClipRect();
  line(look.fonts.large_strong, look.theme.text, title);
  ImGui::Dummy({0, look.px(4)});
  return true;
}

// A popup that is merely not drawn any more would go on blocking what is below it.
void close_dialogs() {
  if (ImGui::GetCurrentContext()->OpenPopupStack.Size > 0) ImGui::ClosePopupToLevel(0, true);
}

void end_dialog() {
  ImGui::EndPopup();
  ImGui::PopStyleVar();
}

}  // namespace mien::editor
