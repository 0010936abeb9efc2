// The workbench's panels: which actuator, and everything about the one that is on the bench.
#include <imgui.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "editor/action.hpp"
#include "editor/draw.hpp"
#include "editor/keys.hpp"
#include "editor/panels.hpp"
#include "editor/probe.hpp"
#include "editor/widgets.hpp"
#include "editor/workbench.hpp"
#include "show/text.hpp"

namespace mien::editor {
namespace {

using perform::Bench;
using perform::Doing;
using perform::Halt;

template <class... Values>
std::string text(const char* format, Values... values) {
  char out[160];
  std::snprintf(out, sizeof out, format, values...);
  return out;
}

std::string degrees(double angle) { return text("%.1f deg", std::abs(angle) < 0.05 ? 0.0 : angle); }

void bench_heading(const Look& look, const char* words) {
  ImGui::Dummy({0, look.px(6)});
  line(look.fonts.strong, look.theme.text, words);
}

// A row of buttons, each with what it asks for; in as many lines as its column needs.
struct Press { const char* label; Work work; bool possible = true; Weight weight = Weight::plain; };
template <std::size_t N>
void presses(const Look& look, const Press (&row)[N], Commands& out) {
  const float right = ImGui::GetCursorScreenPos().x + ImGui::GetContentRegionAvail().x;
  for (const Press& p : row) {
    const std::string_view label(p.label);
    const float width = width_of(look.fonts.strong, label.substr(0, label.find("##"))) + look.px(24);
    if (&p != row && ImGui::GetItemRectMax().x + look.px(8) + width <= right) ImGui::SameLine(0, look.px(8));
    ImGui::BeginDisabled(!p.possible);
    if (button(look, p.label, {0, look.px(36)}, p.weight)) out.push_back(p.work);
    ImGui::EndDisabled();
  }
}

struct Word { std::string word, meaning; bool live; };
Word word_of_bench(const Bench& bench, const Scene& scene) {
  const bool travelling = bench.doing() == Doing::travelling;
  switch (bench.doing()) {
    case Doing::locked:
    case Doing::silent:
      if (bench.halted() == Halt::current) return {"Stopped: too much current", "Find what it ran into before you arm again.", false};
      if (bench.halted() == Halt::link) return {"Stopped: link lost", "The board holds, then rests. Arm again when it answers.", false};
      if (scene.link.state == link::State::ready) return {"Silent", "Choose Arm at the left to go through the checklist.", false};
      if (scene.link.state == link::State::closed) return {"Not connected", "Choose Connect at the left.", false};
      return {"Silent", "Waiting for the board.", false};
    case Doing::holding:
      if (bench.halted() == Halt::person) return {"Holds: the move was ended", "It stays where it was when you ended it.", true};
      return {"Holds", "It keeps this angle until you say otherwise.", true};
    case Doing::jogging: return {"Moves", text("At no more than %.0f deg/s.", perform::kBenchCreep_deg_s), true};
    case Doing::identifying: return {"Wiggles", text("By %.0f deg; watch the head.", perform::kWiggle_deg), true};
    case Doing::travelling: break;
  }
  return {"Travels" + text(", %.0f %%", 100 * bench.progress()), "Any key ends it. Esc ends the pulses, too.", travelling};
}

// Where the actuator is between its ends, and how far it may go.
void scale(const Scene& scene, const Workbench& work, const show::Actuator& a) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  const Bench& bench = work.bench;
  const double low = std::min({bench.low_deg(), a.min_deg, bench.setpoint_deg()}) - 5, high = std::max({bench.high_deg(), a.max_deg, bench.setpoint_deg()}) + 5;
  const ImVec2 p = ImGui::GetCursorScreenPos();
  const float width = ImGui::GetContentRegionAvail().x, y = p.y + look.px(24), height = look.px(16);
  const auto x = [&](double angle) { return p.x + static_cast<float>((angle - low) / (high - low)) * width; };
  ImDrawList& list = *ImGui::GetWindowDrawList();
  fill(list, p.x, y, p.x + width, y + height, t.ground);
  fill(list, x(bench.low_deg()), y, x(bench.high_deg()), y + height, t.raised_active);
  struct End { const char* name; double angle; };
  float taken = -1e9f;
  for (const End& e : {End{"min", a.min_deg}, End{"rest", a.rest_deg}, End{"max", a.max_deg}}) {
    fill(list, x(e.angle) - look.px(1), y - look.px(4), x(e.angle) + look.px(1), y + height + look.px(4), t.text);
    const float w = width_of(look.fonts.body, e.name), at = std::max(std::clamp(x(e.angle) - w / 2, p.x, p.x + width - w), taken);
    words(list, look.fonts.body, at, y - look.px(14), t.quiet, e.name);
    taken = at + w + look.px(8);
  }
  const float at = x(bench.setpoint_deg()), s = look.px(8);
  fill(list, at - look.px(2), y, at + look.px(2), y + height, t.accent);
  fill_triangle(list, {at - s, y + height + s + look.px(4)}, {at, y + height}, {at + s, y + height + s + look.px(4)}, t.accent);
  ImGui::Dummy({width, look.px(56)});
  paragraph(look.fonts.body, t.quiet, "Guard band " + degrees(bench.low_deg()) + " to " + degrees(bench.high_deg()) +
                                          (work.rig->actuators.front().commissioned ? ": its known travel." : ": from near an edge it can be widened, a step at a time."));
}

void readout(const Scene& scene, const Workbench& work, const Word& word) {
  const Look& look = scene.look;
  const Theme& t = look.theme;
  const double angle = work.bench.setpoint_deg();
  ImDrawList& list = *ImGui::GetWindowDrawList();
  const ImVec2 p = ImGui::GetCursorScreenPos();
  const float width = ImGui::GetContentRegionAvail().x, high = look.px(52);
  // Where three don't stand side by side, what it does has a line of its own: it is never left out.
  const bool narrow = width < look.px(760);
  const float step = narrow ? std::round(width / 2) : look.px(240);
  const auto told = [&](float x, float y, Colour colour, const std::string& what, const std::string& meaning, float room) {
    words(list, look.fonts.large_strong, x, y + look.px(12), colour, what, room);
    words(list, look.fonts.body, x, y + look.px(36), t.quiet, meaning, room);
  };
  told(p.x, p.y, t.text, degrees(angle), "angle", step - look.px(8));
  told(p.x + step, p.y, t.text, text("%.1f \u00b5s", show::pulse_us(work.rig->actuators.front(), angle)), "pulse", step - look.px(8));
  const ImVec2 at = narrow ? ImVec2{p.x, p.y + high} : ImVec2{p.x + 2 * step, p.y};
  told(at.x, at.y, word.live ? t.live : t.text, word.word, word.meaning, p.x + width - at.x);
  mark("bench/angle", p, {p.x + step, p.y + high});
  mark(("bench/doing " + word.word.substr(0, word.word.find(','))).c_str(), at, {at.x + look.px(200), at.y + high});
  ImGui::Dummy({0, narrow ? 2 * high : high});
}

// What the board measures of its rail, and when that ends a move.
void supply(const Scene& scene, const Workbench& work, const show::Actuator& a, BenchState& state, Commands& out) {
  const Look& look = scene.look;
  const auto reading = reading_of(scene.link, scene.document.rig(), a);
  bench_heading(look, "Supply");
  line(look.fonts.body, look.theme.text, reading ? text("%.2f V, %.2f A on rail ", reading->voltage_v, reading->current_a) + a.rail : "Voltage and current: not reported by this board");
  mark(reading ? "bench/supply" : "bench/supply not reported");
  line(look.fonts.body, look.theme.quiet, reading ? "Pulses end above" : "Where a board reports current, pulses end above");
  if (!state.typing_ampere) state.ampere = work.bench.most_current_a();
  ImGui::SetNextItemWidth(look.px(80));
  ImGui::InputDouble("##ampere", &state.ampere, 0, 0, "%.2f", ImGuiInputTextFlags_AutoSelectAll);
  mark("field/ampere");
  state.typing_ampere = ImGui::IsItemActive();
  if (ImGui::IsItemDeactivatedAfterEdit()) out.push_back(Work{Work::Do::most_current, state.ampere});
  ImGui::SameLine(0, look.px(8));
  line(look.fonts.body, look.theme.quiet, "A");
}

void table(const Scene& scene, const Workbench& work, BenchState& state, bool holding, Commands& out) {
  const Look& look = scene.look;
  bench_heading(look, "Measured table");
  paragraph(look.fonts.body, look.theme.quiet, "Jog, read a ruler or protractor, and type what it says:");
  ImGui::SetNextItemWidth(look.px(100));
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, {look.px(8), look.px(8)});
  ImGui::InputDouble("##read", &state.x, 0, 0, "%.2f", ImGuiInputTextFlags_AutoSelectAll);
  ImGui::PopStyleVar();
  mark("field/read");
  ImGui::SameLine(0, look.px(8));
  ImGui::BeginDisabled(!holding);
  if (button(look, "Add row", {0, look.px(36)})) out.push_back(Work{Work::Do::add_row, state.x});
  ImGui::EndDisabled();
  ImGui::SameLine(0, look.px(8));
  ImGui::BeginDisabled(work.rows.size() < 2);
  if (button(look, "Use table", {0, look.px(36)})) out.push_back(Work{Work::Do::use_table});
  ImGui::EndDisabled();
  for (std::size_t r = 0; r < work.rows.size(); ++r) {
    ImGui::PushID(static_cast<int>(r));
    if (button(look, "Remove", {0, look.px(28)})) out.push_back(Work{Work::Do::drop_row, 0, static_cast<int>(r)});
    ImGui::PopID();
    ImGui::SameLine(0, look.px(12));
    const ImVec2 at = ImGui::GetCursorScreenPos();
    words(*ImGui::GetWindowDrawList(), look.fonts.body, at.x, at.y + look.px(14), look.theme.text, text("%.2f at %.2f deg", work.rows[r].x, work.rows[r].angle_deg));
    ImGui::NewLine();
  }
}

