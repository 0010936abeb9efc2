#include "editor/palette.hpp"

#include <imgui.h>
#include <imgui_stdlib.h>

#include <algorithm>

#include "editor/draw.hpp"
#include "editor/keys.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"
#include "editor/studio.hpp"
#include "editor/widgets.hpp"
#include "show/text.hpp"

namespace mien::editor {
namespace {

std::vector<std::string> words_in(const std::string& text) {
  std::vector<std::string> all;
  for (std::size_t at = 0; at < text.size();) {
    const auto end = std::min(text.find(' ', at), text.size());
    if (end > at) all.push_back(text.substr(at, end - at));
    at = end + 1;
  }
  return all;
}

// 0 best; -1: it doesn't match.
int rank(const Action& a, const std::string& typed, const std::vector<std::string>& wanted) {
  const std::string name = show::small_letters(a.name), all = name + " " + show::small_letters(a.menu) + " " + std::string(a.id);
  if (!std::all_of(wanted.begin(), wanted.end(), [&](const std::string& w) { return all.find(w) != std::string::npos; })) return -1;
  if (name.starts_with(typed)) return 0;
  return std::all_of(wanted.begin(), wanted.end(), [&](const std::string& w) { return (" " + name).find(" " + w) != std::string::npos; }) ? 1 : 2;
}

constexpr float kActionRow = 32, kActionRows = 10, kKeyWidth = 128;

// The palette goes first: what the action opens is not to be closed with it.
void run_action(const Action& a, Commands& out) {
  out.push_back(Ask{Dialog::none});
  out.push_back(Act{std::string(a.id)});
}

void palette_row(const Scene& scene, const Studio& studio, PaletteState& state, const Action& a, int index, Commands& out) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  const ImVec2 p = ImGui::GetCursorScreenPos();
  const float width = ImGui::GetContentRegionAvail().x, height = look.px(kActionRow), pad = look.px(12), keys = look.px(kKeyWidth);
  const std::string why(why_not(a, studio)), key = to_text(scene.keys.of(a));
  ImGui::PushID(a.id.data());
  if (ImGui::InvisibleButton("run", {width - keys, height}) && why.empty()) run_action(a, out);
  const bool over = ImGui::IsItemHovered();
  if (listening_probe) mark(("palette/" + std::string(a.id)).c_str());
  ImGui::SameLine(0, 0);
  if (ImGui::InvisibleButton("key", {keys, height})) state.binding = a.id, state.word.clear();
  const bool over_key = ImGui::IsItemHovered();
  if (listening_probe) mark(("palette/" + std::string(a.id) + "/key").c_str());
  if (over_key) beside_pointer(look, "Click to give it another key");
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const bool here = index == state.at;
  if (here || over) fill(list, p.x, p.y, p.x + width, p.y + height, here ? t.raised : t.lane);
  if (here) fill(list, p.x, p.y, p.x + look.px(4), p.y + height, t.accent);
  const float middle = p.y + height * 0.5f;
  const Colour colour = why.empty() ? t.text : t.quiet;
  const float used = words(list, here ? look.fonts.strong : look.fonts.body, p.x + pad, middle, colour, a.name, width - keys - 2 * pad);
  if (!why.empty()) words(list, look.fonts.body, p.x + pad + used + look.px(12), middle, t.quiet, "\u2013 " + why, width - keys - used - 3 * pad);
  if (over_key || !key.empty()) words(list, look.fonts.body, p.x + width - keys + pad, middle, over_key ? t.text : t.quiet, key.empty() ? "no key" : key, keys - pad);
  ImGui::PopID();
}

void list_of(const Scene& scene, const Studio& studio, PaletteState& state, const std::vector<const Action*>& found, bool moved, Commands& out) {
  const Look& look = scene.look;
  ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {0, 0});
  ImGui::BeginChild("found", {0, look.px(kActionRow) * kActionRows});
  const float height = look.px(kActionRow), top = static_cast<float>(state.at) * height;
  if (moved) {
    if (top < ImGui::GetScrollY()) ImGui::SetScrollY(top);
    if (top + height > ImGui::GetScrollY() + ImGui::GetWindowHeight()) ImGui::SetScrollY(top + height - ImGui::GetWindowHeight());
  }
  for (std::size_t i = 0; i < found.size(); ++i) palette_row(scene, studio, state, *found[i], static_cast<int>(i), out);
  if (found.empty()) {
    ImGui::SetCursorPosX(look.px(12));
    line(look.fonts.body, look.theme.quiet, "No action has these words in its name.");
  }
  ImGui::EndChild();
  ImGui::PopStyleVar();
}

}  // namespace

std::vector<const Action*> matching(std::string_view typed) {
  const auto wanted = words_in(show::small_letters(typed));
  std::string joined;
  for (const auto& w : wanted) joined += (joined.empty() ? "" : " ") + w;
  std::vector<std::pair<int, const Action*>> ranked;
  for (const Action& a : actions())
    if (const int r = rank(a, joined, wanted); r >= 0) ranked.push_back({wanted.empty() ? 0 : r, &a});
  std::stable_sort(ranked.begin(), ranked.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<const Action*> found;
  for (const auto& [r, a] : ranked) found.push_back(a);
  return found;
}

Commands palette_dialog(const Scene& scene, const Studio& studio, PaletteState& state) {
  const Look& look = scene.look;
  Commands out;
  if (!begin_dialog(look, "Actions by name", 720)) return out;
  if (!state.binding.empty()) {
    const Action* action = find_action(state.binding);
    paragraph(look.fonts.strong, look.theme.text, "Press the new key for \u201C" + std::string(action ? action->name : state.binding) + "\u201D");
    paragraph(look.fonts.body, look.theme.quiet, "Esc leaves it as it is, Delete takes its key away.");
    if (!state.word.empty()) paragraph(look.fonts.strong, look.theme.warning, state.word);
    end_dialog();
    return out;
  }
  if (std::exchange(state.fresh, false)) ImGui::SetKeyboardFocusHere();
  ImGui::SetNextItemWidth(ImGui::GetContentRegionAvail().x);
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(12), look.px(8)});
  const std::string before = state.typed;
  const bool entered = ImGui::InputTextWithHint("##palette", "Type a part of its name", &state.typed, ImGuiInputTextFlags_EnterReturnsTrue);
  ImGui::PopStyleVar();
  mark("field/palette");
  const auto found = matching(state.typed);
  const int last = static_cast<int>(found.size()) - 1, was = state.at;
  if (before != state.typed) state.at = 0;
  if (ImGui::IsKeyPressed(ImGui::GetKeyIndex(ImGuiKey_DownArrow))) ++state.at;
  if (ImGui::IsKeyPressed(ImGui::GetKeyIndex(ImGuiKey_UpArrow))) --state.at;
  state.at = std::clamp(state.at, 0, std::max(last, 0));
  list_of(scene, studio, state, found, state.at != was || before != state.typed, out);
  ImGui::Dummy({0, look.px(4)});
  paragraph(look.fonts.body, look.theme.quiet, "Enter does it, the arrows choose, Esc closes. Click a key at the right, or its empty place, to give an action another one.");
  if (entered && last >= 0) {
    const Action& a = *found[static_cast<std::size_t>(state.at)];
    if (why_not(a, studio).empty()) run_action(a, out);
    else state.fresh = true;
  }
  end_dialog();
  return out;
}

}  // namespace mien::editor
