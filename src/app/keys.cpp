// mien import and mien export: keyframes as CSV.
#include <cstdio>
#include <filesystem>
#include <tuple>
#include <vector>

#include "app/commands.hpp"
#include "app/show_edit.hpp"
#include "app/text.hpp"
#include "show/text.hpp"
#include "store/csv.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

namespace fs = std::filesystem;
constexpr std::uintmax_t kLargestKeyTable = 512u << 20;

int import_keys(const std::string& table_file, const std::string& rig_file, const std::string& show_file) {
  const auto rig = store::load_rig(rig_file);
  if (!rig) return tell(rig.problem());
  const auto table = store::read_file(table_file, kLargestKeyTable);
  if (!table) return tell(table.problem());
  auto show = store::import_keys(*table, *rig->rig, table_file);
  if (!show) return tell(show.problem());
  show->name = fs::path(show_file).stem().stem().string();
  show->rig_file = seen_from(fs::path(show_file).parent_path(), rig_file);  // so that both can move together
  if (const auto problem = store::save_show(show_file, *show)) return tell(*problem);
  std::size_t keys = 0;
  for (const auto& channel : show->channels) keys += channel->keys.size();
  std::printf("%s: %zu keys in %zu channels, %s s\n", show_file.c_str(), keys, show->channels.size(), show::seconds_text(show->length).c_str());
  return kFine;
}

// A table holds the keys of the show's own channels; what else the show has is named, so that nobody takes the table for all of it.
void tell_what_is_left(const show::Show& show) {
  std::vector<std::string> left;
  for (const auto& [count, one, more] : {std::tuple(show.layers.size(), "layer", "layers"), std::tuple(show.clips.size(), "clip", "clips"), std::tuple(show.poses.size(), "pose", "poses"),
                                         std::tuple(show.sounds.size(), "sound", "sounds"), std::tuple(show.markers.size(), "marker", "markers"), std::tuple(show.cues.size(), "cue", "cues")})
    if (count) left.push_back(std::to_string(count) + " " + (count == 1 ? one : more));
  if (left.empty()) return;
  std::string list = left.front();
  for (std::size_t i = 1; i < left.size(); ++i) list += (i + 1 < left.size() ? ", " : " and ") + left[i];
  std::fprintf(stderr, "The table holds the keys of the show's own channels; not in it: %s.%s\n", list.c_str(),
               show.layers.empty() ? "" : " To have what layers do as keys, turn them into some first: mien layer bake, on a copy of the show.");
}

int export_keys(const std::string& show_file, const std::string& table_file) {
  const auto loaded = store::load_show(show_file);
  if (!loaded) return tell(loaded.problem());
  const std::string text = store::export_keys(*loaded->show);
  if (table_file == "-") tell_what_is_left(*loaded->show);
  if (table_file == "-") return std::fwrite(text.data(), 1, text.size(), stdout) == text.size() ? kFine : kUnusable;
  if (const auto problem = store::replace_file(table_file, text)) return tell(*problem);
  tell_what_is_left(*loaded->show);
  return kFine;
}

}  // namespace

int run_import(const ImportWords& words) { return import_keys(words.keys, words.rig, words.out); }
int run_export(const ExportWords& words) { return export_keys(words.show, words.out); }

}  // namespace mien::app
