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
  bool one_time = true;
  std::optional<double> value;
  std::optional<show::Easing> easing;
  /// Of the side before and the one after: offsets and how it lies, where all have one there and agree.
  struct Side { std::optional<show::Time> dt; std::optional<double> dv; std::optional<Lie> lie; bool mixed = false; } in, out;
  const show::Control* control = nullptr;
};

void compare(Shared::Side& side, const HandleSide& now, bool first) {
  if (first) return void(side = {now.dt, now.dv, now.lie, false});
  if (side.dt && *side.dt != now.dt) side.dt.reset(), side.mixed = true;
  if (side.dv && *side.dv != now.dv) side.dv.reset(), side.mixed = true;
  if (side.lie && *side.lie != now.lie) side.lie.reset(), side.mixed = true;
}

constexpr std::size_t kLooked = 2000;  ///< keys that are compared; more count as different

// Of more keys than are looked at each frame: when they stand, by the first and last of each channel.
Shared shared_of_many(const Scene& scene, const Selection& chosen) {
  Shared s;
  s.count = chosen.size();
  s.in = s.out = {{}, {}, {}, true};
  const auto& [control, times] = *chosen.times.begin();
  s.first = {control, times.front()};
  s.control = find_control(scene.document.rig(), control);
  for (const auto& [name, list] : chosen.times) {
    if (list.front() != times.front() || list.back() != times.front()) s.one_time = false;
    if (list.front() < s.first.time) s.first = {name, list.front()};
  }
  return s;
}

Shared shared_of(const Scene& scene) {
  Shared s;
  const Selection& chosen = scene.document.selection();
  s.count = chosen.size();
  if (s.count > kLooked) return shared_of_many(scene, chosen);
  std::size_t seen = 0;
  for (const auto& [control, times] : chosen.times) {
    const show::Channel* channel = show::find_channel(scene.document.show(), control);
    if (!channel) continue;
    for (const show::Time t : times) {
      const show::Keyframe* key = find_key(*channel, t);
      if (!key) continue;
      const KeySides sides = sides_of(*channel, static_cast<std::size_t>(key - channel->keys.data()));
      compare(s.in, sides.in, seen == 0);
      compare(s.out, sides.out, seen == 0);
      if (t != s.first.time && seen > 0) s.one_time = false;
      if (t < s.first.time) s.first = {control, t};
      if (seen++ == 0) {
        s.first = {control, t}, s.value = key->value, s.easing = key->easing;
        s.control = find_control(scene.document.rig(), control);
      }
      if (s.value && *s.value != key->value) s.value.reset();
      if (s.easing && *s.easing != key->easing) s.easing.reset();
    }
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

// A side's handle: its time and value away from the key, and how it lies.
void side_fields(const Scene& scene, const Shared& s, bool after, Typing& time, Typing& value, Commands& out) {
  const Look& look = scene.look;
  const Shared::Side& side = after ? s.out : s.in;
  const std::string id = after ? "out" : "in";
  label(look, after ? "After" : "Before");
  const bool none = side.lie == Lie::none && !side.mixed;
  const char* shown = side.mixed ? "several" : none ? "\u2013" : "%.3f";
  const auto field = [&](const char* what, Typing& typing, double now) {
    ImGui::SameLine(0, look.px(4));
    const bool typed = number_field(look, ("##" + id + what).c_str(), typing, now, typing.on ? "%.3f" : shown, 60);
    if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s", what == std::string("_time") ? "Time from the key to its handle, s" : "Value from the key to its handle");
    return typed && std::isfinite(typing.value);
  };
  const auto refs = [&] { return scene.document.selection().refs(); };
  if (field("_time", time, side.dt ? show::to_seconds(*side.dt) : 0)) out.push_back(Change{HandleEdit{PutHandle{refs(), after, show::from_seconds(std::abs(time.value)), {}}}});
  if (field("_value", value, side.dv.value_or(0))) out.push_back(Change{HandleEdit{PutHandle{refs(), after, {}, value.value}}});
  for (const Lie lie : {Lie::flat, Lie::free}) {
    ImGui::SameLine(0, look.px(4));
    const std::string name = (lie == Lie::flat ? "Flat##" : "Free##") + id;
    if (button(look, name.c_str(), {look.px(44), 0}, side.lie == lie ? Weight::strong : Weight::plain)) out.push_back(Change{HandleEdit{LayHandles{refs(), !after, after, lie}}});
    if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s", lie == Lie::flat ? "Level with the key" : "Towards the neighbour: a corner");
  }
}

void handle_row(const Scene& scene, const Shared& s, KeyPanelState& state, Commands& out) {
  const Look& look = scene.look;
  ImGui::SetCursorPos({look.px(12), look.px(48)});
  side_fields(scene, s, false, state.in_time, state.in_value, out);
  ImGui::SameLine(0, look.px(8));
  const bool aligned = s.in.lie == Lie::aligned && s.out.lie == Lie::aligned;
  if (button(look, "Aligned", {look.px(72), 0}, aligned ? Weight::strong : Weight::plain)) out.push_back(Change{HandleEdit{LayHandles{scene.document.selection().refs(), true, true, Lie::aligned}}});
  if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s", "Both on one line: what turns the one turns the other");
  ImGui::SameLine(0, look.px(8));
  side_fields(scene, s, true, state.out_time, state.out_value, out);
}

}  // namespace

Commands key_panel(const Scene& scene, KeyPanelState& state) {
  const Look& look = scene.look;
  Commands out;
  const Shared s = shared_of(scene);
  ImGui::SetCursorPos({look.px(12), look.px(8)});
  if (s.count == 0) {
    const ImVec2 p = ImGui::GetCursorScreenPos();
    words(*ImGui::GetWindowDrawList(), look.fonts.body, p.x, p.y + look.px(14), look.theme.quiet, "Click a key to see its numbers here; double-click a lane to add one.", ImGui::GetContentRegionAvail().x - look.px(12));
    return out;
  }
  label(look, "Time, s");
  // Of several: the earliest goes there, the others keep their distance.
  if (number_field(look, "##time", state.time, show::to_seconds(s.first.time), s.one_time || state.time.on ? "%.3f" : "several", 84) && std::isfinite(state.time.value))
    out.push_back(Change{MoveKeys{scene.document.selection().refs(), show::from_seconds(state.time.value) - s.first.time}});
  if (!s.one_time && ImGui::IsItemHovered()) ImGui::SetTooltip("%s", ("The first is at " + time_text(scene.view, s.first.time) + "; it goes where you type, the others keep their distance").c_str());
  ImGui::SameLine(0, look.px(16));
  const std::string unit = s.control && s.control->unit != "1" && !s.control->unit.empty() ? "Value, " + s.control->unit : "Value";
  label(look, unit.c_str());
  const double value = s.value.value_or(s.control ? s.control->rest : 0);
  if (number_field(look, "##value", state.value, value, s.value || state.value.on ? "%.3f" : "several", 84))
    out.push_back(Change{SetValue{scene.document.selection().refs(), state.value.value}});
  ImGui::SameLine(0, look.px(16));
  label(look, "Easing");
  easing_buttons(scene, s, out);
  if (scene.view.handles) handle_row(scene, s, state, out);
  return out;
}

}  // namespace mien::editor
