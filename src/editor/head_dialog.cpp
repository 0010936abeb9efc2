// A new head, from nothing: a name, the servo's data sheet, and its servos as a table or one by one. What becomes of them stands beside it,
// anew with every letter that is typed.
#include <imgui.h>
#include <imgui_stdlib.h>

#include <algorithm>
#include <cmath>

#include "editor/counted.hpp"
#include "editor/draw.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"
#include "editor/widgets.hpp"
#include "perform/rig_check.hpp"
#include "show/text.hpp"
#include "show/validate.hpp"
#include "store/head_table.hpp"

namespace mien::editor {
namespace {

constexpr float kHeadWidth = 1080, kLeft = 432, kTable = 148, kResult = 396, kBecomes = 480;
constexpr const char* kExample = "name\njaw\nleft upper lid\nright upper lid\nlower lids\nleft eye pan\nright eye pan\neyes tilt\nleft brow\nright brow\nleft smile\nright smile\nupper lip\nlower lip\n";

bool head_field(const Look& look, const char* title, const char* id, std::string& text, float width = 0) {
  line(look.fonts.body, look.theme.quiet, title);
  ImGui::SetNextItemWidth(width > 0 ? width : ImGui::GetContentRegionAvail().x);
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(8), look.px(6)});
  const bool changed = ImGui::InputText(id, &text);
  ImGui::PopStyleVar();
  mark((std::string("field/") + (id + 2)).c_str());
  return changed;
}

void head_number(const Look& look, const char* id, int& value, int most) {
  ImGui::SetNextItemWidth(look.px(128));
  ImGui::InputInt(id, &value);
  value = std::clamp(value, 1, most);
  mark((std::string("field/") + (id + 2)).c_str());
}

std::string cell_of(const std::string& text) {
  if (text.find_first_of(",\"") == std::string::npos) return text;
  std::string out = "\"";
  for (const char c : text) out += c == '"' ? std::string("\"\"") : std::string(1, c);
  return out + '"';
}

// One servo as a row of the table, which gets the columns that it needs.
void add_row(HeadState& state) {
  if (state.table.empty()) state.table = "name,role\n";
  if (state.table.back() != '\n') state.table += '\n';
  const bool has_roles = state.table.substr(0, state.table.find('\n')) == "name,role";
  state.table += cell_of(state.one_name);
  if (has_roles && state.one_role > 0) state.table += "," + std::string(show::name(static_cast<show::Role>(state.one_role - 1)));
  state.table += '\n';
  state.one_name.clear(), state.one_role = 0;
}

void one_by_one(const Look& look, HeadState& state) {
  line(look.fonts.body, look.theme.quiet, "Or one by one: its name, and what it moves");
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(8), look.px(6)});
  ImGui::SetNextItemWidth(look.px(168));
  const bool entered = ImGui::InputText("##one", &state.one_name, ImGuiInputTextFlags_EnterReturnsTrue);
  mark("field/one");
  ImGui::SameLine();
  ImGui::SetNextItemWidth(look.px(168));
  const std::string shown = state.one_role == 0 ? "by its name" : std::string(show::name(static_cast<show::Role>(state.one_role - 1)));
  if (ImGui::BeginCombo("##role", shown.c_str(), ImGuiComboFlags_HeightLarge)) {
    for (int r = 0; r <= show::kRoleCount; ++r) {
      const std::string name = r == 0 ? "by its name" : std::string(show::name(static_cast<show::Role>(r - 1)));
      if (ImGui::Selectable(name.c_str(), r == state.one_role)) state.one_role = r;
      mark(("role/" + name).c_str());
    }
    ImGui::EndCombo();
  }
  mark("field/role");
  ImGui::PopStyleVar();
  ImGui::SameLine();
  ImGui::BeginDisabled(state.one_name.empty());
  const bool pressed = button(look, "Add", {0, look.px(30)});
  ImGui::EndDisabled();
  if ((pressed || entered) && !state.one_name.empty()) add_row(state);
}

