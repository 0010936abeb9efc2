#include "editor/document.hpp"

namespace mien::editor {

Document::Document(std::shared_ptr<const show::Rig> rig, show::ShowPtr show, std::filesystem::path file, bool unsaved)
    : saved_(unsaved ? nullptr : show), saved_rig_(rig), file_(std::move(file)) {
  steps_.push_back({"Open", std::move(show), {}, std::move(rig)});
}

void Document::select(Selection selection) {
  draft_ = {};
  steps_[at_].selection = std::move(selection);
}

void Document::draft(const Edit& edit) {
  Edited e = apply(edit, *steps_[at_].show, *steps_[at_].rig, steps_[at_].selection);
  draft_ = {std::move(e.name), std::make_shared<const show::Show>(std::move(e.show)), std::move(e.selection), steps_[at_].rig};
}

std::string Document::commit(const Edit& edit) {
  draft_ = {};
  Edited e = apply(edit, *steps_[at_].show, *steps_[at_].rig, steps_[at_].selection);
  if (show::same(e.show, *steps_[at_].show)) {
    steps_[at_].selection = std::move(e.selection);
    return "";
  }
  steps_.resize(at_ + 1);
  steps_.push_back({e.name, std::make_shared<const show::Show>(std::move(e.show)), std::move(e.selection), steps_[at_].rig});
  ++at_;
  return e.name;
}

std::string Document::commit_rig(std::string name, show::Rig rig) {
  draft_ = {};
  if (rig == *steps_[at_].rig) return "";
  Step next{std::move(name), steps_[at_].show, steps_[at_].selection, std::make_shared<const show::Rig>(std::move(rig))};
  steps_.resize(at_ + 1);
  steps_.push_back(std::move(next));
  ++at_;
  return steps_[at_].name;
}

void Document::undo() {
  draft_ = {};
  if (can_undo()) --at_;
}

void Document::redo() {
  draft_ = {};
  if (can_redo()) ++at_;
}

void Document::mark_saved(std::filesystem::path file, show::ShowPtr as_saved) {
  file_ = std::move(file);
  saved_ = std::move(as_saved);
  saved_rig_ = steps_[at_].rig;
}

void Document::set_paths(const std::string& rig_file, const std::vector<show::Sound>& sounds) {
  if (steps_[at_].show->rig_file == rig_file && steps_[at_].show->sounds == sounds) return;
  for (Step& step : steps_) {
    show::Show moved = *step.show;
    moved.rig_file = rig_file;
    for (std::size_t i = 0; i < moved.sounds.size() && i < sounds.size(); ++i) moved.sounds[i].file = sounds[i].file;
    const bool was_saved = step.show == saved_;
    step.show = std::make_shared<const show::Show>(std::move(moved));
    if (was_saved) saved_ = step.show;
  }
}

}  // namespace mien::editor
