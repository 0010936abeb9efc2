// The short questions: which port, arm now, what about unsaved work; and the list of keys.
#include <imgui.h>
#include <imgui_stdlib.h>

#include <algorithm>
#include <array>

#include "editor/action.hpp"
#include "editor/draw.hpp"
#include "editor/keys.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

constexpr float kKeysColumn = 268, kHandsColumn = 188;

void choice(const Look& look, const char* path, const char* meaning, Commands& out) {
  const float width = ImGui::GetContentRegionAvail().x, height = look.px(36);
  const ImVec2 p = ImGui::GetCursorScreenPos();
  ImGui::PushID(path);
  if (ImGui::Button("##choose", {width, height})) out.push_back(OpenPort{path});
  ImGui::PopID();
  mark((std::string("port/") + path).c_str());
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const float used = words(list, look.fonts.strong, p.x + look.px(12), p.y + height * 0.5f, look.theme.text, path, width * 0.5f);
  const float x = p.x + std::max(used + look.px(28), look.px(140));
  words(list, look.fonts.body, x, p.y + height * 0.5f, look.theme.quiet, meaning, p.x + width - x - look.px(12));
}

void caution(const Look& look, const char* first, const char* rest) {
  const ImVec2 p = ImGui::GetCursorScreenPos();
  const float s = look.px(8);
  ImDrawList& list = *ImGui::GetWindowDrawList();
  fill_triangle(list, {p.x, p.y + 2 * s + look.px(2)}, {p.x + s, p.y + look.px(2)}, {p.x + 2 * s, p.y + 2 * s + look.px(2)}, look.theme.warning);
  ImGui::SetCursorPosX(ImGui::GetCursorPosX() + look.px(28));
  ImGui::BeginGroup();
  line(look.fonts.strong, look.theme.text, first);
  ImGui::SetCursorPosY(ImGui::GetCursorPosY() - look.px(4));
  paragraph(look.fonts.body, look.theme.quiet, rest);
  ImGui::EndGroup();
  ImGui::Dummy({0, look.px(2)});
}

}  // namespace

Commands port_dialog(const Scene& scene, PortState& state) {
  const Look& look = scene.look;
  Commands out;
  if (!begin_dialog(look, "Connect boards", 560)) return out;
  paragraph(look.fonts.body, look.theme.quiet, "Nothing moves until you arm.");
  choice(look, "sim:", "simulated boards inside this program", out);
  for (const link::PortInfo& p : state.serial) choice(look, p.path.c_str(), p.description.c_str(), out);
  if (state.serial.empty()) {
    paragraph(look.fonts.body, look.theme.quiet, "No serial device was found. Plug the board's USB cable in, then choose Look again.");
  }
  ImGui::Dummy({0, look.px(4)});
  line(look.fonts.body, look.theme.quiet, "Another port: a device's path, or tcp:HOST:PORT");
  ImGui::SetNextItemWidth(ImGui::GetContentRegionAvail().x);
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(8), look.px(8)});
  const bool entered = ImGui::InputText("##port", &state.typed, ImGuiInputTextFlags_EnterReturnsTrue);
  ImGui::PopStyleVar();
  mark("field/port");
  const int pressed = answers(look, std::array{"Look again", "Cancel", "Connect"}, Weight::strong);
  if (pressed == 0) state.serial = link::serial_ports();
  if (pressed == 1) out.push_back(Ask{Dialog::none});
  if ((pressed == 2 || entered) && !state.typed.empty()) out.push_back(OpenPort{state.typed});
  end_dialog();
  return out;
}

