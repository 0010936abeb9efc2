#include <imgui.h>

#include "editor/draw.hpp"
#include "editor/finding_marks.hpp"
#include "editor/probe.hpp"
#include "editor/studio.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {

namespace {

constexpr float kLengthField = 84, kChosenRoom = 120;

// How many findings, as a button that opens their list; returns its left edge.
float count_button(const Scene& scene, float right, float middle, Commands& out) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  const Feasibility* f = scene.feasibility.get();
  const std::size_t count = f ? f->study.shortfalls.size() : 0;
  const std::string text = !f ? "Looking\u2026" : count == 0 ? "No findings" : count == 1 ? "1 finding" : std::to_string(count) + " findings";
  const std::string key = to_text(scene.keys.of(*find_action("findings")));
  const float pad = look.px(12), height = look.px(32), shape = count > 0 ? look.px(16) : 0;
  const float width = shape + width_of(look.fonts.strong, text) + look.px(8) + width_of(look.fonts.body, key) + 2 * pad, x = right - width;
  ImGui::SetCursorScreenPos({x, middle - height * 0.5f});
  if (ImGui::Button("##findings", {width, height})) out.push_back(Act{"findings"});
  mark("button/findings");
  ImDrawList& list = *ImGui::GetWindowDrawList();
  if (count > 0) finding_mark(list, look, x + pad + look.px(4), middle, perform::Cause::late, t.warning);
  const float used = words(list, look.fonts.strong, x + pad + shape, middle, count > 0 ? t.text : t.quiet, text);
  words(list, look.fonts.body, x + pad + shape + used + look.px(8), middle, t.quiet, key);
  return x;
}

// The show's length, to be typed; returns its left edge.
float length_field(const Scene& scene, Typing& typing, float right, float middle, Commands& out) {
  const Look& look = scene.look;
  const float field = look.px(kLengthField), name = width_of(look.fonts.body, "Length, s") + look.px(8), x = right - field - name;
  words(*ImGui::GetWindowDrawList(), look.fonts.body, x, middle, look.theme.quiet, "Length, s");
  ImGui::SetCursorScreenPos({x + name, middle - look.px(14)});
  if (number_field(look, "##length", typing, show::to_seconds(scene.document.show().length), "%.3f", kLengthField))
    out.push_back(Change{SetLength{show::from_seconds(typing.value)}});
  return x;
}

// What else can stand beside the lanes, where there is room for it; returns where they end.
float side_buttons(const Scene& scene, const Studio& studio, float x, float right, float middle, Commands& out) {
  const Look& look = scene.look;
  struct Shown { const char *action, *label; };
  for (const Shown& s : {Shown{"side_layers", "Layers"}, {"side_poses", "Poses"}, {"history", "History"}}) {
    const float width = width_of(look.fonts.strong, s.label) + width_of(look.fonts.body, to_text(scene.keys.of(*find_action(s.action)))) + look.px(32);
    if (x + width > right) break;
    ImGui::SetCursorScreenPos({x, middle - look.px(16)});
    action_button(look, studio, s.action, s.label, false, out);
    x += width + look.px(8);
  }
  return x;
}

}  // namespace

TimeWord time_word(const perform::Report& report, live::FollowSettings::Source follows, const live::CodeSent& sent) {
  using Source = live::FollowSettings::Source;
  TimeWord word;
  if (follows != Source::none) {
    word.text = std::string(follows == Source::mtc ? "Time code: " : "Clock: ") + live::name(report.followed.state);
    word.well = report.followed.state == live::Followed::State::locked;
  }
  if (sent.on) word.text += std::string(word.text.empty() ? "Code out" : "; out") + (sent.there ? "" : ": gone"), word.well &= sent.there;
  return word;
}

Commands transport_bar(const Scene& scene, const Studio& studio, TransportState& state) {
  const Look& look = scene.look;
  Commands out;
  const ImVec2 pos = ImGui::GetWindowPos(), size = ImGui::GetWindowSize();
  const float middle = pos.y + size.y * 0.5f;
  ImDrawList& list = *ImGui::GetWindowDrawList();
  words(list, look.fonts.large_strong, pos.x + look.px(12), middle, look.theme.text, scene.view.timecode ? time_text(scene.view, scene.report.time) : clock_text(scene.report.time));

  float right = pos.x + size.x - look.px(12);
  if (scene.document.open()) {
    right = count_button(scene, right, middle, out) - look.px(16);
    right = length_field(scene, state.length, right, middle, out) - look.px(16);
  }
  // As many as there is room for, the first of them always; with large letters in a small window the last are left to menus and keys.
  struct Shown { const char *action, *label; bool on; };
  const Snapping& s = scene.view.snapping;
  const bool playing = scene.report.playing, loop = scene.document.open() && scene.document.show().loop.has_value();
  float x = pos.x + look.px(172);
  for (const Shown& b : {Shown{"play", playing ? "Pause" : "Play", playing}, {"to_start", "To start", false}, {"loop", "Loop", loop}, {"fit", "Fit", false},
                         {"snap", !s.on ? "Snap: off" : s.frames ? "Snap: frames" : "Snap: ticks", false}}) {
    const float width = width_of(look.fonts.strong, b.label) + width_of(look.fonts.body, to_text(scene.keys.of(*find_action(b.action)))) + look.px(32);
    if (x + width > right && x > pos.x + look.px(172)) break;
    ImGui::SetCursorScreenPos({x, middle - look.px(16)});
    action_button(look, studio, b.action, b.label, b.on, out);
    x = ImGui::GetItemRectMax().x + look.px(8);
  }
  if (!scene.document.open()) return out;
  const float buttons_end = side_buttons(scene, studio, x + look.px(8), right - look.px(kChosenRoom), middle, out);

  if (const TimeWord word = time_word(scene.report, studio.follows(), studio.code_sent()); !word.text.empty()) {
    const float begin = right - width_of(look.fonts.strong, word.text);
    mark("transport/follow", {begin, pos.y}, {right, pos.y + size.y});
    if (begin > buttons_end + look.px(8)) words(list, look.fonts.strong, begin, middle, word.well ? look.theme.text : look.theme.warning, word.text);
    return out;
  }
  const std::size_t chosen = scene.document.selection().size();
  const std::string text = chosen == 0 ? "" : chosen == 1 ? "1 key chosen" : std::to_string(chosen) + " keys chosen";
  const float begin = right - width_of(look.fonts.body, text);
  if (begin > buttons_end + look.px(16)) words(list, look.fonts.body, begin, middle, look.theme.quiet, text);
  return out;
}

}  // namespace mien::editor
