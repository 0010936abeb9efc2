// The desktop's dialog for files, as the window asks for it: one at a time, answered when the person has chosen, and never waited for.
#pragma once
#include <cstdint>
#include <optional>
#include <string>

#include "editor/portal.hpp"

namespace mien::editor {

/// Belongs to the window's thread; what waits is a job of its own.
class DesktopDialog {
 public:
  /// Who is asked, and the window that asks, as PathWanted::parent. Without it, none() is so.
  void use(AskPortal ask, std::string parent);
  /// Whether Mien's own dialog is to serve: there is no other, as far as is known.
  bool none() const noexcept { return !ask_ || useless_; }
  /// It told that there is none, or failed; try_again() forgets that.
  void serves_no_more() noexcept { useless_ = true; }
  void try_again() noexcept { useless_ = false; }

  /// Asks once what was asked before is closed, whose answer is lost.
  void ask(PathWanted wanted);
  /// Closes what is open, if anything is. It never answers.
  void close();
  bool asking() const noexcept { return asking_; }
  /// Whether it was asked so long ago that the window should say where the dialog is.
  bool slow() const noexcept;
  /// Whether its answer may come in a moment, so that frames should go on without input.
  bool lively() const noexcept { return asking_ && !slow(); }
  /// To be called on every frame: what became of the question, once; asking() is false from then on.
  std::optional<PathAnswer> answer();

 private:
  void begin();
  AskPortal ask_;
  std::string parent_;
  bool useless_ = false, asking_ = false, stale_ = false;  // stale: what the job is going to answer was asked before
  std::int64_t asked_ns_ = 0;
  std::optional<PathWanted> next_;  // not begun, since the one before still closes
  Job<PathAnswer> job_;
};

}  // namespace mien::editor
