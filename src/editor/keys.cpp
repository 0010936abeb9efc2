#include "editor/keys.hpp"

#include <GLFW/glfw3.h>

#include <algorithm>

#include "editor/input.hpp"
#include "show/text.hpp"

namespace mien::editor {
namespace {

// As they may be typed where a keyboard has no such sign.
std::optional<int> spelled(const std::string& name) {
  if (name == "left") return GLFW_KEY_LEFT;
  if (name == "right") return GLFW_KEY_RIGHT;
  if (name == "up") return GLFW_KEY_UP;
  if (name == "down") return GLFW_KEY_DOWN;
  if (name == "-" || name == "minus") return GLFW_KEY_MINUS;
  if (name == "comma") return GLFW_KEY_COMMA;
  if (name == "period") return GLFW_KEY_PERIOD;
  return std::nullopt;
}

std::optional<int> key_of(const std::string& name) {
  if (const auto key = spelled(name)) return key;
  for (int key = GLFW_KEY_SPACE; key <= GLFW_KEY_LAST; ++key) {
    const std::string shown = to_text(Chord{key, 0});
    if (!shown.empty() && show::small_letters(shown) == name) return key;
  }
  return std::nullopt;
}

std::size_t place(const Action& action) noexcept { return static_cast<std::size_t>(&action - actions().data()); }

bool stops(const Action& a, Chord chord) { return a.id == "stop" || chord.key == GLFW_KEY_ESCAPE; }

show::Finding refused(std::string where, std::string file, std::string what, std::string cure) {
  return {show::Severity::warning, std::move(file), std::move(where), std::move(what), std::move(cure)};
}
show::Finding esc_is_stop(std::string where, std::string file) {
  return refused(std::move(where), std::move(file), "Esc stops the head, in every state of the window, and does nothing else", "Choose another key");
}

}  // namespace

std::optional<Chord> parse_chord(std::string_view text) {
  if (text == "none") return Chord{};
  Chord chord;
  std::string rest = show::small_letters(text);
  for (bool more = true; more;) {
    more = false;
    for (const auto& [word, mod] : {std::pair{"ctrl+", kCtrl}, std::pair{"alt+", kAlt}, std::pair{"shift+", kShift}})
      if (rest.starts_with(word)) rest.erase(0, std::string_view(word).size()), chord.mods |= mod, more = true;
  }
  const auto key = key_of(rest);
  if (!key) return std::nullopt;
  chord.key = *key;
  return chord;
}

Keys::Keys() {
  for (const Action& a : actions()) chords_.push_back(a.key);
}

Chord Keys::of(const Action& action) const noexcept { return chords_[place(action)]; }

const Action* Keys::find(Chord chord) const noexcept {
  if (chord.key == 0) return nullptr;
  for (const Action& a : actions())
    if (of(a) == chord) return &a;
  return nullptr;
}

std::optional<show::Finding> Keys::bind(const Action& action, Chord chord) {
  if (stops(action, chord)) return esc_is_stop(std::string(action.name), "");
  if (chord.key != 0 && to_text(Chord{chord.key, 0}).empty()) return refused(std::string(action.name), "", "That key has no name here", "Choose a letter, a figure, a function key or an arrow");
  if (const Action* other = find(chord); other && other != &action)
    return refused(std::string(action.name), "", to_text(chord) + " belongs to \u201C" + std::string(other->name) + "\u201D", "Give that one another key first, or choose another here");
  chords_[place(action)] = chord;
  return std::nullopt;
}

show::Findings Keys::read(const std::vector<store::Entry>& entries, const std::string& file) {
  show::Findings findings;
  *this = Keys();
  std::vector<std::pair<const Action*, const store::Entry*>> changed;
  for (const store::Entry& e : entries) {
    const std::string where = "line " + std::to_string(e.line);
    const Action* action = find_action(e.name);
    const auto chord = parse_chord(e.value);
    std::vector<std::string> known;
    for (const Action& a : actions()) known.emplace_back(a.id);
    if (!action) findings.push_back(refused(where, file, "there is no action '" + e.name + "'", show::suggestion(e.name, known)));
    else if (!chord) findings.push_back(refused(where, file, "'" + e.value + "' is no key", "Write it as the list of keys shows it, as in Ctrl+Shift+S, or none."));
    else if (stops(*action, *chord)) findings.push_back(esc_is_stop(where, file));
    else chords_[place(*action)] = *chord, changed.push_back({action, &e});
  }
  // A key that two have: the line that asked for it gives way, until none is left.
  for (bool again = true; again;) {
    again = false;
    for (const auto& change : changed) {  // no structured binding, as clang 14 takes none into a lambda
      const auto* action = change.first;
      const auto* e = change.second;
      const auto other = std::find_if(actions().begin(), actions().end(), [&](const Action& a) { return &a != action && of(a).key != 0 && of(a) == of(*action); });
      if (other == actions().end() || of(*action) == action->key) continue;
      findings.push_back(refused("line " + std::to_string(e->line), file, to_text(of(*action)) + " for '" + e->name + "' belongs to '" + std::string(other->id) + "'", "Give that one another key, too, or none; till then '" + e->name + "' keeps its usual key."));
      chords_[place(*action)] = action->key;
      again = true;
    }
  }
  return findings;
}

std::vector<store::Entry> Keys::entries() const {
  std::vector<store::Entry> all;
  for (const Action& a : actions())
    if (!(of(a) == a.key)) all.push_back({std::string(a.id), of(a).key == 0 ? "none" : to_text(of(a))});
  return all;
}

}  // namespace mien::editor
