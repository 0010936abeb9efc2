// Every action of the window, once: its name, its key, when it is possible and what it does. Menus, shortcuts, the cheat sheet and
// the tests read this table.
#pragma once
#include <span>
#include <string>
#include <string_view>

namespace mien::editor {

class Studio;

/// A key with its modifiers (editor/input.hpp); key 0: none.
struct Chord {
  int key = 0;
  int mods = 0;
  friend bool operator==(const Chord&, const Chord&) = default;
};
/// "Ctrl+Shift+S"; empty for no key.
std::string to_text(Chord chord);

struct Action {
  std::string_view id;
  std::string_view name;
  std::string_view menu;  ///< the menu it stands in; empty: none
  Chord key;
  bool repeats;           ///< whether a held key does it again
  bool (*possible)(const Studio&);
  void (*run)(Studio&);
};

std::span<const Action> actions() noexcept;
/// nullptr where there is none.
const Action* find_action(std::string_view id) noexcept;
const Action* find_action(Chord chord) noexcept;

}  // namespace mien::editor
