// mien import and mien export: keyframes as CSV.
#include <cstdio>
#include <filesystem>

#include "app/commands.hpp"
#include "app/text.hpp"
#include "store/csv.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

namespace fs = std::filesystem;
constexpr std::uintmax_t kLargestTable = 512u << 20;

// The show names its rig relative to itself, so that both can move together.
std::string rig_as_seen_from(const fs::path& show_file, const fs::path& rig_file) {
  std::error_code none;
  const fs::path folder = fs::absolute(show_file, none).parent_path();
  const fs::path relative = fs::proximate(fs::absolute(rig_file, none), folder, none);
  return relative.empty() ? rig_file.generic_string() : relative.generic_string();
}

int import_keys(const std::string& table_file, const std::string& rig_file, const std::string& show_file) {
  const auto rig = store::load_rig(rig_file);
  if (!rig) return tell(rig.problem());
  const auto table = store::read_file(table_file, kLargestTable);
  if (!table) return tell(table.problem());
  auto show = store::import_keys(*table, *rig->rig, table_file);
  if (!show) return tell(show.problem());
  show->name = fs::path(show_file).stem().stem().string();
  show->rig_file = rig_as_seen_from(show_file, rig_file);
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
