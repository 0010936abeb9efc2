// Every action of the window, once: its name, its usual key, when it is possible and what it does. Menus, shortcuts, the palette, the cheat
// sheet and the tests read this table; which key an action has now is for Keys (editor/keys.hpp) to say.
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
  std::string_view needs = {};  ///< what it wants, where an open timeline is not all: "Choose keys first"
  bool anywhere = false;        ///< what it needs has nothing to do with a show
};

std::span<const Action> actions() noexcept;
/// nullptr where there is none.
const Action* find_action(std::string_view id) noexcept;
/// What to do first, in a few words; empty where the action is possible.
std::string_view why_not(const Action& action, const Studio& studio);

}  // namespace mien::editor
