#include "store/settings.hpp"

#include <algorithm>
#include <array>

#include "show/text.hpp"
#include "store/disk.hpp"
#include "store/scan.hpp"

namespace mien::store {
namespace {

namespace fs = std::filesystem;
using show::Finding;
using show::Severity;

constexpr std::uintmax_t kLargestSettings = 1u << 20;
constexpr std::array<std::string_view, 3> kThemes{"system", "light", "dark"};
constexpr std::array<std::string_view, 4> kTexts{"small", "usual", "large", "larger"};
constexpr std::array<std::string_view, 2> kDialogs{"desktop", "own"};
constexpr std::array<float, 4> kShares{0.9f, 1.0f, 1.25f, 1.5f};

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kSpace = " \t\r";
  const auto begin = text.find_first_not_of(kSpace);
  return begin == std::string_view::npos ? std::string_view{} : text.substr(begin, text.find_last_not_of(kSpace) - begin + 1);
}

template <class Each>
void each_line(std::string_view text, Each each) {
  for (int number = 1; !text.empty(); ++number) {
    const auto end = text.find('\n');
    each(trimmed(text.substr(0, end)), number);
    text = end == std::string_view::npos ? std::string_view{} : text.substr(end + 1);
  }
}

Finding warning(const std::string& file, int line, std::string what, std::string cure) {
  return {Severity::warning, file, "line " + std::to_string(line), std::move(what), std::move(cure)};
}

template <std::size_t N, class T>
void choose(const Entry& entry, const std::array<std::string_view, N>& names, T& into, const std::string& file, show::Findings& notes) {
  const auto found = std::find(names.begin(), names.end(), entry.value);
  if (found != names.end()) {
    into = static_cast<T>(found - names.begin());
    return;
  }
  std::string known;
  for (const auto n : names) known += (known.empty() ? "" : ", ") + std::string(n);
  notes.push_back(warning(file, entry.line, entry.name + " can't be '" + shown(entry.value) + "'", "Give one of: " + known + "."));
}

// Nothing where it isn't there; so is a file that is there and empty.
std::string text_of(const fs::path& file, show::Findings& notes) {
  std::error_code ignored;
  if (!fs::exists(file, ignored) || fs::file_size(file, ignored) == 0) return {};
  auto text = read_file(file, kLargestSettings);
  if (text) return std::move(*text);
  notes.push_back(text.problem());
  notes.back().severity = Severity::warning;
  return {};
}

std::optional<Finding> write(const fs::path& folder, const char* name, const std::string& text) {
  if (folder.empty()) return std::nullopt;
  std::error_code problem;
  fs::create_directories(folder, problem);
  if (problem) return Finding{Severity::warning, folder.string(), "", "the folder can't be made (" + problem.message() + "), so nothing is remembered in it", "Make it, or set XDG_CONFIG_HOME and XDG_STATE_HOME to folders that may be written."};
  return replace_file(folder / name, text);
}

}  // namespace

Entries read_entries(std::string_view text, const std::string& file) {
  Entries read;
  each_line(text, [&](std::string_view line, int number) {
    if (line.empty() || line.front() == '#') return;
    const auto equals = line.find('=');
    const auto name = trimmed(line.substr(0, equals));
    if (equals == std::string_view::npos || name.empty()) {
      read.notes.push_back(warning(file, number, "'" + shown(line) + "' is no line 'name = value'", "Write it so, or delete it."));
      return;
    }
    const auto same = std::find_if(read.entries.begin(), read.entries.end(), [&](const Entry& e) { return e.name == name; });
    if (same != read.entries.end()) {
      read.notes.push_back(warning(file, number, "'" + shown(name) + "' stands on line " + std::to_string(same->line) + " already, which counts", "Delete one of the two lines."));
      return;
    }
    // A value may hold `=`, which is a key on the keyboard.
    read.entries.push_back({std::string(name), std::string(trimmed(line.substr(equals + 1))), number});
  });
  return read;
}

