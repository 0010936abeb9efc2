// The hands: what they may move, which devices are there, and the takes.
#include <imgui.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <utility>

#include "editor/draw.hpp"
#include "editor/fields.hpp"
#include "editor/probe.hpp"
#include "editor/studio.hpp"
#include "editor/widgets.hpp"
#include "threads/steady.hpp"

namespace mien::editor {
namespace {

const char* word_of_grip(live::Grip grip) {
  switch (grip) {
    case live::Grip::held: return "leads";
    case live::Grip::waiting: return "to be picked up";
    default: return "not moved yet";
  }
}

std::string curve_word(double curve) {
  char text[32];
  std::snprintf(text, sizeof text, "Curve %g", curve);
  return text;
}

void hands_heading(const Look& look, const char* text) {
  ImGui::Dummy({0, look.px(8)});
  line(look.fonts.strong, look.theme.text, text);
}

// A button in a row of a list, named list/row/what to the probe.
// Beside the one before where there is room, else below it.
bool small(const Look& look, const char* list, int row, const std::string& label, const char* what, bool first = false) {
  const float right = ImGui::GetCursorScreenPos().x + ImGui::GetContentRegionAvail().x, width = width_of(look.fonts.body, label) + 2 * ImGui::GetStyle().FramePadding.x;
  if (!first && ImGui::GetItemRectMax().x + ImGui::GetStyle().ItemSpacing.x + width <= right) ImGui::SameLine();
  ImGui::PushID(row);
  const bool pressed = ImGui::Button((label + "##" + what).c_str(), {0, look.px(28)});
  if (listening_probe) mark((std::string(list) + "/" + std::to_string(row) + "/" + what).c_str());
  ImGui::PopID();
  return pressed;
}

void orders(const Scene& scene, const Studio& studio, Commands& out) {
  const Look& look = scene.look;
  const HandsDesk& h = studio.hands();
  const double left_s = static_cast<double>(h.count_in_until_ns - threads::steady_ns()) * 1e-9;
  const std::string record = h.count_in_until_ns ? "In " + std::to_string(static_cast<int>(std::ceil(std::max(left_s, 0.0)))) : h.recording ? "Stop recording" : "Record";
  struct Shown { const char *action, *label; bool on; };
  const float right = ImGui::GetWindowPos().x + ImGui::GetWindowWidth() - look.px(12);
  bool first = true;
  for (const Shown& b : {Shown{"hands_learn", h.learning.empty() ? "Learn" : "Move a knob", !h.learning.empty()}, {"hands_record", record.c_str(), h.recording}, {"hands_panic", "Hands off", false}}) {
    const float width = width_of(look.fonts.strong, b.label) + width_of(look.fonts.body, to_text(scene.keys.of(*find_action(b.action)))) + look.px(32);
    if (!std::exchange(first, false) && ImGui::GetItemRectMax().x + look.px(8) + width <= right) ImGui::SameLine();
    action_button(look, studio, b.action, b.label, b.on, out);
  }
  if (!h.learning.empty()) paragraph(look.fonts.body, look.theme.text, "Move the knob, wheel or stick that is to lead " + h.learning + ". Press Learn again to leave it as it is.");
}

void groups(const Scene& scene, const HandsDesk& h, Commands& out) {
  const auto& all = scene.document.rig().groups;
  if (all.empty()) return;
  hands_heading(scene.look, "Given to the hands");
  for (std::size_t g = 0; g < all.size(); ++g) {
    bool on = g >= h.given.size() || h.given[g];
    if (g % 3) ImGui::SameLine();
    if (tick_box(scene.look, (all[g].name + "##given").c_str(), &on)) out.push_back(Hand{Hand::Do::give, static_cast<int>(g)});
    if (listening_probe) mark(("given/" + all[g].name).c_str());
  }
}

// Which of what hands move is recorded, and how.
void recording(const Scene& scene, const Studio& studio, const HandsDesk& h, ComposeState& state, Commands& out) {
  auto names = live::moved_by(h.map, scene.document.whole());
  if (studio.network().osc)
    for (const auto& control : scene.document.rig().controls)
      if (std::find(names.begin(), names.end(), control.name) == names.end()) names.push_back(control.name);
  if (names.empty()) return;
  hands_heading(scene.look, "To be recorded");
  const float right = ImGui::GetWindowPos().x + ImGui::GetWindowWidth() - scene.look.px(12);
  for (std::size_t n = 0; n < names.size(); ++n) {
    if (n && ImGui::GetItemRectMax().x + width_of(scene.look.fonts.body, names[n]) + scene.look.px(52) <= right) ImGui::SameLine();
    bool on = std::find(h.spared.begin(), h.spared.end(), names[n]) == h.spared.end();
    if (tick_box(scene.look, (names[n] + "##armed").c_str(), &on)) out.push_back(Hand{Hand::Do::arm, 0, 0, names[n]});
    if (listening_probe) mark(("armed/" + names[n]).c_str());
  }
  Fields fields(scene.look, state);
  if (const auto v = fields.number("Count-in, s", "count_in", h.count_in_s, "%.1f")) out.push_back(Hand{Hand::Do::count_in, 0, *v});
  if (const auto v = fields.number("Error, %", "take_error", h.error_percent, "%.2f", true)) out.push_back(Hand{Hand::Do::error, 0, *v});
}

void devices(const Scene& scene, const HandsDesk& h) {
  const Look& look = scene.look;
  hands_heading(look, "Devices");
  if (h.devices.empty()) paragraph(look.fonts.body, look.theme.quiet, "No MIDI device is here. Plug one in: it is heard at once.");
  for (const auto& d : h.devices) line(look.fonts.body, d.there ? look.theme.text : look.theme.quiet, d.there ? d.name : d.name + ": not plugged in");
}

void triggers(const Scene& scene, const Studio& studio, const HandsDesk& h, ComposeState& state, Commands& out) {
  const Look& look = scene.look;
  hands_heading(look, "Triggers");
  if (h.map.triggers.empty()) paragraph(look.fonts.body, look.theme.quiet, "No key does anything yet. Choose a cue, a pose or a clip beside the lanes, press Learn a key, and press it.");
  for (std::size_t n = 0; n < h.map.triggers.size(); ++n) {
    const live::Trigger& t = h.map.triggers[n];
    const int row = static_cast<int>(n);
    paragraph(look.fonts.body, look.theme.quiet, live::to_text(t.source) + " \u2192 " + live::name(t.what) + (t.name.empty() ? "" : " " + t.name) + ", " + live::name(t.hold));
    if (small(look, "trigger", row, h.unfolded_trigger == row ? "Less" : "More", "more", true)) out.push_back(Hand{Hand::Do::unfold_trigger, row});
    if (small(look, "trigger", row, "Remove", "remove")) out.push_back(Hand{Hand::Do::trigger_remove, row});
    if (h.unfolded_trigger == row) add(out, trigger_fields(scene, h, row, state));
  }
  action_button(look, studio, "hands_trigger", h.learning_trigger ? "Press a key" : "Learn a key", h.learning_trigger.has_value(), out);
}

void knobs(const Scene& scene, const Studio& studio, const HandsDesk& h, ComposeState& state, Commands& out) {
  const Look& look = scene.look;
  hands_heading(look, "Knobs");
  if (h.map.knobs.empty()) paragraph(look.fonts.body, look.theme.quiet, "No knob moves anything yet. Choose a channel, press Learn, and move a knob.");
  for (std::size_t n = 0; n < h.map.knobs.size(); ++n) {
    const live::Knob& k = h.map.knobs[n];
    const int row = static_cast<int>(n);
    const live::Grip grip = n < scene.report.hands.grip.size() && scene.report.hands.there ? scene.report.hands.grip[n] : live::Grip::none;
    const std::string spring = k.spring_back_s > 0 ? "springs back" : word_of_grip(grip);
    paragraph(look.fonts.body, grip == live::Grip::held ? look.theme.text : look.theme.quiet, live::to_text(k.source) + " \u2192 " + k.control + ": " + spring);
    if (small(look, "knob", row, k.inverted ? "Inverted" : "Invert", "invert", true)) out.push_back(Hand{Hand::Do::invert, row});
    if (small(look, "knob", row, k.takeover == live::Takeover::scaled ? "Scaled" : k.takeover == live::Takeover::glide ? "Glide" : "Pick up", "takeover")) out.push_back(Hand{Hand::Do::takeover, row});
    if (small(look, "knob", row, curve_word(k.curve), "curve")) out.push_back(Hand{Hand::Do::curve, row});
    if (small(look, "knob", row, h.unfolded == row ? "Less" : "More", "more")) out.push_back(Hand{Hand::Do::unfold, row});
    if (small(look, "knob", row, "Remove", "remove")) out.push_back(Hand{Hand::Do::remove, row});
    if (h.unfolded == row) add(out, knob_fields(scene, h, row, state));
  }
  triggers(scene, studio, h, state, out);
}

void takes(const Scene& scene, const HandsDesk& h, Commands& out) {
  const Look& look = scene.look;
  hands_heading(look, "Takes");
  if (h.takes.empty()) paragraph(look.fonts.body, look.theme.quiet, "What hands do is kept here while it is recorded. Keep puts a take into the channels; drop throws it away.");
  for (std::size_t n = 0; n < h.takes.size(); ++n) {
    const auto span = live::span_of(h.takes[n]);
    char text[96];
    std::snprintf(text, sizeof text, ": %.1f to %.1f s, %zu control%s", show::to_seconds(span.begin), show::to_seconds(span.end), h.takes[n].tracks.size(), h.takes[n].tracks.size() == 1 ? "" : "s");
    paragraph(look.fonts.body, look.theme.text, h.takes[n].name + text);
    if (small(look, "take", static_cast<int>(n), "Keep", "keep", true)) out.push_back(Hand{Hand::Do::keep, static_cast<int>(n)});
    if (small(look, "take", static_cast<int>(n), "As a layer", "layer")) out.push_back(Hand{Hand::Do::keep_layer, static_cast<int>(n)});
    if (small(look, "take", static_cast<int>(n), "Drop", "drop")) out.push_back(Hand{Hand::Do::drop, static_cast<int>(n)});
  }
}

}  // namespace

Commands hands_panel(const Scene& scene, const Studio& studio, ComposeState& state) {
  Commands out;
  const HandsDesk& h = studio.hands();
  orders(scene, studio, out);
  ImGui::BeginChild("hands list", {0, 0}, false);
  if (!h.takes.empty()) takes(scene, h, out);
  knobs(scene, studio, h, state, out);
  groups(scene, h, out);
  recording(scene, studio, h, state, out);
  devices(scene, h);
  if (h.takes.empty()) takes(scene, h, out);
  ImGui::EndChild();
  return out;
}

}  // namespace mien::editor