Commands arm_dialog(const Scene& scene) {
  const Look& look = scene.look;
  Commands out;
  if (!begin_dialog(look, "Arm the head?", 520)) return out;
  paragraph(look.fonts.body, look.theme.quiet, "The boards at \u201C" + scene.link.port + "\u201D send pulses to the servos, and the head moves: first slowly to the pose on screen, then as the show plays.");
  ImGui::Dummy({0, look.px(4)});
  caution(look, "Fingers clear", "Nothing and nobody near lips, lids and linkages.");
  caution(look, "Supply limited", "A fuse or current limit on every rail, set for its wire, as your local codes ask.");
  caution(look, "Stop within reach", "Esc stops at once, in every part of the window; a switch in the supply is better still.");
  const int pressed = answers(look, std::array{"Cancel", "Arm"}, Weight::live);
  if (pressed == 0) out.push_back(Ask{Dialog::none});
  if (pressed == 1) out.push_back(Confirm{});
  end_dialog();
  return out;
}

Commands take_over_dialog(const Scene& scene) {
  const Look& look = scene.look;
  Commands out;
  if (!begin_dialog(look, "Take over these boards?", 560)) return out;
  for (const link::BoardStatus& b : scene.link.boards) {
    if (b.standing == link::Standing::expected) continue;
    const std::string who = b.standing == link::Standing::swapped ? "board " + b.stands_there + " answers" : "another board answers (identity " + link::identity_text(b.identity) + ")";
    paragraph(look.fonts.body, look.theme.text, b.name + ", address " + std::to_string(b.address) + ": " + who + ".");
  }
  paragraph(look.fonts.body, look.theme.quiet,
            "Until the port is opened again or the rig changes, the boards that answer count as the rig\u2019s own, each at the place where it answers. \u201Cmien adopt RIG --port PORT\u201D writes it into the rig.");
  ImGui::Dummy({0, look.px(4)});
  caution(look, "Servos at their outputs?", "Each board is sent the limits that the rig has for its place. With other servos behind it those limits are wrong: look before you say yes.");
  caution(look, "Silent until armed", "Outputs stay silent by this; nothing moves before you arm.");
  const int pressed = answers(look, std::array{"Cancel", "Take over"}, Weight::strong);
  if (pressed == 0) out.push_back(Ask{Dialog::none});
  if (pressed == 1) out.push_back(Confirm{});
  end_dialog();
  return out;
}

Commands unsaved_dialog(const Scene& scene) {
  const Look& look = scene.look;
  Commands out;
  if (!begin_dialog(look, "Save first?", 480)) return out;
  const std::string name = scene.document.open() ? scene.document.show().name : "";
  paragraph(look.fonts.body, look.theme.text, "The show \u201C" + name + "\u201D has changes that are on no disk yet. Without saving they are gone.");
  const int pressed = answers(look, std::array{"Cancel", "Don\u2019t save", "Save"}, Weight::strong);
  if (pressed == 0) out.push_back(Ask{Dialog::none});
  if (pressed == 1) out.push_back(Discard{});
  if (pressed == 2) out.push_back(Confirm{});
  end_dialog();
  return out;
}

