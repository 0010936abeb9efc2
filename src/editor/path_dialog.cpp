// Which file: a folder to walk through, and a line to type a path in.
#include <GLFW/glfw3.h>
#include <imgui.h>
#include <imgui_stdlib.h>

#include <algorithm>
#include <cstdlib>

#include "editor/counted.hpp"
#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/path_wording.hpp"
#include "editor/probe.hpp"
#include "editor/widgets.hpp"
#include "show/text.hpp"
#include "store/store.hpp"

namespace mien::editor {
namespace {

namespace fs = std::filesystem;

// The rows to show: the folder above, folders, files; only those that contain what was typed.
struct Row { std::string label; fs::path path; bool folder = false; };

std::vector<Row> path_rows(const PathState& state) {
  std::vector<Row> rows;
  const std::string wanted = state.filters ? show::small_letters(state.name) : "";
  if (wanted.empty()) rows.push_back({"../", state.folder.parent_path(), true});
  for (const fs::directory_entry& e : state.entries) {
    std::error_code ignored;
    const bool folder = e.is_directory(ignored);
    const std::string name = e.path().filename().string();
    if (show::small_letters(name).find(wanted) != std::string::npos) rows.push_back({name + (folder ? "/" : ""), e.path(), folder});
  }
  return rows;
}

void listing(const Look& look, PathState& state, const std::vector<Row>& rows, float width, float height, Commands& out) {
  ImGui::PushStyleColor(ImGuiCol_ChildBg, look.theme.field);
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {look.px(8), look.px(8)});
  ImGui::BeginChild("listing", {width, height}, true);
  std::size_t files = 0;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const Row& row = rows[i];
    files += row.folder ? 0 : 1;
    const bool on = state.at == static_cast<int>(i) || (state.at < 0 && !row.folder && state.name == row.label);
    if (ImGui::Selectable((row.label + "##" + row.path.string()).c_str(), on, ImGuiSelectableFlags_AllowDoubleClick | ImGuiSelectableFlags_DontClosePopups)) {
      if (row.folder || ImGui::IsMouseDoubleClicked(0)) out.push_back(Browse{row.path});
      else state.name = row.label, state.filters = false, state.at = static_cast<int>(i);
    }
    mark(("path/" + row.label).c_str());
    if (state.follow && state.at == static_cast<int>(i)) ImGui::SetScrollHereY(0.5f);
  }
  state.follow = false;
  if (files == 0) line(look.fonts.body, look.theme.quiet, state.filters ? "Nothing here is called so." : "No such file in this folder.");
  ImGui::EndChild();
  ImGui::PopStyleVar();
  ImGui::PopStyleColor();
}

void place_list(const Look& look, PathState& state, float width, float height, Commands& out) {
  ImGui::BeginChild("places", {width, height});
  for (const PathState::Place& place : state.places) {
    const bool here = place.folder == state.folder;
    if (ImGui::Selectable((place.name + "##" + place.folder.string()).c_str(), here, ImGuiSelectableFlags_DontClosePopups)) out.push_back(Browse{place.folder / ""});
    mark(("place/" + place.name).c_str());
    if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s", place.folder.c_str());
  }
  if (state.places.empty()) line(look.fonts.body, look.theme.quiet, "No places");
  ImGui::EndChild();
}

// What the file that would be taken holds, once it was read.
void contents(const Look& look, PathState& state, const fs::path& file, float width, float height) {
  ImGui::BeginChild("contents", {width, height});
  if (state.looking.valid() && state.looking.wait_for(std::chrono::seconds(0)) == std::future_status::ready) state.holds = state.looking.get();
  std::error_code ignored;
  if (file != state.looked_at && !state.looking.valid()) {
    state.looked_at = file;
    state.holds.clear();
    if (!file.empty() && fs::is_regular_file(file, ignored)) state.looking = std::async(std::launch::async, [file] { return what_it_holds(file); });
  }
  if (state.looking.valid()) line(look.fonts.body, look.theme.quiet, "Looking inside\u2026");
  else if (state.holds.empty()) paragraph(look.fonts.body, look.theme.quiet, "Choose a file to see what it holds.");
  else
    for (std::size_t i = 0; i < state.holds.size(); ++i) paragraph(i == 0 ? look.fonts.strong : look.fonts.body, i == 0 ? look.theme.text : look.theme.quiet, state.holds[i]);
  ImGui::EndChild();
  mark("path/contents");
}

