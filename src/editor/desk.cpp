// One frame of the window: where each panel stands, and what the person asked of it.
#include <imgui.h>

#include <cmath>

#include "editor/draw.hpp"
#include "editor/probe.hpp"
#include "editor/studio.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

constexpr float kTransport = 56, kKeys = 44, kHandles = 36, kGap = 4, kFindings = 424, kBenchList = 288, kStripHeight = 40, kTabs = 32, kHands = 424, kAsBuiltRoom = 112;

// A panel that fills its rectangle. The window is cleared in the panels' colour and no panel paints itself again, because filling
// costs more than all else on a software renderer.
template <class Draw>
void panel(const char* name, Rect at, ImVec2 padding, Draw draw) {
  ImGui::SetNextWindowPos({at.x, at.y});
  ImGui::SetNextWindowSize({std::max(at.width, 1.0f), std::max(at.height, 1.0f)});
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, padding);
  const ImGuiWindowFlags flags = ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoResize | ImGuiWindowFlags_NoSavedSettings |
                           ImGuiWindowFlags_NoScrollbar | ImGuiWindowFlags_NoScrollWithMouse | ImGuiWindowFlags_NoBringToFrontOnFocus | ImGuiWindowFlags_NoNavFocus | ImGuiWindowFlags_NoBackground;
  ImGui::Begin(name, nullptr, flags);
  ImGui::PopStyleVar();
  draw();
  ImGui::End();
}

struct Places { Rect head, curve, keys, transport, strip, timeline, side, hands; };

Places places(const Look& look, const Panels& panels, bool strip, bool handles, float top, ImVec2 screen) {
  const float safety = look.px(kSafetyWidth), gap = look.px(kGap), transport = look.px(kTransport), keys = look.px(kKeys + (handles ? kHandles : 0));
  Places p;
  const float x = safety + gap, width = screen.x - x, height = screen.y - top;
  const float upper = std::round((height - transport) * panels.top_share);
  const float head = std::round(width * panels.head_share);
  p.head = {x, top, head, upper};
  p.curve = {x + head + gap, top, width - head - gap, upper - keys - gap};
  p.keys = {p.curve.x, top + p.curve.height + gap, p.curve.width, keys};
  p.transport = {x, top + upper + gap, width, transport - gap};
  p.timeline = {x, p.transport.y + p.transport.height + gap, width, screen.y - (p.transport.y + p.transport.height + gap)};
  if (panels.side != Side::none) {
    const float list = std::min(look.px(kFindings), std::round(width * 0.5f));
    p.timeline.width -= list + gap;
    p.side = {p.timeline.x + p.timeline.width + gap, p.timeline.y, list, p.timeline.height};
  }
  if (panels.hands_open) {
    const float list = std::min(look.px(kHands), std::round(p.timeline.width * 0.5f));
    p.timeline.width -= list + gap;
    p.hands = {p.timeline.x + p.timeline.width + gap, p.timeline.y, list, p.timeline.height};
  }
  if (strip) {
    p.strip = p.timeline;
    p.strip.height = look.px(kStripHeight);
    p.timeline.y += p.strip.height + gap, p.timeline.height -= p.strip.height + gap;
  }
  return p;
}

// The edge between two panels, to be dragged; moves `share` of `whole` pixels.
void edge(const Look& look, const char* name, Rect at, bool upright, float whole, float& share) {
  panel(name, at, {0, 0}, [&] {
    ImGui::InvisibleButton(name, {at.width, at.height});
    mark(name);
    if (ImGui::IsItemHovered() || ImGui::IsItemActive()) {
      ImGui::SetMouseCursor(upright ? ImGuiMouseCursor_ResizeEW : ImGuiMouseCursor_ResizeNS);
      fill(*ImGui::GetWindowDrawList(), at.x, at.y, at.x + at.width, at.y + at.height, look.theme.raised_active);
    }
    if (ImGui::IsItemActive()) share += (upright ? ImGui::GetIO().MouseDelta.x : ImGui::GetIO().MouseDelta.y) / std::max(whole, 1.0f);
  });
}