void asked(const Look& look, HeadState& state) {
  head_field(look, "Name of the head", "##head_name", state.name);
  head_field(look, "Folder for its files", "##head_folder", state.folder);
  head_field(look, "The servo\u2019s data sheet, in a line", "##sheet", state.servo);
  line(look.fonts.body, look.theme.quiet, "Boards, outputs of each, and what its supply is rated for");
  head_number(look, "##boards", state.boards, show::kMaxBoards);
  ImGui::SameLine(0, look.px(16));
  head_number(look, "##outputs", state.outputs, show::kMaxOutputsPerBoard);
  ImGui::SameLine(0, look.px(16));
  ImGui::SetNextItemWidth(look.px(96));
  ImGui::InputDouble("##supply", &state.supply_a, 0, 0, "%.3g A");
  state.supply_a = std::isfinite(state.supply_a) ? std::clamp(state.supply_a, 0.0, 1000.0) : 0;
  mark("field/supply");
  line(look.fonts.body, look.theme.quiet, "Servos: paste a table whose first row names its columns");
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(8), look.px(8)});
  ImGui::InputTextMultiline("##table", &state.table, {ImGui::GetContentRegionAvail().x, look.px(kTable)}, ImGuiInputTextFlags_AllowTabInput);
  ImGui::PopStyleVar();
  mark("field/table");
  one_by_one(look, state);
}

std::string deg(double value) { return show::number_text(std::round(value * 10) / 10); }

void servos(const Look& look, const show::Rig& rig) {
  if (!ImGui::BeginTable("servos", 4, ImGuiTableFlags_None)) return;
  for (const float width : {160.0f, 160.0f, 108.0f, 124.0f}) ImGui::TableSetupColumn("", ImGuiTableColumnFlags_WidthFixed, look.px(width));
  for (const char* title : {"Servo", "Moves", "Travel, deg", "Board, output"}) {
    ImGui::TableNextColumn();
    line(look.fonts.body, look.theme.quiet, title);
  }
  for (std::size_t i = 0; i < rig.actuators.size(); ++i) {
    const show::Actuator& a = rig.actuators[i];
    const std::string& role = rig.mappings[i].axes.front().role;
    ImGui::TableNextColumn();
    line(look.fonts.strong, look.theme.text, a.name);
    ImGui::TableNextColumn();
    line(look.fonts.body, role.empty() ? look.theme.quiet : look.theme.text, role.empty() ? "no part of the face" : role);
    ImGui::TableNextColumn();
    line(look.fonts.body, look.theme.text, deg(a.min_deg) + " to " + deg(a.max_deg));
    ImGui::TableNextColumn();
    line(look.fonts.body, look.theme.text, a.board + ", " + std::to_string(a.output));
  }
  ImGui::EndTable();
}

void listed(const Look& look, const char* title, const std::string& text) {
  if (text.empty()) return;
  ImGui::Dummy({0, look.px(4)});
  line(look.fonts.strong, look.theme.text, title);
  paragraph(look.fonts.body, look.theme.text, text);
}

void becomes(const Look& look, const HeadState& state) {
  const show::Rig& rig = state.made.rig;
  line(look.fonts.strong, look.theme.text, "What becomes of it");
  for (const show::Finding& f : state.findings) {
    const bool grave = f.severity != show::Severity::note;
    const std::string where = f.place.empty() ? f.file : f.place;
    paragraph(look.fonts.body, grave ? look.theme.warning : look.theme.quiet, (where.empty() ? "" : where + ": ") + f.what + ". " + f.cure);
  }
  if (state.table.empty()) {
    paragraph(look.fonts.body, look.theme.quiet, "Each servo gets a part of the face by its name, limits by its data sheet, and a place on a board. Controls and constraints follow from the parts.");
    return;
  }
  if (rig.actuators.empty()) return;
  paragraph(look.fonts.body, look.theme.quiet, counted(rig.actuators.size(), "servo") + ", " + counted(rig.controls.size(), "control") + ", " + counted(rig.constraints.size(), "constraint") + "; at most " +
                                                   deg(rig.actuators.front().velocity_deg_s) + " deg/s");
  servos(look, rig);
  std::string controls, constraints;
  for (const show::Control& c : rig.controls) controls += (controls.empty() ? "" : ", ") + c.name;
  for (const show::Constraint& c : rig.constraints) constraints += (constraints.empty() ? "" : "\n") + c.name;
  listed(look, "Controls", controls);
  listed(look, "Constraints", constraints);
}

}  // namespace

