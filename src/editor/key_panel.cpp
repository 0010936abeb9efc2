// The numbers of the chosen keys: time, value and easing, each to be typed or picked.
#include <imgui.h>

#include <array>
#include <cmath>
#include <optional>

#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

struct NamedEasing { const char* name; show::Easing easing; };
constexpr std::array<NamedEasing, 7> kEasings{{
    {"hold", show::kHold}, {"linear", show::kLinear}, {"smooth", show::kSmooth}, {"ease", show::kEase},
    {"ease-in", show::kEaseIn}, {"ease-out", show::kEaseOut}, {"ease-in-out", show::kEaseInOut},
}};

/// What the chosen keys share; nothing where they differ.
struct Shared {
  std::size_t count = 0;
  show::KeyRef first;
  std::optional<double> value;
  std::optional<show::Easing> easing;
  const show::Control* control = nullptr;
};

constexpr std::size_t kLooked = 2000;  ///< keys compared; beyond it they count as different

Shared shared_of(const Scene& scene) {
  Shared s;
  const Selection& chosen = scene.document.selection();
  s.count = chosen.size();
  std::size_t seen = 0;
  for (const auto& [control, times] : chosen.times)
    for (const show::Time t : times) {
      const show::Keyframe* key = find_key(scene.document.show(), {control, t});
      if (!key) continue;
      if (seen++ == 0) {
        s.first = {control, t}, s.value = key->value, s.easing = key->easing;
        s.control = find_control(scene.document.rig(), control);
      }
      if (s.value && *s.value != key->value) s.value.reset();
      if (s.easing && *s.easing != key->easing) s.easing.reset();
      if (seen > kLooked) return s.value.reset(), s.easing.reset(), s;
    }
  return s;
}

void label(const Look& look, const char* text) {
  ImGui::AlignTextToFramePadding();
  const ImVec2 p = ImGui::GetCursorScreenPos();
  const float width = words(*ImGui::GetWindowDrawList(), look.fonts.body, p.x, p.y + look.px(14), look.theme.quiet, text);
  ImGui::Dummy({width, look.px(28)});
  ImGui::SameLine();
}

void easing_buttons(const Scene& scene, const Shared& s, Commands& out) {
  const Look& look = scene.look;
  const ImVec2 size{look.px(32), look.px(28)};
  const auto picture = [&](const char* name, const show::Easing& easing, bool on) {
    ImGui::PushID(name);
    const ImVec2 p = ImGui::GetCursorScreenPos();
    if (ImGui::Button("##easing", size) && s.count > 0) out.push_back(Change{SetEasing{scene.document.selection().refs(), easing}});
    mark((std::string("easing/") + name).c_str());
    if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s", name);
    ImDrawList& list = *ImGui::GetWindowDrawList();
    if (on) list.AddRectFilled(p, {p.x + size.x, p.y + size.y}, look.theme.accent, look.px(3));
    easing_picture(list, {p.x + look.px(7), p.y + look.px(8)}, {p.x + size.x - look.px(7), p.y + size.y - look.px(8)}, easing,
                   on ? look.theme.accent_text : look.theme.text, look.px(1.5f));
    ImGui::PopID();
  };
  bool named = false;
  for (const NamedEasing& n : kEasings) {
    const bool on = s.easing && *s.easing == n.easing;
    named |= on;
    picture(n.name, n.easing, on);
    ImGui::SameLine(0, look.px(4));
  }
  if (s.easing && !named) picture("bezier", *s.easing, true);
  else ImGui::NewLine();
}

}  // namespace

Commands key_panel(const Scene& scene, KeyPanelState& state) {
  const Look& look = scene.look;
  Commands out;
  const Shared s = shared_of(scene);
  ImGui::SetCursorPos({look.px(12), look.px(8)});
  if (s.count == 0) {
    label(look, "Click a key to see its numbers here; double-click a lane to add one.");
    return out;
  }
  if (s.count == 1) {
    label(look, "Time, s");
    if (number_field(look, "##time", state.time, show::to_seconds(s.first.time), "%.3f", 84))
      out.push_back(Change{SetTime{s.first, show::from_seconds(state.time.value)}});
    ImGui::SameLine(0, look.px(16));
  }
  const std::string unit = s.control && s.control->unit != "1" && !s.control->unit.empty() ? "Value, " + s.control->unit : "Value";
  label(look, unit.c_str());
  const double value = s.value.value_or(s.control ? s.control->rest : 0);
  if (number_field(look, "##value", state.value, value, s.value || state.value.on ? "%.3f" : "several", 84))
    out.push_back(Change{SetValue{scene.document.selection().refs(), state.value.value}});
  ImGui::SameLine(0, look.px(16));
  label(look, "Easing");
  easing_buttons(scene, s, out);
  return out;
}

}  // namespace mien::editor