// Up and Down go through the rows while the line below has the keyboard; Backspace in an empty line goes up a folder.
void walk(PathState& state, const std::vector<Row>& rows, Commands& out) {
  const int count = static_cast<int>(rows.size());
  const int by = (ImGui::IsKeyPressed(GLFW_KEY_DOWN) ? 1 : 0) - (ImGui::IsKeyPressed(GLFW_KEY_UP) ? 1 : 0);
  if (by != 0 && count > 0) state.at = state.at < 0 ? (by > 0 ? 0 : count - 1) : std::clamp(state.at + by, 0, count - 1), state.follow = true;
  if (state.name.empty() && ImGui::IsKeyPressed(GLFW_KEY_BACKSPACE, false)) out.push_back(Browse{state.folder.parent_path() / ""});
}

// In the place of our own while the desktop's is open, which may lie behind the window, or be slow to come.
void at_the_desktop(const Look& look, const PathState& state, Commands& out) {
  paragraph(look.fonts.body, look.theme.text, "The desktop\u2019s dialog for files is open: choose there.");
  paragraph(look.fonts.body, look.theme.quiet, "If it doesn\u2019t appear, or you would rather have Mien\u2019s own, go on here. Window > File dialogs has it so always.");
  const float gap = ImGui::GetStyle().ItemSpacing.x, height = look.px(36), cancel = look.px(112), own = look.px(200);
  ImGui::Dummy({0, look.px(8)});
  ImGui::SetCursorPosX(ImGui::GetCursorPosX() + ImGui::GetContentRegionAvail().x - cancel - gap - own);
  if (button(look, "Cancel", {cancel, height})) out.push_back(Ask{Dialog::none});
  ImGui::SameLine();
  if (button(look, "Mien\u2019s own dialog", {own, height})) out.push_back(Browse{state.folder / ""});
  end_dialog();
}

}  // namespace

std::vector<PathState::Place> places_to_look(const std::vector<fs::path>& recent) {
  std::vector<PathState::Place> places;
  const auto add = [&](std::string name, const fs::path& folder) {
    std::error_code ignored;
    if (folder.empty() || !fs::is_directory(folder, ignored) || std::any_of(places.begin(), places.end(), [&](const auto& p) { return p.folder == folder; })) return;
    if (std::any_of(places.begin(), places.end(), [&](const auto& p) { return p.name == name; })) name += " (" + folder.parent_path().filename().string() + ")";
    places.push_back({std::move(name), folder});
  };
  if (const char* home = std::getenv("HOME")) add("Home", fs::path(home).lexically_normal());  // NOLINT(concurrency-mt-unsafe): nothing in this program changes its environment
  for (std::size_t i = 0; i < std::min<std::size_t>(recent.size(), 8); ++i) add(recent[i].parent_path().filename().string(), recent[i].parent_path());
  if (const char* user = std::getenv("USER")) {  // NOLINT(concurrency-mt-unsafe): as above
    for (const char* mounts : {"/media", "/run/media"}) {
      std::error_code problem;
      for (fs::directory_iterator it(fs::path(mounts) / user, problem), end; !problem && it != end; it.increment(problem)) add(it->path().filename().string(), it->path());
    }
  }
  add("Computer", "/");
  return places;
}