void judge(HeadState& state) {
  const std::string all = state.name + '\n' + state.folder + '\n' + state.servo + '\n' + std::to_string(state.boards) + ' ' + std::to_string(state.outputs) + ' ' + std::to_string(state.supply_a) + '\n' + state.table;
  if (all == state.judged) return;
  state.judged = all, state.made = {}, state.findings.clear(), state.usable = false;
  const auto refuse = [&](show::Finding why) { state.findings.push_back(std::move(why)); };
  if (state.name.empty() || state.name.find('/') != std::string::npos) refuse({show::Severity::error, "", "Name", "the head\u2019s files are called by it", "Give it a name without /."});
  const auto sheet = show::parse_servo_sheet(state.servo, "", "Data sheet");
  if (!sheet) refuse(sheet.problem());
  if (!sheet || state.table.empty()) return;
  auto table = store::read_head_table(state.table, "");
  if (!table) return refuse(table.problem());
  state.made = show::suggest_rig({state.name, state.boards, state.outputs, *sheet, std::move(table->rows), state.supply_a}, "");
  state.findings.insert(state.findings.end(), table->notes.begin(), table->notes.end());
  state.findings.insert(state.findings.end(), state.made.notes.begin(), state.made.notes.end());
  if (state.made.rig.actuators.empty() || show::has_errors(state.findings)) return;
  for (show::Finding& f : show::validate(state.made.rig, ""))
    if (f.severity == show::Severity::error) refuse(std::move(f));
  show::Findings notes;
  if (!show::has_errors(state.findings))
    if (auto refused = perform::refusal(state.made.rig, "", notes)) refuse(std::move(*refused));
  state.usable = !show::has_errors(state.findings);
}

Commands head_dialog(const Scene& scene, HeadState& state) {
  const Look& look = scene.look;
  Commands out;
  if (!begin_dialog(look, "New head", kHeadWidth)) return out;
  judge(state);
  ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, {look.px(8), look.px(4)});
  const float height = std::min(look.px(kResult), ImGui::GetIO().DisplaySize.y - look.px(280));
  // Large letters in a small window: what becomes of it stands below what is asked.
  const bool narrow = ImGui::GetContentRegionAvail().x < look.px(kLeft + 32 + kBecomes);
  ImGui::BeginChild("asked", {narrow ? 0 : look.px(kLeft), height + look.px(40)});
  asked(look, state);
  if (narrow) {
    ImGui::Dummy({0, look.px(8)});
  } else {
    ImGui::EndChild();
    ImGui::SameLine(0, look.px(32));
    ImGui::BeginChild("becomes", {0, height + look.px(40)});
  }
  becomes(look, state);
  ImGui::EndChild();
  ImGui::PopStyleVar();
  paragraph(look.fonts.body, look.theme.quiet, "Nothing moves by this. Limits are suggestions: find each servo\u2019s ends at the workbench before it moves a face. Supply, fuses and wiring: as local codes ask, by somebody qualified.");
  const ImVec2 size{look.px(144), look.px(36)};
  if (state.table.empty() && button(look, "Begin with an example", {look.px(200), size.y})) state.table = kExample;
  if (state.table.empty()) ImGui::SameLine();
  ImGui::SetCursorPosX(ImGui::GetWindowWidth() - look.px(24) - 2 * size.x - ImGui::GetStyle().ItemSpacing.x);
  if (button(look, "Cancel", size)) out.push_back(Ask{Dialog::none});
  ImGui::SameLine();
  ImGui::BeginDisabled(!state.usable);
  if (button(look, "Make the head", size, Weight::strong)) out.push_back(MakeHead{});
  ImGui::EndDisabled();
  end_dialog();
  return out;
}

}  // namespace mien::editor
