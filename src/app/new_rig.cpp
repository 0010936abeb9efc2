// mien new-rig: from a table of servos to a rig and an empty show on it.
#include <cstdio>
#include <filesystem>

#include "app/commands.hpp"
#include "app/show_edit.hpp"
#include "perform/rig_check.hpp"
#include "show/suggest.hpp"
#include "show/validate.hpp"
#include "store/disk.hpp"
#include "store/head_table.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

namespace fs = std::filesystem;
constexpr std::uintmax_t kLargestHeadTable = 1u << 20;

int save_empty_show(const NewRigWords& words, const show::Rig& rig) {
  show::Show show;
  show.name = rig.name;
  show.rig_file = seen_from(fs::path(words.show).parent_path(), words.out);
  show.length = std::chrono::seconds(10);
  if (const auto problem = store::save_show(words.show, show)) return tell(*problem);
  std::printf("%s: an empty show of 10 s\n", words.show.c_str());
  return kFine;
}

}  // namespace

int run_new_rig(const NewRigWords& words) {
  const auto text = store::read_file(words.table, kLargestHeadTable);
  if (!text) return tell(text.problem());
  auto table = store::read_head_table(*text, words.table);
  if (!table) return tell(table.problem());
  const auto sheet = show::parse_servo_sheet(words.servo, "", "--servo");
  if (!sheet) return tell(sheet.problem());
  const fs::path out(words.out);
  const std::string name = words.name.empty() ? out.stem().stem().string() : words.name;
  const auto made = show::suggest_rig({name, words.boards, words.outputs, *sheet, std::move(table->rows), words.supply_a}, words.table);
  int code = std::max(tell(table->notes), tell(made.notes));
  if (show::has_errors(made.notes)) return kUnusable;
  // As a load would judge it: what is written can be opened and performed.
  show::Findings more = show::validate(made.rig, words.out);
  if (const auto refused = perform::refusal(made.rig, words.out, more)) more.push_back(*refused);
  code = std::max(code, tell(more));
  if (show::has_errors(more)) return kUnusable;
  if (const auto problem = store::save_rig(out, made.rig)) return tell(*problem);
  const auto counted = [](std::size_t n, const char* one) { return std::to_string(n) + " " + one + (n == 1 ? "" : "s"); };
  std::printf("%s: %s on %s, %s, %s. Commission every servo before it moves a face.\n", words.out.c_str(), counted(made.rig.actuators.size(), "servo").c_str(), counted(made.rig.boards.size(), "board").c_str(),
              counted(made.rig.controls.size(), "control").c_str(), counted(made.rig.constraints.size(), "constraint").c_str());
  return words.show.empty() ? code : std::max(code, save_empty_show(words, made.rig));
}

}  // namespace mien::app
