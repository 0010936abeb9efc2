// What each question for a file says, and which files it is for; the same for Mien's own dialog and for the desktop's.
#pragma once
#include <span>

#include "editor/command.hpp"
#include "editor/portal.hpp"

namespace mien::editor {

struct PathWording {
  const char *title, *hint, *action;
  const char* suffix;  ///< that Mien's own dialog lists files with; empty: any
  bool saves = false;  ///< a name to write to
};

/// Whether the question is for a file.
bool asks_for_path(Dialog which) noexcept;
/// Precondition: asks_for_path(which).
PathWording wording_of(Dialog which) noexcept;
/// Endings of sound files, in small letters.
std::span<const char* const> sound_endings() noexcept;

/// The same question for the desktop: title, button, and kinds of file, with "All files" as the last.
/// Precondition: asks_for_path(which).
PathWanted wanted_of(Dialog which);

}  // namespace mien::editor