void limits(const Scene& scene, const Workbench& work, const show::Actuator& a, bool holding, Commands& out) {
  const Look& look = scene.look;
  const Bench& bench = work.bench;
  const bool near_low = std::abs(bench.setpoint_deg() - bench.low_deg()) <= perform::kAtEdge_deg, near_high = std::abs(bench.setpoint_deg() - bench.high_deg()) <= perform::kAtEdge_deg;
  bench_heading(look, "Jog, deg");
  const bool steady = holding || bench.doing() == Doing::jogging;
  presses(look, {{"\u22125", {Work::Do::jog, -5}, steady}, {"\u22121", {Work::Do::jog, -1}, steady}, {"\u22120.1", {Work::Do::jog, -0.1}, steady}, {"+0.1", {Work::Do::jog, 0.1}, steady},
                 {"+1", {Work::Do::jog, 1}, steady}, {"+5", {Work::Do::jog, 5}, steady}, {"Hold here", {Work::Do::halt}, bench.moving(), Weight::strong}}, out);
  const auto keyed = [&](const std::string& name, const char* action) {
    const std::string key = to_text(scene.keys.of(*find_action(action)));
    return key.empty() ? name : name + "  " + key;
  };
  const auto both = [&](const std::string& name, const char* less, const char* more) { return keyed(keyed(name, less), more); };
  paragraph(look.fonts.body, look.theme.quiet, both("By keys: 0.1 deg", "bench_bit_less", "bench_bit_more") + both("    1 deg", "bench_less", "bench_more") + both("    5 deg", "bench_lot_less", "bench_lot_more"));
  if (!work.rig->actuators.front().commissioned) {
    bench_heading(look, "Guard band");
    presses(look, {{"Widen below", {Work::Do::widen, -1}, holding && near_low}, {"Widen above", {Work::Do::widen, 1}, holding && near_high}}, out);
  }
  bench_heading(look, "Set this angle as");
  const std::string low = text("Minimum, now %.1f##minimum", a.min_deg), rest = text("Rest, now %.1f##rest", a.rest_deg), high = text("Maximum, now %.1f##maximum", a.max_deg);
  presses(look, {{low.c_str(), {Work::Do::minimum}, holding}, {rest.c_str(), {Work::Do::rest}, holding}, {high.c_str(), {Work::Do::maximum}, holding}}, out);
  bench_heading(look, "Direction and ends");
  const bool silent = !bench.driven();
  const std::string wiggle = keyed("Identify", "bench_identify"), travel = keyed("Travel end to end", "bench_travel");
  presses(look, {{wiggle.c_str(), {Work::Do::identify}, holding}, {"Reverse", {Work::Do::turn_round}, silent}, {"Find ends anew", {Work::Do::anew}, a.commissioned}}, out);
  if (!silent) line(look.fonts.body, look.theme.quiet, "Reverse changes what angles mean: stop first.");
  bench_heading(look, "Travel test");
  presses(look, {{travel.c_str(), {Work::Do::travel}, holding}}, out);
  const ImVec2 p = ImGui::GetCursorScreenPos();
  const float width = look.px(360), height = look.px(8);
  const double share = bench.doing() == Doing::travelling ? bench.progress() : a.commissioned ? 1 : 0;
  fill(*ImGui::GetWindowDrawList(), p.x, p.y, p.x + width, p.y + height, look.theme.ground);
  fill(*ImGui::GetWindowDrawList(), p.x, p.y, p.x + width * static_cast<float>(share), p.y + height, look.theme.accent);
  ImGui::Dummy({width, height});
  paragraph(look.fonts.body, look.theme.quiet, a.commissioned ? "Passed: commissioned." : text("Creeps to minimum, maximum and rest at %.0f deg/s; passing it makes this servo commissioned.", perform::kBenchCreep_deg_s));
}

}  // namespace

