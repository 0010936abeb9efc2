// mien describe: a rig as a table, or as a wiring sheet.
#include <algorithm>
#include <cstdio>

#include "app/commands.hpp"
#include "app/text.hpp"
#include "app/wiring.hpp"
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

void print_csv(const Table& table) {
  for (const auto& row : table) {
    std::string line;
    for (const auto& cell : row) line += (line.empty() && &cell == &row.front() ? "" : ",") + csv_field(cell);
    std::printf("%s\n", line.c_str());
  }
}

void print_aligned(const Table& table) { std::printf("%s", aligned(table).c_str()); }

void print_json(const Table& table) {
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

}  // namespace

int run_describe(const DescribeWords& words) {
  const auto loaded = store::load_rig(words.rig);
  if (!loaded) return tell(loaded.problem());
  const int code = tell(loaded->notes);
  if (!words.wiring.empty()) return std::max(code, write_sheet(words.wiring, *loaded->rig));
  const Table table = words.controls ? controls_of(*loaded->rig) : actuators_of(*loaded->rig);
  (words.csv ? print_csv : words.json ? print_json : print_aligned)(table);
  return code;
}

}  // namespace mien::app
