// The show on the desk and its rig, with their past: a list of named steps, one of which is current. That one is a snapshot; the others are kept as what
// sets them apart from their neighbour toward it (editor/past.hpp).
#pragma once
#include <filesystem>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "editor/edits.hpp"
#include "editor/past.hpp"

namespace mien::editor {

class Document {
 public:
  struct Step {
    std::string name;
    show::ShowPtr show;    ///< the whole; null while `packed` stands for it
    Selection selection;   ///< among the keys of `of`
    std::shared_ptr<const show::Rig> rig;
    KeysOf of;             ///< whose keys were edited then
    show::ShowPtr opened;  ///< those (editor/compose.hpp); `show` itself where they are the show's own; null with it
    Packed packed;
  };

  Document() = default;
  /// `unsaved`: the show is not on disk as it stands (new, recovered, migrated).
  Document(std::shared_ptr<const show::Rig> rig, show::ShowPtr show, std::filesystem::path file, bool unsaved);

  bool open() const noexcept { return !steps_.empty(); }
  /// What is on screen: the draft of an edit under way, else the current step. Precondition for these: open().
  /// The keys that are open: the show's own, or a clip's or layer's as if they were.
  const show::Show& show() const noexcept { return *shared_show(); }
  show::ShowPtr shared_show() const noexcept { return draft_.show ? draft_.opened : steps_[at_].opened; }
  /// The show with all that it is made of, as it goes to its file.
  const show::Show& whole() const noexcept { return *shared_whole(); }
  show::ShowPtr shared_whole() const noexcept { return draft_.show ? draft_.show : steps_[at_].show; }
  /// Whose keys are open. No step of undo, but undo goes to where the step was made.
  const KeysOf& keys_of() const noexcept { return of_; }
  void open_keys(KeysOf of);
  const Selection& selection() const noexcept { return draft_.show ? draft_.selection : steps_[at_].selection; }
  const show::Rig& rig() const noexcept { return *steps_[at_].rig; }
  std::shared_ptr<const show::Rig> shared_rig() const noexcept { return steps_[at_].rig; }

  void select(Selection selection);

  /// Shows what the edit would make, without adding a step: once for each frame of a drag, always from the current step.
  void draft(const Edit& edit);
  /// Adds a step and makes it current; steps that had been undone are gone. Returns its name; empty, and no step, where the
  /// edit changes nothing.
  std::string commit(const Edit& edit);
  /// The same for another rig, as the workbench makes them.
  std::string commit_rig(std::string name, show::Rig rig);
  /// A step that changes nothing in the show, but something that lies beside it: it can be undone, and the show is unsaved.
  void add_step(std::string name);
  /// The channels of these controls stay as they are, whatever is asked.
  void lock(std::set<std::string, std::less<>> controls) { locked_ = std::move(controls); }
  /// show() without the draft: from where an edit under way starts.
  const show::Show& undrafted() const noexcept { return *steps_[at_].opened; }
  void take_back() { draft_ = {}; }
  bool drafting() const noexcept { return draft_.show != nullptr; }

  bool can_undo() const noexcept { return at_ > 0; }
  bool can_redo() const noexcept { return at_ + 1 < steps_.size(); }
  std::string undo_name() const { return can_undo() ? steps_[at_].name : ""; }
  std::string redo_name() const { return can_redo() ? steps_[at_ + 1].name : ""; }
  void undo();
  void redo();
  void go_to(std::size_t step);  ///< by undo or redo, until it is the current one
  std::size_t steps() const noexcept { return steps_.size(); }
  /// The current step's index, and any step's name: 0 is how the show was opened.
  std::size_t at() const noexcept { return at_; }
  show::ShowPtr step_show(std::size_t i) const noexcept { return steps_[i].show; }
  const std::string& step_name(std::size_t i) const noexcept { return steps_[i].name; }

  const std::filesystem::path& file() const noexcept { return file_; }
  bool unsaved() const noexcept { return open() && (saved_ != steps_[at_].show || rig_unsaved()); }
  bool rig_unsaved() const noexcept { return open() && saved_rig_ != steps_[at_].rig; }
  /// `as_saved` is now what `file` holds, and the rig's file holds the rig.
  void mark_saved(std::filesystem::path file, show::ShowPtr as_saved);
  /// The rig came from elsewhere than its file.
  void mark_rig_unsaved() noexcept { saved_rig_ = nullptr; }
  /// After a move to another folder: what every step says about files beside the show.
  void set_paths(const std::string& rig_file, const std::vector<show::Sound>& sounds);

 private:
  Step made(const Edit& edit) const;
  void add(Step step);
  void pack(Step& step, const show::Show& beside) const;
  void move_to(std::size_t neighbour);
  void reopen(KeysOf of);

  std::vector<Step> steps_;
  std::size_t at_ = 0;
  Step draft_;
  KeysOf of_;
  std::set<std::string, std::less<>> locked_;
  show::ShowPtr saved_;
  std::shared_ptr<const show::Rig> saved_rig_;
  std::filesystem::path file_;
};

}  // namespace mien::editor
