// Which file: a folder to walk through, and a line to type a path in.
#include <imgui.h>
#include <imgui_stdlib.h>

#include <algorithm>

#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"
#include "editor/widgets.hpp"

namespace mien::editor {
namespace {

namespace fs = std::filesystem;

struct Wording { const char* title; const char* hint; const char* action; };
Wording wording(Dialog which) {
  switch (which) {
    case Dialog::save_as: return {"Save the show as", "A show is a file NAME.show.json.", "Save"};
    case Dialog::new_show: return {"New show: choose its rig", "The rig is the head that the show is for: a file NAME.rig.json.", "Begin"};
    case Dialog::import_library: return {"Take poses and clips from a library", "A library is a file NAME.clips.json. What the show has under the same name stays as it is.", "Take"};
    case Dialog::export_library: return {"Give poses and clips to a library", "All that the show has go to a file NAME.clips.json, for other shows to take.", "Give"};
    case Dialog::add_sound: return {"Add a sound at the playhead", "A recording or music: WAV, FLAC, Ogg, Opus, MP3 or AIFF.", "Add"};
    default: return {"Open a show", "A show is a file NAME.show.json.", "Open"};
  }
}

void listing(const Look& look, PathState& state, Commands& out) {
  ImGui::PushStyleColor(ImGuiCol_ChildBg, look.theme.field);
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {look.px(8), look.px(8)});
  ImGui::BeginChild("listing", {0, look.px(240)}, true);
  std::size_t files = 0;
  const auto item = [&](const std::string& label, const fs::path& path, bool folder) {
    if (ImGui::Selectable((label + "##" + path.string()).c_str(), state.name == label, ImGuiSelectableFlags_AllowDoubleClick | ImGuiSelectableFlags_DontClosePopups)) {
      if (folder || ImGui::IsMouseDoubleClicked(0)) out.push_back(Browse{path});
      else state.name = label;
    }
    mark(("path/" + label).c_str());
  };
  item("../", state.folder.parent_path(), true);
  for (const fs::directory_entry& e : state.entries) {
    std::error_code ignored;
    const bool folder = e.is_directory(ignored);
    files += folder ? 0 : 1;
    item(e.path().filename().string() + (folder ? "/" : ""), e.path(), folder);
  }
  if (files == 0) line(look.fonts.body, look.theme.quiet, "No such file in this folder.");
  ImGui::EndChild();
  ImGui::PopStyleVar();
  ImGui::PopStyleColor();
}

}  // namespace

void list_folder(PathState& state, std::string_view suffix) {
  state.entries.clear();
  state.problem.clear();
  std::error_code problem;
  for (fs::directory_iterator it(state.folder, fs::directory_options::skip_permission_denied, problem), end; !problem && it != end; it.increment(problem)) {
    const std::string name = it->path().filename().string();
    std::error_code ignored;
    if (!name.starts_with(".") && (it->is_directory(ignored) || name.ends_with(suffix))) state.entries.push_back(*it);
    if (state.entries.size() >= 5000) break;
  }
  if (problem) state.problem = "The folder can\u2019t be read: " + problem.message();
  std::sort(state.entries.begin(), state.entries.end(), [](const fs::directory_entry& a, const fs::directory_entry& b) {
    std::error_code ignored;
    const bool fa = a.is_directory(ignored), fb = b.is_directory(ignored);
    return fa != fb ? fa : a.path().filename() < b.path().filename();
  });
}

Commands path_dialog(const Scene& scene, PathState& state, Dialog which) {
  const Look& look = scene.look;
  Commands out;
  const Wording say = wording(which);
  if (!begin_dialog(look, say.title, 640)) return out;
  paragraph(look.fonts.body, look.theme.quiet, say.hint);
  line(look.fonts.strong, look.theme.text, state.folder.string());
  listing(look, state, out);
  if (!state.problem.empty()) paragraph(look.fonts.strong, look.theme.warning, state.problem);
  if (state.fresh) {
    ImGui::SetKeyboardFocusHere();
    state.fresh = false;
  }
  ImGui::SetNextItemWidth(ImGui::GetContentRegionAvail().x);
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(8), look.px(8)});
  const bool entered = ImGui::InputText("##name", &state.name, ImGuiInputTextFlags_EnterReturnsTrue);
  ImGui::PopStyleVar();
  mark("field/path");
  ImGui::Dummy({0, look.px(8)});
  const float width = look.px(112), height = look.px(36);
  ImGui::SetCursorPosX(ImGui::GetCursorPosX() + ImGui::GetContentRegionAvail().x - 2 * width - ImGui::GetStyle().ItemSpacing.x);
  if (button(look, "Cancel", {width, height})) out.push_back(Ask{Dialog::none});
  ImGui::SameLine();
  ImGui::BeginDisabled(state.name.empty());
  const bool pressed = button(look, say.action, {width, height}, Weight::strong);
  ImGui::EndDisabled();
  if ((pressed || entered) && !state.name.empty()) out.push_back(Browse{state.folder / state.name});
  end_dialog();
  return out;
}

}  // namespace mien::editor