void draw_gaps(const Look& look, const Places& p, ImVec2 screen) {
  ImDrawList& list = *ImGui::GetBackgroundDrawList();
  const Colour c = look.theme.ground;
  const float gap = look.px(kGap), x = p.head.x;
  fill(list, x - gap, p.head.y, x, screen.y, c);
  fill(list, p.curve.x - gap, p.head.y, p.curve.x, p.transport.y, c);
  fill(list, p.curve.x, p.keys.y - gap, screen.x, p.keys.y, c);
  fill(list, x, p.transport.y - gap, screen.x, p.transport.y, c);
  fill(list, x, p.timeline.y - gap, screen.x, p.timeline.y, c);
  if (p.strip.width > 0) fill(list, x, p.strip.y - gap, screen.x, p.strip.y, c);
  if (p.side.width > 0) fill(list, p.side.x - gap, p.side.y, p.side.x, screen.y, c);
  if (p.hands.width > 0) fill(list, p.hands.x - gap, p.hands.y, p.hands.x, screen.y, c);
}

void recent_row(const Look& look, const std::filesystem::path& file, Commands& out) {
  const ImVec2 p = ImGui::GetCursorScreenPos();
  const float width = std::min(look.px(720), ImGui::GetContentRegionAvail().x), height = look.px(32), middle = p.y + height * 0.5f;
  if (ImGui::InvisibleButton(file.c_str(), {width, height})) out.push_back(OpenFile{file});
  const std::string name = file.filename().string();
  mark(("recent/" + name).c_str());
  ImDrawList& list = *ImGui::GetWindowDrawList();
  if (ImGui::IsItemHovered()) fill(list, p.x - look.px(12), p.y, p.x + width, p.y + height, look.theme.raised);
  const float used = words(list, look.fonts.body, p.x, middle, look.theme.text, name, width);
  words(list, look.fonts.body, p.x + std::max(used + look.px(16), look.px(240)), middle, look.theme.quiet, file.parent_path().string(), width - std::max(used + look.px(16), look.px(240)));
}

void first_start(const Look& look, const Studio& studio, Rect at, Commands& out) {
  panel("welcome", at, {look.px(48), look.px(48)}, [&] {
    line(look.fonts.large_strong, look.theme.text, "No show is open");
    paragraph(look.fonts.body, look.theme.quiet, "Open one, or begin a new one on your head\u2019s rig file. Without a rig file, begin with the head.");
    ImGui::Dummy({0, look.px(8)});
    action_button(look, studio, "open", "Open\u2026", false, out);
    ImGui::SameLine();
    action_button(look, studio, "new", "New show\u2026", false, out);
    ImGui::SameLine();
    action_button(look, studio, "new_head", "New head\u2026", false, out);
    if (studio.recent().empty()) return;
    ImGui::Dummy({0, look.px(16)});
    line(look.fonts.strong, look.theme.text, "Recent shows");
    for (const auto& file : studio.recent()) recent_row(look, file, out);
  });
}

// What is live on the hardware looks unmistakably different: a thick frame round the head, and the word in it.
void live_frame(const Scene& scene, Rect at) {
  const Look& look = scene.look;
  if (scene.link.state != link::State::armed) return;
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const float w = look.px(4);
  const Colour c = look.theme.live;
  fill(list, at.x, at.y, at.x + at.width, at.y + w, c);
  fill(list, at.x, at.y + at.height - w, at.x + at.width, at.y + at.height, c);
  fill(list, at.x, at.y, at.x + w, at.y + at.height, c);
  fill(list, at.x + at.width - w, at.y, at.x + at.width, at.y + at.height, c);
  const char* word = scene.report.mode == perform::Mode::creep ? "Live: creeping to this pose" : "Live: the head does this";
  const float pad = look.px(12), height = look.px(28), width = width_of(look.fonts.strong, word) + 2 * pad;
  // At the lower edge: notices come at the upper one, and the ways to look stand there.
  const float y = at.y + at.height - height;
  fill(list, at.x, y, at.x + width, at.y + at.height, c);
  words(list, look.fonts.strong, at.x + pad, y + height * 0.5f, look.theme.live_text, word);
}

void screen_only_word(const Scene& scene, Rect at) {
  if (scene.link.state == link::State::armed) return;
  const Look& look = scene.look;
  words(*ImGui::GetWindowDrawList(), look.fonts.body, at.x + look.px(12), at.y + at.height - look.px(18), look.theme.quiet, "On screen only", at.width - look.px(12 + kAsBuiltRoom));
}

