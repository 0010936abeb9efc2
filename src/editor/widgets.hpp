// Buttons and their like, in the window's manner.
#pragma once
#include <imgui.h>

#include <initializer_list>
#include <span>
#include <string_view>
#include <utility>

#include "editor/command.hpp"
#include "editor/look.hpp"

namespace mien::editor {

class Studio;
struct Typing;

enum class Weight { plain, strong, live };

/// A button of the given size (0: as the label needs) that says its name to the probe as "button/LABEL".
bool button(const Look& look, const char* label, ImVec2 size = {0, 0}, Weight weight = Weight::plain);

/// A button for an action of the registry: its label, its key in quiet letters behind it, greyed while it is not possible.
/// `on`: drawn as pressed in.
void action_button(const Look& look, const Studio& studio, std::string_view action, const char* label, bool on, Commands& out);

/// Several, by the action's id and label, in as many lines as the panel's width asks for.
void action_row(const Look& look, const Studio& studio, std::initializer_list<std::pair<const char*, const char*>> buttons, Commands& out);

/// A box to tick and a dot to choose, with their label; framed, so that they are seen while they are empty. True where it was pressed.
bool tick_box(const Look& look, const char* label, bool* on);
bool choice_dot(const Look& look, const char* label, bool on);

/// A dialog's last line: its buttons at the right edge, the last of them in `last` weight and greyed while not `possible`; the pressed one's index, or -1.
int answers(const Look& look, std::span<const char* const> labels, Weight last, bool possible = true);

/// A number to type, named NAME of "##NAME" to the probe; true once it was changed and left, with the new one in typing.value.
bool number_field(const Look& look, const char* name, Typing& typing, double shown, const char* format, float design_width);

/// Opens and begins a dialog in the middle of the window; true: fill it, then call end_dialog(). A click on the dim rest does nothing.
bool begin_dialog(const Look& look, const char* title, float design_width);
void end_dialog();
/// When the open dialog is not wanted any more, whoever closed it.
void close_dialogs();

}  // namespace mien::editor