Commands bench_list(const Scene& scene, const Workbench& work) {
  const Look& look = scene.look;
  Commands out;
  line(look.fonts.large_strong, look.theme.text, "Workbench");
  paragraph(look.fonts.body, look.theme.quiet, "One servo at a time; all others get no pulses.");
  if (button(look, "Leave the workbench", {ImGui::GetContentRegionAvail().x, look.px(32)})) out.push_back(Work{Work::Do::leave});
  ImGui::BeginChild("actuators");
  const show::Rig& rig = scene.document.rig();
  for (const show::Board& board : rig.boards) {
    bench_heading(look, board.name.c_str());
    for (int output = 0; output < board.outputs; ++output)
      for (std::size_t i = 0; i < rig.actuators.size(); ++i) {
        const show::Actuator& a = rig.actuators[i];
        if (a.board != board.name || a.output != output) continue;
        const bool on = static_cast<int>(i) == work.next.value_or(work.actuator);
        const float height = look.px(40), width = ImGui::GetContentRegionAvail().x;
        const ImVec2 p = ImGui::GetCursorScreenPos();
        ImGui::PushID(static_cast<int>(i));
        if (ImGui::InvisibleButton("##actuator", {width, height}) && !on) out.push_back(Work{Work::Do::choose, 0, static_cast<int>(i)});
        const bool over = ImGui::IsItemHovered();
        ImGui::PopID();
        mark(("bench/actuator " + a.name).c_str());
        ImDrawList& list = *ImGui::GetWindowDrawList();
        if (on || over) fill(list, p.x, p.y, p.x + width, p.y + height, on ? look.theme.accent : look.theme.raised_hover);
        const Colour ink = on ? look.theme.accent_text : look.theme.text, quiet = on ? look.theme.accent_text : look.theme.quiet;
        words(list, look.fonts.strong, p.x + look.px(8), p.y + look.px(12), ink, text("%d  ", a.output) + a.name, width - look.px(16));
        words(list, look.fonts.body, p.x + look.px(8), p.y + look.px(28), quiet, a.commissioned ? "\u2713 commissioned" : "not commissioned");
      }
  }
  ImGui::EndChild();
  return out;
}

