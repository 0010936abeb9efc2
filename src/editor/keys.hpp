// Which key does which action: the registry's usual ones, and what the person has put in their place.
//
// The file `keys` (store/settings.hpp) holds only what differs, a line for each: the action's id, then its key as it is shown, modifiers first and
// in any order, or `none`:
//
//     loop = Ctrl+L
//     marker = none
#pragma once
#include <optional>
#include <vector>

#include "editor/action.hpp"
#include "show/finding.hpp"
#include "store/settings.hpp"

namespace mien::editor {

/// "Ctrl+Shift+S" and "shift+ctrl+s" alike; "none" is no key. Nothing where the text is no key that can be shown.
std::optional<Chord> parse_chord(std::string_view text);

class Keys {
 public:
  Keys();
  Chord of(const Action& action) const noexcept;
  /// nullptr where no action has it.
  const Action* find(Chord chord) const noexcept;
  /// Key 0 takes the key away. Nothing where it was done; else why not: the key belongs to another action, which is named, or it is Esc, which
  /// always stops the head and nothing else.
  std::optional<show::Finding> bind(const Action& action, Chord chord);
  void as_usual() { *this = Keys(); }
  /// All lines together, so that two keys can be exchanged; then those that can't be are said and left as usual.
  show::Findings read(const std::vector<store::Entry>& entries, const std::string& file);
  /// What differs from the usual keys.
  std::vector<store::Entry> entries() const;

 private:
  std::vector<Chord> chords_;  ///< by the action's place in the registry
};

}  // namespace mien::editor