// Thin lines over the head, where servos as built would be. Below the head, so that it is not mistaken for a way to look.
void as_built_switch(const Scene& scene, Rect at, Commands& out) {
  const Look& look = scene.look;
  const char* word = "As built";
  const float box = look.px(12), width = width_of(look.fonts.strong, word) + box + look.px(24), height = look.px(28);
  const float x = at.x + at.width - look.px(8) - width, y = at.y + at.height - look.px(4) - height, middle = y + height * 0.5f;
  if (width > at.width || height > at.height) return;
  ImGui::SetCursorScreenPos({x, y});
  if (ImGui::InvisibleButton("as built", {width, height})) out.push_back(Act{"as_built"});
  mark("button/as_built");
  const bool on = scene.view.as_built, over = ImGui::IsItemHovered();
  const Colour c = on || over ? look.theme.text : look.theme.quiet;
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const float left = x + look.px(8), hair = std::max(1.0f, look.px(1.5f));
  list.AddRect({left, middle - box * 0.5f}, {left + box, middle + box * 0.5f}, c, 0, 0, hair);
  if (on) fill(list, left + 2 * hair, middle - box * 0.5f + 2 * hair, left + box - 2 * hair, middle + box * 0.5f - 2 * hair, c);
  words(list, on ? look.fonts.strong : look.fonts.body, left + box + look.px(8), middle, c, word);
  if (over) beside_pointer(look, "Thin lines: where the servos would be, following what they are told");
}

void draw_side(const Scene& scene, const Studio& studio, const DrawFace& draw, Rect at, Panels& panels, Commands& out) {
  const float tabs = scene.look.px(kStripHeight);
  panel("side tabs", {at.x, at.y, at.width, tabs}, {0, 0}, [&] { add(out, side_tabs(scene, panels.side)); });
  const Rect rest{at.x, at.y + tabs, at.width, at.height - tabs};
  switch (panels.side) {
    case Side::findings: return panel("findings", rest, {0, 0}, [&] { add(out, finding_list(scene, panels.findings)); });
    case Side::layers: return panel("layers", rest, {0, 0}, [&] { add(out, layer_panel(scene, studio, panels.compose)); });
    case Side::clips: return panel("clips", rest, {0, 0}, [&] { add(out, clip_panel(scene, studio, panels.compose)); });
    case Side::poses: return panel("poses", rest, {0, 0}, [&] { add(out, pose_panel(scene, studio, panels.compose, draw)); });
    case Side::cues: return panel("cues", rest, {0, 0}, [&] { add(out, cue_panel(scene, studio, panels.compose)); });
    case Side::history: return panel("history", rest, {0, 0}, [&] { add(out, history_panel(scene)); });
    case Side::sounds: return panel("sounds", rest, {0, 0}, [&] { add(out, sound_panel(scene, studio, panels.compose)); });
    case Side::none: return;
  }
}

}  // namespace