Commands bench_view(const Scene& scene, const Workbench& work, BenchState& state) {
  const Look& look = scene.look;
  Commands out;
  const show::Rig& rig = scene.document.rig();
  if (static_cast<std::size_t>(work.actuator) >= rig.actuators.size()) return out;
  const show::Actuator& a = rig.actuators[static_cast<std::size_t>(work.actuator)];
  const bool holding = work.bench.doing() == Doing::holding;
  line(look.fonts.large_strong, look.theme.text, a.name);
  paragraph(look.fonts.body, look.theme.quiet, (show::small_letters(a.board).starts_with("board") ? a.board : "Board " + a.board) + text(", output %d", a.output) + (a.rail.empty() ? "" : ", rail " + a.rail) +
                                              (a.servo.empty() ? "" : ", servo " + a.servo) + (a.reversed ? ", reversed" : ""));
  ImGui::Dummy({0, look.px(6)});
  readout(scene, work, word_of_bench(work.bench, scene));
  scale(scene, work, a);
  ImGui::BeginChild("bench parts");
  const float padding = ImGui::GetStyle().ItemSpacing.x;
  // Where there is room, the second column stands under the readout's word; else below the first.
  const bool narrow = ImGui::GetContentRegionAvail().x < look.px(760);
  if (!narrow) ImGui::Unindent(padding);  // columns set themselves in by it; the parts stand under the title
  ImGui::Columns(narrow ? 1 : 2, nullptr, false);
  if (!narrow) ImGui::SetColumnWidth(0, look.px(480));
  limits(scene, work, a, holding, out);
  ImGui::NextColumn();
  supply(scene, work, a, state, out);
  table(scene, work, state, holding, out);
  ImGui::Columns(1);
  if (!narrow) ImGui::Indent(padding);
  ImGui::EndChild();
  return out;
}

