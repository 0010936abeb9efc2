// mien import and mien export: keyframes as CSV.
#include <cstdio>
#include <filesystem>

#include "app/commands.hpp"
#include "app/show_edit.hpp"
#include "app/text.hpp"
#include "store/csv.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

namespace fs = std::filesystem;
constexpr std::uintmax_t kLargestTable = 512u << 20;

int import_keys(const std::string& table_file, const std::string& rig_file, const std::string& show_file) {
  const auto rig = store::load_rig(rig_file);
  if (!rig) return tell(rig.problem());
  const auto table = store::read_file(table_file, kLargestTable);
  if (!table) return tell(table.problem());
  auto show = store::import_keys(*table, *rig->rig, table_file);
  if (!show) return tell(show.problem());
  show->name = fs::path(show_file).stem().stem().string();
  show->rig_file = seen_from(fs::path(show_file).parent_path(), rig_file);  // so that both can move together
  if (const auto problem = store::save_show(show_file, *show)) return tell(*problem);
  std::size_t keys = 0;
  for (const auto& channel : show->channels) keys += channel->keys.size();
  std::printf("%s: %zu keys in %zu channels, %s s\n", show_file.c_str(), keys, show->channels.size(), number(show::to_seconds(show->length)).c_str());
  return kFine;
}

int export_keys(const std::string& show_file, const std::string& table_file) {
  const auto loaded = store::load_show(show_file);
  if (!loaded) return tell(loaded.problem());
  const std::string text = store::export_keys(*loaded->show);
  if (table_file == "-") return std::fwrite(text.data(), 1, text.size(), stdout) == text.size() ? kFine : kUnusable;
  if (const auto problem = store::replace_file(table_file, text)) return tell(*problem);
  return kFine;
}

}  // namespace

int run_import(const ImportWords& words) { return import_keys(words.keys, words.rig, words.out); }
int run_export(const ExportWords& words) { return export_keys(words.show, words.out); }

}  // namespace mien::app
