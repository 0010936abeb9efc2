#include "editor/theme.hpp"

#include <imgui.h>

#include <algorithm>
#include <cmath>

namespace mien::editor {
namespace {

Theme dark_theme() {
  Theme t{};
  t.dark = true;
  t.ground = rgb(0x121417), t.panel = rgb(0x1A1D21), t.lane = rgb(0x1E2226), t.lane_other = rgb(0x1A1D21);
  t.raised = rgb(0x2A2F35), t.raised_hover = rgb(0x353B43), t.raised_active = rgb(0x424A54), t.field = rgb(0x111316);
  t.line = rgb(0x333940);
  t.text = rgb(0xECEEF0), t.quiet = rgb(0xA4ABB4), t.accent = rgb(0xFFFFFF), t.accent_text = rgb(0x121417);
  t.live = rgb(0xFF7F3F), t.live_text = rgb(0x17110D), t.warning = rgb(0xF0C04A), t.good = rgb(0x4CC79B);
  t.playhead = rgb(0xECEEF0), t.loop = rgb(0x5B6570), t.wave = rgb(0x6D7884), t.setpoint = rgb(0xECEEF0);
  t.dim = with_alpha(rgb(0x000000), 0.55);
  t.group = {rgb(0xE69F00), rgb(0x56B4E9), rgb(0x18B98A), rgb(0xF0E442), rgb(0xD98BB6), rgb(0x4C8FE0)};
  return t;
}

Theme light_theme() {
  Theme t{};
  t.dark = false;
  t.ground = rgb(0xE4E6E9), t.panel = rgb(0xF4F5F6), t.lane = rgb(0xFFFFFF), t.lane_other = rgb(0xF4F5F6);
  t.raised = rgb(0xDFE2E6), t.raised_hover = rgb(0xD2D6DB), t.raised_active = rgb(0xC3C9D0), t.field = rgb(0xFFFFFF);
  t.line = rgb(0xC6CBD1);
  t.text = rgb(0x16191D), t.quiet = rgb(0x4C545D), t.accent = rgb(0x000000), t.accent_text = rgb(0xFFFFFF);
  t.live = rgb(0xB54A00), t.live_text = rgb(0xFFFFFF), t.warning = rgb(0x7A5700), t.good = rgb(0x00694C);
  t.playhead = rgb(0x16191D), t.loop = rgb(0x868F99), t.wave = rgb(0x7C8690), t.setpoint = rgb(0x16191D);
  t.dim = with_alpha(rgb(0x202428), 0.45);
  t.group = {rgb(0xC27400), rgb(0x2A8CC4), rgb(0x007A58), rgb(0x665E00), rgb(0xC2609B), rgb(0x004C86)};
  return t;
}

double linear(unsigned channel) noexcept {
  const double share = channel / 255.0;
  return share <= 0.04045 ? share / 12.92 : std::pow((share + 0.055) / 1.055, 2.4);
}

double luminance(Colour c) noexcept {
  return 0.2126 * linear(c & 0xFF) + 0.7152 * linear(c >> 8 & 0xFF) + 0.0722 * linear(c >> 16 & 0xFF);
}

}  // namespace

const Theme& theme(bool dark) noexcept {
  static const Theme dark_one = dark_theme(), light_one = light_theme();
  return dark ? dark_one : light_one;
}

double contrast(Colour a, Colour b) noexcept {
  const double la = luminance(a), lb = luminance(b);
  return (std::max(la, lb) + 0.05) / (std::min(la, lb) + 0.05);
}

std::vector<Pair> pairs(const Theme& t) {
  std::vector<Pair> all{
      {"text on ground", t.text, t.ground, 4.5},         {"text on panel", t.text, t.panel, 4.5},
      {"text on lane", t.text, t.lane, 4.5},             {"text on button", t.text, t.raised, 4.5},
      {"text on hovered button", t.text, t.raised_hover, 4.5}, {"text on pressed button", t.text, t.raised_active, 4.5},
      {"text on field", t.text, t.field, 4.5},           {"quiet text on ground", t.quiet, t.ground, 4.5},
      {"quiet text on panel", t.quiet, t.panel, 4.5},    {"quiet text on lane", t.quiet, t.lane, 4.5},
      {"quiet text on button", t.quiet, t.raised, 4.5},  {"quiet text on hovered button", t.quiet, t.raised_hover, 4.5},
      {"quiet text on field", t.quiet, t.field, 4.5},    {"text on accent", t.accent_text, t.accent, 4.5},
      {"text on live", t.live_text, t.live, 4.5},        {"live word on panel", t.live, t.panel, 4.5},
      {"warning on panel", t.warning, t.panel, 4.5},     {"good on panel", t.good, t.panel, 4.5},
      {"warning on ground", t.warning, t.ground, 4.5},   {"playhead on lane", t.playhead, t.lane, 3},
      {"setpoint on lane", t.setpoint, t.lane, 3},       {"wave on lane", t.wave, t.lane, 3},
      {"accent on lane", t.accent, t.lane, 3},           {"accent on other lane", t.accent, t.lane_other, 3},
      {"warning shape on lane", t.warning, t.lane, 3},     {"warning on button", t.warning, t.raised, 3},
      {"live frame on ground", t.live, t.ground, 3},     {"certainty on button", t.good, t.raised, 3},
      {"number on a slider's grip", t.text, t.loop, 4.5}, {"slider's grip on field", t.loop, t.field, 3},
      {"frame of an empty box on panel", t.quiet, t.panel, 3}, {"tick in its box", t.accent, t.field, 3},
  };
  for (const Colour g : t.group) {
    all.push_back({"group shape on lane", g, t.lane, 3});
    all.push_back({"group shape on other lane", g, t.lane_other, 3});
  }
  return all;
}

void dress(const Theme& t, float scale) {
  ImGuiStyle style;
  const auto set = [&](ImGuiCol slot, Colour c) { style.Colors[slot] = ImGui::ColorConvertU32ToFloat4(c); };
  for (ImVec4& c : style.Colors) c = ImGui::ColorConvertU32ToFloat4(t.raised);
  set(ImGuiCol_Text, t.text), set(ImGuiCol_TextDisabled, t.quiet);
  set(ImGuiCol_WindowBg, t.panel), set(ImGuiCol_ChildBg, with_alpha(t.panel, 0)), set(ImGuiCol_PopupBg, t.panel);
  set(ImGuiCol_Border, t.line), set(ImGuiCol_BorderShadow, with_alpha(t.line, 0)), set(ImGuiCol_Separator, t.line);
  set(ImGuiCol_FrameBg, t.field), set(ImGuiCol_FrameBgHovered, t.field), set(ImGuiCol_FrameBgActive, t.field);
  set(ImGuiCol_MenuBarBg, t.panel), set(ImGuiCol_TitleBg, t.panel), set(ImGuiCol_TitleBgActive, t.panel);
  set(ImGuiCol_Button, t.raised), set(ImGuiCol_ButtonHovered, t.raised_hover), set(ImGuiCol_ButtonActive, t.raised_active);
  set(ImGuiCol_Header, t.raised), set(ImGuiCol_HeaderHovered, t.raised_hover), set(ImGuiCol_HeaderActive, t.raised_active);
  set(ImGuiCol_ScrollbarBg, with_alpha(t.panel, 0)), set(ImGuiCol_ScrollbarGrab, t.raised_active);
  set(ImGuiCol_ScrollbarGrabHovered, t.quiet), set(ImGuiCol_ScrollbarGrabActive, t.quiet);
  set(ImGuiCol_CheckMark, t.accent), set(ImGuiCol_SliderGrab, t.loop), set(ImGuiCol_SliderGrabActive, t.loop);  // below the number
  set(ImGuiCol_TextSelectedBg, t.raised_active), set(ImGuiCol_NavHighlight, t.accent);
  set(ImGuiCol_ModalWindowDimBg, with_alpha(t.dim, 0)), set(ImGuiCol_NavWindowingDimBg, t.dim);  // dialogs dim by themselves
  style.WindowPadding = {12, 8}, style.FramePadding = {8, 4}, style.ItemSpacing = {8, 8}, style.ItemInnerSpacing = {8, 4};
  style.WindowRounding = 0, style.PopupRounding = 4, style.FrameRounding = 3, style.ScrollbarRounding = 4, style.GrabRounding = 3;
  style.WindowBorderSize = 0, style.PopupBorderSize = 1, style.FrameBorderSize = 0, style.ScrollbarSize = 12;
  style.DisabledAlpha = 0.45f;
  style.WindowMinSize = {16, 16};
  style.AntiAliasedLinesUseTex = true;
  style.ScaleAllSizes(scale);
  style.PopupBorderSize = std::max(1.0f, std::round(scale));
  ImGui::GetStyle() = style;
}

}  // namespace mien::editor