std::vector<std::string> what_it_holds(const fs::path& file) {
  const std::string name = file.filename().string();
  if (name.ends_with(".rig.json")) {
    const auto rig = store::load_rig(file);
    if (!rig) return {"Can\u2019t be opened", show::to_text(rig.problem())};
    return {rig->rig->name, "A head: " + counted(rig->rig->boards.size(), "board") + ", " + counted(rig->rig->actuators.size(), "servo"), counted(rig->rig->controls.size(), "control") + " in " + counted(rig->rig->groups.size(), "group")};
  }
  if (name.ends_with(".clips.json")) {
    const auto library = store::load_library(file);
    if (!library) return {"Can\u2019t be opened", show::to_text(library.problem())};
    return {library->library.name, counted(library->library.poses.size(), "pose") + ", " + counted(library->library.clips.size(), "clip")};
  }
  const auto loaded = store::load_show(file);
  if (!loaded) return {"Can\u2019t be opened", show::to_text(loaded.problem())};
  const show::Show& show = *loaded->show;
  std::size_t keys = 0, channels = 0;
  for (const auto& c : show.channels) keys += c->keys.size(), channels += !c->keys.empty();
  std::vector<std::string> lines{show.name, seconds_text(show.length) + " on the head \u201C" + loaded->rig->name + "\u201D", counted(keys, "key") + " in " + counted(channels, "channel")};
  if (!show.layers.empty() || !show.clips.empty() || !show.poses.empty()) lines.push_back(counted(show.layers.size(), "layer") + ", " + counted(show.clips.size(), "clip") + ", " + counted(show.poses.size(), "pose"));
  if (!show.sounds.empty()) lines.push_back("Sound: " + show.sounds.front().file + (show.sounds.size() > 1 ? " and " + std::to_string(show.sounds.size() - 1) + " more" : ""));
  if (!show.markers.empty()) lines.push_back(counted(show.markers.size(), "marker"));
  if (!loaded->notes.empty()) lines.push_back(counted(loaded->notes.size(), "thing") + " to read when it is opened");
  return lines;
}

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
  if (state.where == PathState::Where::asked) return out;
  const PathWording say = wording_of(which);
  if (!begin_dialog(look, say.title, 880)) return out;
  if (state.where == PathState::Where::desktop) {
    at_the_desktop(look, state, out);
    return out;
  }
  const bool saves = say.saves;
  paragraph(look.fonts.body, look.theme.quiet, say.hint);
  line(look.fonts.strong, look.theme.text, state.folder.string());
  const std::vector<Row> rows = path_rows(state);
  const float whole = ImGui::GetContentRegionAvail().x, gap = look.px(12), height = look.px(280), left = look.px(152), right = saves ? 0 : look.px(224);
  // Not wider than the window: what a file holds goes first.
  const bool tells = !saves && whole - left - right - 2 * gap > look.px(200);
  place_list(look, state, left, height, out);
  ImGui::SameLine(0, gap);
  listing(look, state, rows, tells ? whole - left - right - 2 * gap : whole - left - gap, height, out);
  if (tells) {
    const bool on_row = state.at >= 0 && state.at < static_cast<int>(rows.size());
    const fs::path file = on_row ? rows[static_cast<std::size_t>(state.at)].path : state.name.empty() ? fs::path{} : state.folder / state.name;
    ImGui::SameLine(0, gap);
    contents(look, state, file, right, height);
  }
  if (!state.problem.empty()) paragraph(look.fonts.strong, look.theme.warning, state.problem);
  walk(state, rows, out);
  if (state.fresh) {
    ImGui::SetKeyboardFocusHere();
    state.fresh = false;
  }
  ImGui::SetNextItemWidth(ImGui::GetContentRegionAvail().x);
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(8), look.px(8)});
  const std::string before = state.name;
  const bool entered = ImGui::InputTextWithHint("##name", saves ? "Name" : "Type a part of the name, or a path; \u2191 \u2193 choose", &state.name, ImGuiInputTextFlags_EnterReturnsTrue) ||
                       (!ImGui::IsAnyItemActive() && ImGui::IsKeyPressed(GLFW_KEY_ENTER, false));  // after a click on a row, too
  ImGui::PopStyleVar();
  if (state.name != before && ImGui::IsItemActive()) state.filters = !saves && !state.name.empty() && state.name.find('/') == std::string::npos, state.at = -1;
  mark("field/path");
  ImGui::Dummy({0, look.px(8)});
  const float width = look.px(112), button_height = look.px(36);
  ImGui::SetCursorPosX(ImGui::GetCursorPosX() + ImGui::GetContentRegionAvail().x - 2 * width - ImGui::GetStyle().ItemSpacing.x);
  if (button(look, "Cancel", {width, button_height})) out.push_back(Ask{Dialog::none});
  ImGui::SameLine();
  const bool on_row = state.at >= 0 && state.at < static_cast<int>(rows.size());
  ImGui::BeginDisabled(state.name.empty() && !on_row);
  const bool pressed = button(look, say.action, {width, button_height}, Weight::strong);
  ImGui::EndDisabled();
  if (pressed || entered) {
    std::error_code ignored;
    // A row that was walked to, else what was typed; and of what was typed, where it names no file, the one row that is left.
    const fs::path typed = state.name.empty() ? fs::path{} : state.folder / state.name;
    if (on_row) out.push_back(Browse{rows[static_cast<std::size_t>(state.at)].path});
    else if (state.filters && rows.size() == 1 && !fs::exists(typed, ignored)) out.push_back(Browse{rows.front().path});
    else if (!typed.empty()) out.push_back(Browse{typed});
  }
  end_dialog();
  return out;
}

}  // namespace mien::editor
