#include "app/show_edit.hpp"

#include <cstdio>
#include <filesystem>

#include "app/commands.hpp"
#include "show/library.hpp"
#include "show/text.hpp"
#include "show/validate.hpp"

namespace mien::app {
namespace fs = std::filesystem;

std::string seen_from(const fs::path& folder, const fs::path& file) {
  std::error_code none;
  const fs::path relative = fs::proximate(fs::absolute(file, none), fs::absolute(folder.empty() ? "." : folder, none), none);
  return relative.empty() ? file.generic_string() : relative.generic_string();
}

void move_references(show::Show& show, const std::string& from_file, const std::string& to_file) {
  const fs::path from = fs::path(from_file).parent_path(), to = fs::path(to_file).parent_path();
  std::error_code none;
  if (fs::equivalent(from.empty() ? "." : from, to.empty() ? "." : to, none)) return;
  show.rig_file = seen_from(to, from / show.rig_file);
  for (auto& sound : show.sounds) sound.file = seen_from(to, from / sound.file);
}

std::optional<show::Finding> changed_meanwhile(const std::string& file, const store::Stamp& read, const std::string& out) {
  std::error_code none;
  if (file != out && !fs::equivalent(file, out, none)) return std::nullopt;
  return store::changed_since(out, read);
}

int edit_show(const std::string& file, const std::string& out, const std::function<show::Result<std::string>(Editing&)>& edit) {
  const store::Stamp read = store::stamp_of(file);
  auto loaded = store::load_show(file);
  if (!loaded) return tell(loaded.problem());
  tell(loaded->notes);
  Editing editing{*loaded->show, loaded->rig};
  const auto told = edit(editing);
  if (!told) return tell(told.problem());
  for (const auto& finding : show::validate(editing.show, *editing.rig, out))
    if (finding.severity == show::Severity::error) return tell(finding);
  move_references(editing.show, file, out);
  if (const auto changed = changed_meanwhile(file, read, out)) return tell(*changed);
  if (const auto problem = store::save_show(out, editing.show)) return tell(*problem);
  std::printf("%s: %s\n", out.c_str(), told->c_str());
  return kFine;
}

show::Result<store::LoadedLibrary> library_in(const std::string& file) {
  auto library = store::load_library(file);
  if (library || library.problem().place != "format") return library;
  auto loaded = store::load_show(file);
  if (!loaded) return loaded.problem();
  return store::LoadedLibrary{show::library_of(*loaded->show, loaded->show->name), std::move(loaded->notes)};
}

show::Finding refused(const std::string& file, std::string place, std::string what, std::string cure) {
  return {show::Severity::error, file, std::move(place), std::move(what), std::move(cure)};
}

show::Result<show::Time> time_of(const std::string& text, const std::string& option) {
  if (const auto time = show::parse_seconds(text)) return *time;
  return refused("", option, "'" + text + "' is not a time", "Give seconds, as in 1.25.");
}

}  // namespace mien::app
