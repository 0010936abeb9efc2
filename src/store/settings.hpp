// What a person chose and where they last worked, as small text files that can be edited by hand: a line `name = value` each, `#` begins a
// comment. What a line says that can't be used is a finding, and the rest of the file counts all the same.
#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "show/finding.hpp"

namespace mien::store {

/// One line of such a file.
struct Entry {
  std::string name, value;
  int line = 0;  ///< from 1; 0 for one that is to be written
};
struct Entries {
  std::vector<Entry> entries;
  show::Findings notes;  ///< warnings about lines without `=`, or named twice (the first counts)
};
Entries read_entries(std::string_view text, const std::string& file);

struct Settings {
  enum class Theme { system, light, dark };
  enum class Text { small, usual, large, larger };
  enum class Dialogs { desktop, own };  ///< for files: the desktop's where it has one, or Mien's own
  Theme theme = Theme::system;
  Text text = Text::usual;
  Dialogs dialogs = Dialogs::desktop;
  friend bool operator==(const Settings&, const Settings&) = default;
};
/// Everything in the window grows with its letters: 0.9, 1, 1.25 and 1.5 times.
float share_of(Settings::Text text) noexcept;
std::string_view name(Settings::Theme theme) noexcept;
std::string_view name(Settings::Text text) noexcept;
std::string_view name(Settings::Dialogs dialogs) noexcept;

struct ReadSettings {
  Settings settings;
  show::Findings notes;
};
ReadSettings parse_settings(std::string_view text, const std::string& file);
std::string settings_text(const Settings& settings);

/// `settings` in the folder. A file that is not there says nothing, and is no finding. An empty folder keeps nothing.
ReadSettings load_settings(const std::filesystem::path& config);
std::optional<show::Finding> save_settings(const std::filesystem::path& config, const Settings& settings);

/// Lines of the file `keys`: which action has which key is the window's to judge.
Entries load_keys(const std::filesystem::path& config);
std::optional<show::Finding> save_keys(const std::filesystem::path& config, const std::vector<Entry>& entries);

/// Shows that were open, the newest first, as many as kMostRecent; a path a line in the file `recent`.
inline constexpr std::size_t kMostRecent = 10;
std::vector<std::filesystem::path> load_recent(const std::filesystem::path& state);
/// Puts the file at the head of what the disk has now, which another window may have changed; returns the list.
std::vector<std::filesystem::path> add_recent(const std::filesystem::path& state, const std::filesystem::path& file);

}  // namespace mien::store