Commands cheat_sheet(const Scene& scene) {
  const Look& look = scene.look;
  Commands out;
  if (!begin_dialog(look, "Keys and hands", 1128)) return out;
  struct Gesture { const char* hand; const char* does; };
  constexpr std::array<Gesture, 18> kGestures{{
      {"Drag a key", "moves it in time"}, {"Shift + drag a key", "in a lane: its value; in the curve: one direction"},
      {"Alt + drag", "moves a copy"}, {"Ctrl while dragging", "doesn\u2019t snap"}, {"Double click", "adds a key"},
      {"Drag in empty space", "chooses keys"}, {"Wheel", "zooms about the pointer"}, {"Shift + wheel, middle drag", "moves the view"},
      {"Drag on the time row", "scrubs, with sound"}, {"Drag on the loop row", "sets the loop"}, {"Drag a placed clip", "moves it; its ends trim and stretch it, above them fades; Shift on its end repeats it"},
      {"Double click a clip", "opens its keys"}, {"Esc", "stops the head; takes back a drag"},
      {"Shift + drag on the time row", "chooses the keys of a stretch; with Alt those of the curve\u2019s channels"},
      {"Shift + click a lane\u2019s name", "keeps it in the curve view, or not"}, {"Drag a lane\u2019s name", "moves it within its group"},
      {"Drag a handle", "turns it; Alt with or without the key\u2019s other one, Shift level"},
      {"Drag a grip of the box", "scales the chosen keys about the other end"},
  }};
  ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {look.px(8), look.px(4)});
  ImGui::PushStyleVar(ImGuiStyleVar_CellPadding, {look.px(8), 0});
  // As high as the window has room for; the rest is scrolled to. As many columns of keys as leave each name room, one of hands.
  ImGui::BeginChild("all", {0, std::min(look.px(620), ImGui::GetIO().DisplaySize.y * 0.9f - look.px(176))});
  const int across = std::clamp(static_cast<int>((ImGui::GetContentRegionAvail().x - look.px(kHandsColumn)) / look.px(kKeysColumn)), 1, 3);
  if (ImGui::BeginTable("keys", across + 1)) {
    for (int i = 0; i <= across; ++i) ImGui::TableSetupColumn("", ImGuiTableColumnFlags_WidthStretch, i < across ? kKeysColumn : kHandsColumn);
    const auto keyed = static_cast<std::size_t>(std::count_if(actions().begin(), actions().end(), [&](const Action& a) { return scene.keys.of(a).key != 0; }));
    const std::size_t each = (keyed + static_cast<std::size_t>(across) - 1) / static_cast<std::size_t>(across);
    ImGui::TableNextColumn();
    std::size_t row = 0;
    for (const Action& a : actions()) {
      const Chord key = scene.keys.of(a);
      if (key.key == 0) continue;
      if (row > 0 && row % each == 0) ImGui::TableNextColumn();  // NOLINT(clang-analyzer-core.DivideZero): each key that comes here was counted
      ++row;
      const float left = ImGui::GetCursorPosX();
      line(look.fonts.strong, key == a.key ? look.theme.text : look.theme.accent, to_text(key));
      ImGui::SameLine();
      ImGui::SetCursorPosX(left + look.px(108));
      paragraph(look.fonts.body, look.theme.quiet, a.name);
    }
    ImGui::TableNextColumn();
    for (const Gesture& h : kGestures) {
      paragraph(look.fonts.strong, look.theme.text, h.hand);
      paragraph(look.fonts.body, look.theme.quiet, h.does);
    }
    ImGui::EndTable();
  }
  ImGui::EndChild();
  ImGui::PopStyleVar(2);
  if (answers(look, std::array{"Close"}, Weight::strong) == 0) out.push_back(Ask{Dialog::none});
  end_dialog();
  return out;
}

Commands notice_panel(const Scene& scene, Rect at) {
  const Look& look = scene.look;
  Commands out;
  if (scene.notices.empty()) return out;
  const float width = std::min(at.width - look.px(24), look.px(520));
  ImGui::SetNextWindowPos({at.x + look.px(12), at.y + look.px(12)});
  ImGui::SetNextWindowSize({width, 0});
  ImGui::Begin("notices", nullptr, ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoResize | ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_AlwaysAutoResize | ImGuiWindowFlags_NoFocusOnAppearing);
  std::size_t shown = 0;
  for (const show::Finding& f : scene.notices) {
    if (++shown > 4) break;
    const Colour colour = f.severity == show::Severity::note ? look.theme.text : look.theme.warning;
    const char* word = f.severity == show::Severity::error ? "Problem: " : f.severity == show::Severity::warning ? "Take care: " : "";
    // The place first: many say what is wrong with it without naming it once more.
    const std::string where = f.file + (f.file.empty() || f.place.empty() ? "" : ", ") + f.place;
    if (!where.empty()) paragraph(look.fonts.body, look.theme.quiet, where);
    paragraph(look.fonts.strong, colour, word + f.what + ".");
    if (!f.cure.empty()) paragraph(look.fonts.body, look.theme.text, f.cure);
  }
  if (scene.notices.size() > 4) line(look.fonts.body, look.theme.quiet, "and " + std::to_string(scene.notices.size() - 4) + " more");
  if (button(look, "Understood")) out.push_back(Dismiss{});
  ImGui::End();
  return out;
}

}  // namespace mien::editor
