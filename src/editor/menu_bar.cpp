#include <imgui.h>

#include <array>

#include "editor/probe.hpp"
#include "editor/studio.hpp"

namespace mien::editor {

namespace {

// The list below the action that goes to the newest of them.
void recent_shows(const Scene& scene, const Studio& studio, Commands& out) {
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {scene.look.px(8), scene.look.px(8)});
  const bool shown = ImGui::BeginMenu("Recent shows", !studio.recent().empty() && studio.bench() == nullptr);
  ImGui::PopStyleVar();
  mark("menu/Recent shows");
  if (!shown) return;
  for (const auto& file : studio.recent()) {
    if (ImGui::MenuItem((file.filename().string() + "##" + file.string()).c_str(), file.parent_path().c_str())) out.push_back(OpenFile{file});
    mark(("recent/" + file.filename().string()).c_str());
  }
  ImGui::EndMenu();
}

}  // namespace

Commands menu_bar(const Scene& scene, const Studio& studio) {
  Commands out;
  constexpr std::array<std::string_view, 8> kMenus{"Show", "Keys", "Lanes", "Compose", "Perform", "Link", "Bench", "Window"};
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {scene.look.px(8), scene.look.px(6)});
  if (ImGui::BeginMainMenuBar()) {
    ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {scene.look.px(16), scene.look.px(8)});
    for (const std::string_view menu : kMenus) {
      ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {scene.look.px(8), scene.look.px(8)});
      const bool shown = ImGui::BeginMenu(menu.data());
      ImGui::PopStyleVar();
      mark(("menu/" + std::string(menu)).c_str());
      if (!shown) continue;
      for (const Action& a : actions()) {
        if (a.menu != menu) continue;
        std::string name(a.name);
        // Undo and redo say what they would undo.
        if (a.id == "undo" && studio.document().open() && studio.document().can_undo()) name += ": " + studio.document().undo_name();
        if (a.id == "redo" && studio.document().open() && studio.document().can_redo()) name += ": " + studio.document().redo_name();
        if (a.id == "file_dialogs") name += studio.settings().dialogs == store::Settings::Dialogs::own ? " (now Mien\u2019s own)" : " (now the desktop\u2019s)";
        if (ImGui::MenuItem(name.c_str(), to_text(studio.keys().of(a)).c_str(), false, a.possible(studio))) out.push_back(Act{std::string(a.id)});
        mark(("item/" + std::string(a.id)).c_str());
        if (a.id == "recent") recent_shows(scene, studio, out);
      }
      ImGui::EndMenu();
    }
    ImGui::PopStyleVar();
    ImGui::EndMainMenuBar();
  }
  ImGui::PopStyleVar();
  return out;
}

}  // namespace mien::editor
