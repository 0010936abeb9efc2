// mien describe: a rig as a table, or as a wiring sheet.
#include <algorithm>
#include <cstdio>
#include <iterator>
#include <variant>

#include "app/commands.hpp"
#include "app/text.hpp"
#include "app/wiring.hpp"
#include "perform/inputs.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

Table actuators_of(const show::Rig& rig) {
  Table t{{"actuator", "group", "board", "output", "min_deg", "max_deg", "rest_deg", "reversed", "velocity_deg_s", "acceleration_deg_s2",
           "pulse_min_us", "pulse_max_us"}};
  for (const auto& a : rig.actuators)
    t.push_back({a.name, a.group, a.board, std::to_string(a.output), number(a.min_deg), number(a.max_deg), number(a.rest_deg),
                 a.reversed ? "true" : "false", number(a.velocity_deg_s), number(a.acceleration_deg_s2), number(a.pulse_min_us), number(a.pulse_max_us)});
  return t;
}

Table controls_of(const show::Rig& rig) {
  Table t{{"control", "unit", "min", "max", "rest"}};
  for (const auto& c : rig.controls) t.push_back({c.name, c.unit, number(c.min), number(c.max), number(c.rest)});
  return t;
}

void append_column(Table& table, const char* title, const std::vector<std::string>& cells) {
  table[0].push_back(title);
  for (std::size_t i = 0; i < cells.size(); ++i) table[i + 1].push_back(cells[i]);
}

Table boards_of(const show::Rig& rig) {
  Table t{{"board", "address", "outputs", "identity"}};
  for (const auto& b : rig.boards) t.push_back({b.name, std::to_string(b.address), std::to_string(b.outputs), b.identity.empty() ? "any board" : b.identity});
  return t;
}

/// What is meant for the kind alone, in words.
std::string details_of(const show::AuxiliaryKind& kind) {
  if (const auto* fan = std::get_if<show::Fan>(&kind))
    return (fan->rail.empty() ? "current estimated" : "rail " + fan->rail) + ", on at " + number(fan->on_a) + " A, off at " + number(fan->off_a) + " A";
  if (const auto* code = std::get_if<show::Code>(&kind))
    return std::to_string(code->lines) + (code->lines == 1 ? " line" : " lines") +
           (code->strobe < 0 ? ", no strobe" : ", strobe on line " + std::to_string(code->strobe)) + ", settles in " + number(code->settle_ms) + " ms";
  return "";
}

Table auxiliaries_of(const show::Rig& rig) {
  const char* const kinds[] = {"switch", "dimmer", "fan", "code"};
  static_assert(std::variant_size_v<show::AuxiliaryKind> == std::size(kinds));
  Table t{{"auxiliary", "kind", "board", "line", "control", "details"}};
  for (const auto& a : rig.auxiliaries) t.push_back({a.name, kinds[a.kind.index()], a.board, std::to_string(a.line), a.control, details_of(a.kind)});
  return t;
}

Table inputs_of(const show::Rig& rig) {
  Table t{{"input", "board", "line", "acts at", "settle_ms", "does"}};
  for (const auto& i : rig.inputs) t.push_back({i.name, i.board, std::to_string(i.line), i.active_low ? "low" : "high", number(i.settle_ms), perform::to_text(i.action)});
  return t;
}

/// For people, with what the documented columns of the CSV leave out.
std::string readable_controls(const show::Rig& rig) {
  Table table = controls_of(rig);
  std::vector<std::string> states;
  for (const auto& c : rig.controls) {
    states.emplace_back();
    for (const auto& state : c.states) states.back() += (states.back().empty() ? "" : ", ") + state;
  }
  append_column(table, "states", states);
  return aligned(table);
}

std::string readable_actuators(const show::Rig& rig) {
  Table table = actuators_of(rig);
  std::vector<std::string> rates, offsets;
  for (const auto& a : rig.actuators) rates.push_back(number(a.pulse_rate_hz)), offsets.push_back(number(a.pulse_offset_us));
  append_column(table, "pulse_rate_hz", rates);
  append_column(table, "pulse_offset_us", offsets);
  return aligned(table) + "\n" + aligned(boards_of(rig)) + (rig.auxiliaries.empty() ? "" : "\n" + aligned(auxiliaries_of(rig))) +
         (rig.inputs.empty() ? "" : "\n" + aligned(inputs_of(rig)));
}

void print_csv(const Table& table) {
  for (const auto& row : table) {
    std::string line;
    for (const auto& cell : row) line += (line.empty() && &cell == &row.front() ? "" : ",") + csv_field(cell);
    std::printf("%s\n", line.c_str());
  }
}

void print_table_json(const Table& table) {
  Json json;
  json.open_array();
  for (std::size_t r = 1; r < table.size(); ++r) {
    json.open_object();
    for (std::size_t c = 0; c < table[r].size(); ++c) json.member(table[0][c], table[r][c]);
    json.close();
  }
  std::printf("%s\n", json.close().text().c_str());
}

int write_sheet(const std::string& file, const show::Rig& rig) {
  const std::string sheet = wiring_sheet(rig);
  if (file == "-") return std::fwrite(sheet.data(), 1, sheet.size(), stdout) == sheet.size() ? kFine : kUnusable;
  const auto problem = store::replace_file(file, sheet);
  return problem ? tell(*problem) : kFine;
}

void print_rig(const show::Rig& rig, const DescribeWords& words) {
  const Table table = words.controls ? controls_of(rig) : words.auxiliaries ? auxiliaries_of(rig) : words.inputs ? inputs_of(rig) : actuators_of(rig);
  if (words.csv) return print_csv(table);
  if (words.json) return print_table_json(table);
  std::printf("%s", (words.controls ? readable_controls(rig) : words.auxiliaries || words.inputs ? aligned(table) : readable_actuators(rig)).c_str());
}

}  // namespace

int run_describe(const DescribeWords& words) {
  const auto loaded = store::load_rig(words.rig);
  if (!loaded) return tell(loaded.problem());
  const int code = tell(loaded->notes);
  if (!words.wiring.empty()) return std::max(code, write_sheet(words.wiring, *loaded->rig));
  print_rig(*loaded->rig, words);
  return code;
}

}  // namespace mien::app