void Studio::frame(const std::vector<KeyPress>& presses) {
  follow_stage();
  follow_desktop_dialog();
  handle_keys(presses);
  const auto setpoints = setpoints_.setpoints();
  const Scene scene{document_, view_, look_, report_, link_, silent_because_, sounds_, setpoints, feasibility(), arriving_, baking_, panels_.side, follow_ghost(setpoints.get()), notices_, keys_, speech_.drawn(), speech_.speaking, spectra_};
  Commands out;

  add(out, menu_bar(scene, *this));
  const ImVec2 screen = ImGui::GetIO().DisplaySize;
  float top = ImGui::GetFrameHeight() + look_.px(4);
  // The safety column keeps its place, whatever stands above the rest.
  const Rect safety{0, top, look_.px(kSafetyWidth), screen.y - top};
  if (tabs_.size() > 1) {
    const float x = look_.px(kSafetyWidth) + look_.px(kGap), high = look_.px(kTabs);
    panel("tabs", {x, top, screen.x - x, high}, {0, 0}, [&] { add(out, tab_strip(scene, *this)); });
    top += high + look_.px(kGap);
  }
  panels_.head_share = std::clamp(panels_.head_share, 0.2f, 0.7f);
  panels_.top_share = std::clamp(panels_.top_share, 0.25f, 0.75f);
  const Places p = places(look_, panels_, document_.open() && document_.keys_of().kind != KeysOf::Kind::show, view_.handles, top, screen);

  panel("safety", safety, {look_.px(16), look_.px(12)}, [&] { add(out, safety_column(scene, safety, panels_.stop)); });
  if (!document_.open()) {
    first_start(look_, *this, {p.head.x, top, screen.x - p.head.x, screen.y - top}, out);
  } else if (bench_) {
    const float list = look_.px(kBenchList), gap = look_.px(kGap), x = p.head.x;
    fill(*ImGui::GetBackgroundDrawList(), x - gap, top, x, screen.y, look_.theme.ground);
    fill(*ImGui::GetBackgroundDrawList(), x + list, top, x + list + gap, screen.y, look_.theme.ground);
    panel("bench list", {x, top, list, screen.y - top}, {look_.px(16), look_.px(12)}, [&] { add(out, bench_list(scene, *bench_)); });
    panel("bench", {x + list + gap, top, screen.x - x - list - gap, screen.y - top}, {look_.px(24), look_.px(16)},
          [&] { add(out, bench_view(scene, *bench_, panels_.bench)); });
  } else {
    draw_gaps(look_, p, screen);
    panel("head", p.head, {0, 0}, [&] {
      if (draw_head_) draw_head_(scene, p.head.x, p.head.y, p.head.width, p.head.height);
      live_frame(scene, p.head);
      screen_only_word(scene, p.head);
      as_built_switch(scene, p.head, out);
    });
    if (panels_.cue_board) {
      fill(*ImGui::GetBackgroundDrawList(), p.curve.x, p.curve.y + p.curve.height, p.curve.x + p.curve.width, p.keys.y, look_.theme.panel);  // over the gap between curve and keys
      panel("cue board", {p.curve.x, p.curve.y, p.curve.width, p.keys.y + p.keys.height - p.curve.y}, {look_.px(12), look_.px(8)}, [&] { add(out, cue_board(scene, *this)); });
    } else {
      panel("curve", p.curve, {0, 0}, [&] { add(out, curve_view(scene, panels_.curve)); });
      panel("keys", p.keys, {0, 0}, [&] { add(out, key_panel(scene, panels_.keys)); });
    }
    panel("transport", p.transport, {0, 0}, [&] { add(out, transport_bar(scene, *this, panels_.transport)); });
    panel("timeline", p.timeline, {0, 0}, [&] { add(out, timeline(scene, panels_.timeline)); });
    if (p.strip.width > 0) panel("keys of", p.strip, {0, 0}, [&] { add(out, keys_of_strip(scene, *this)); });
    if (p.side.width > 0) draw_side(scene, *this, draw_face_, p.side, panels_, out);
    if (p.hands.width > 0) panel("hands", p.hands, {look_.px(12), look_.px(8)}, [&] { add(out, hands_panel(scene, *this, panels_.hands)); });
    const float gap = look_.px(kGap), width = screen.x - p.head.x, height = screen.y - top - look_.px(kTransport);
    edge(look_, "edge/head", {p.head.x + p.head.width, top, gap, p.head.height}, true, width, panels_.head_share);
    edge(look_, "edge/top", {p.head.x, p.head.y + p.head.height, width, gap}, false, height, panels_.top_share);
  }
  add(out, notice_panel(scene, p.head));
  if (drawn_ != Dialog::none && drawn_ != dialog_) close_dialogs();
  drawn_ = dialog_;
  switch (dialog_) {
    case Dialog::none: break;
    case Dialog::port: add(out, port_dialog(scene, panels_.port)); break;
    case Dialog::arm: add(out, arm_dialog(scene)); break;
    case Dialog::take_over: add(out, take_over_dialog(scene)); break;
    case Dialog::checklist: add(out, checklist_dialog(scene, panels_.bench)); break;
    case Dialog::replaced: add(out, replaced_dialog(scene, panels_.replaced)); break;
    case Dialog::unsaved: add(out, unsaved_dialog(scene)); break;
    case Dialog::cheat_sheet: add(out, cheat_sheet(scene)); break;
    case Dialog::palette: add(out, palette_dialog(scene, *this, panels_.palette)); break;
    case Dialog::recover: add(out, recover_dialog(scene, *this, panels_.recover)); break;
    case Dialog::new_head: add(out, head_dialog(scene, panels_.head)); break;
    case Dialog::network: add(out, network_dialog(scene, *this, panels_.network)); break;
    case Dialog::speak: add(out, speak_dialog(scene, panels_.speak)); break;
    case Dialog::scale: add(out, scale_dialog(scene, panels_.scale)); break;
    case Dialog::import_labels:
    case Dialog::export_labels:
    case Dialog::import_library:
    case Dialog::export_library:
    case Dialog::open_show:
    case Dialog::add_sound:
    case Dialog::save_as:
    case Dialog::new_show: add(out, path_dialog(scene, panels_.path, dialog_)); break;
  }
  for (const Command& c : out) apply(c);
  follow_work();
  follow_files();
  offer_left();
}

}  // namespace mien::editor