Commands checklist_dialog(const Scene& scene, BenchState& state) {
  const Look& look = scene.look;
  Commands out;
  if (!begin_dialog(look, "Before this servo gets pulses", 560)) return out;
  paragraph(look.fonts.body, look.theme.quiet, "It jumps to its middle, or to where its board left it, faster than anything here can slow: hobby servos do.");
  struct Item { const char* label; const char* why; };
  constexpr std::array<Item, 3> kItems{{{"Horn off", "or free to turn: on the first power-on of a servo nothing is attached to it"},
                                        {"Supply limited", "to little more than one servo draws, and fused"},
                                        {"Fingers and skin clear", "of the servo and of what it moves; a switch in the supply in reach"}}};
  for (std::size_t i = 0; i < kItems.size(); ++i) {
    ImGui::Dummy({0, 0});
    tick_box(look, kItems[i].label, &state.checked[i]);
    mark((std::string("check/") + kItems[i].label).c_str());
    ImGui::SetCursorPos({ImGui::GetCursorPosX() + ImGui::GetFrameHeight() + ImGui::GetStyle().ItemInnerSpacing.x, ImGui::GetCursorPosY() - look.px(8)});
    paragraph(look.fonts.body, look.theme.quiet, kItems[i].why);
  }
  const bool all = std::all_of(state.checked.begin(), state.checked.end(), [](bool b) { return b; });
  const int pressed = answers(look, std::array{"Cancel", "Arm this one servo"}, Weight::live, all);
  if (pressed == 0) out.push_back(Ask{Dialog::none});
  if (pressed == 1) out.push_back(Confirm{});
  end_dialog();
  return out;
}

}  // namespace mien::editor