float share_of(Settings::Text text) noexcept { return kShares[static_cast<std::size_t>(text)]; }
std::string_view name(Settings::Theme theme) noexcept { return kThemes[static_cast<std::size_t>(theme)]; }
std::string_view name(Settings::Text text) noexcept { return kTexts[static_cast<std::size_t>(text)]; }
std::string_view name(Settings::Dialogs dialogs) noexcept { return kDialogs[static_cast<std::size_t>(dialogs)]; }

ReadSettings parse_settings(std::string_view text, const std::string& file) {
  Entries lines = read_entries(text, file);
  ReadSettings read{{}, std::move(lines.notes)};
  const std::vector<std::string> known{"theme", "text", "dialogs"};
  for (const Entry& e : lines.entries) {
    if (e.name == "theme") choose(e, kThemes, read.settings.theme, file, read.notes);
    else if (e.name == "text") choose(e, kTexts, read.settings.text, file, read.notes);
    else if (e.name == "dialogs") choose(e, kDialogs, read.settings.dialogs, file, read.notes);
    else read.notes.push_back(warning(file, e.line, "there is no setting '" + shown(e.name) + "'", show::suggestion(e.name, known)));
  }
  return read;
}

std::string settings_text(const Settings& s) {
  return "# Mien's settings. theme: system, light or dark; text: small, usual, large or larger; dialogs, for files: desktop or own.\ntheme = " + std::string(name(s.theme)) +
         "\ntext = " + std::string(name(s.text)) + "\ndialogs = " + std::string(name(s.dialogs)) + "\n";
}

ReadSettings load_settings(const fs::path& config) {
  if (config.empty()) return {};
  show::Findings notes;
  const std::string text = text_of(config / "settings", notes);
  ReadSettings read = parse_settings(text, (config / "settings").string());
  read.notes.insert(read.notes.begin(), notes.begin(), notes.end());
  return read;
}

std::optional<Finding> save_settings(const fs::path& config, const Settings& settings) { return write(config, "settings", settings_text(settings)); }

Entries load_keys(const fs::path& config) {
  if (config.empty()) return {};
  show::Findings notes;
  const std::string text = text_of(config / "keys", notes);
  Entries read = read_entries(text, (config / "keys").string());
  read.notes.insert(read.notes.begin(), notes.begin(), notes.end());
  return read;
}

std::optional<Finding> save_keys(const fs::path& config, const std::vector<Entry>& entries) {
  std::string text = "# Keys that differ from the usual ones: an action's id, then its key, as in `save = Ctrl+S`, or none.\n";
  for (const Entry& e : entries) text += e.name + " = " + e.value + "\n";
  return write(config, "keys", text);
}

std::vector<fs::path> load_recent(const fs::path& state) {
  std::vector<fs::path> files;
  if (state.empty()) return files;
  show::Findings ignored;  // a list of recent shows that can't be read is an empty one
  each_line(text_of(state / "recent", ignored), [&](std::string_view line, int) {
    const fs::path file(line);
    if (file.is_absolute() && files.size() < kMostRecent && std::find(files.begin(), files.end(), file) == files.end()) files.push_back(file);
  });
  return files;
}

std::vector<fs::path> add_recent(const fs::path& state, const fs::path& file) {
  std::vector<fs::path> files = load_recent(state);
  // A name with a line's end in it can't stand in a list of lines.
  if (!file.is_absolute() || file.string().find_first_of("\r\n") != std::string::npos) return files;
  std::erase(files, file);
  files.insert(files.begin(), file);
  if (files.size() > kMostRecent) files.resize(kMostRecent);
  std::string text;
  for (const fs::path& f : files) text += f.string() + "\n";
  // Not written: remembered in this window at least.
  static_cast<void>(write(state, "recent", text));
  return files;
}

}  // namespace mien::store
