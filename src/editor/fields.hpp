// Labelled fields for the lists beside the lanes: a row of them lines up at one column, each remembers what is half typed.
#pragma once
#include <optional>
#include <string>

#include "editor/panels.hpp"

namespace mien::editor {

class Fields {
 public:
  Fields(const Look& look, ComposeState& state) : look_(look), state_(state) {}

  /// The heading of a part of the panel, with a hairline above it.
  void heading(const char* text) const;
  /// A label in the column of labels; what follows stands in the column of fields.
  void label(const char* text) const;
  /// The new number once it was typed. `id` names the field to the probe as "field/ID"; `second` puts it behind the one before.
  std::optional<double> number(const char* label, const char* id, double shown, const char* format, bool second = false);
  /// The new name once it was typed and is another one.
  std::optional<std::string> name(const char* label, const char* id, const std::string& shown);
  /// A choice that is on or off, named "button/LABEL".
  bool chip(const char* label, bool on) const;

 private:
  const Look& look_;
  ComposeState& state_;
};

}  // namespace mien::editor
