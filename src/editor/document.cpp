#include "editor/document.hpp"

#include <algorithm>

#include "show/lane_order.hpp"

namespace mien::editor {
namespace {

// The channels of locked controls as they were before.
void keep_locked(show::Show& after, const show::Show& before, const std::set<std::string, std::less<>>& locked) {
  if (locked.empty()) return;
  const auto is_locked = [&](const show::ChannelPtr& c) { return locked.contains(c->control); };
  std::erase_if(after.channels, [&](const show::ChannelPtr& c) { return is_locked(c) && !show::find_channel(before, c->control); });
  for (const show::ChannelPtr& was : before.channels) {
    if (!is_locked(was)) continue;
    const auto at = std::find_if(after.channels.begin(), after.channels.end(), [&](const show::ChannelPtr& c) { return c->control == was->control; });
    if (at == after.channels.end()) after.channels.push_back(was);
    else *at = was;
  }
}

}  // namespace

Document::Document(std::shared_ptr<const show::Rig> rig, show::ShowPtr show, std::filesystem::path file, bool unsaved)
    : saved_(unsaved ? nullptr : show), saved_rig_(rig), file_(std::move(file)) {
  steps_.push_back({"Open", show, {}, std::move(rig), {}, std::move(show), {}});
}

void Document::select(Selection selection) {
  draft_ = {};
  steps_[at_].selection = std::move(selection);
}

// The current step's keys are those of of_ (reopen), so that an edit names keys that are there.
Document::Step Document::made(const Edit& edit) const {
  const Step& now = steps_[at_];
  Edited e = apply(edit, *now.opened, *now.rig, now.selection);
  const auto* reshaping = std::get_if<Reshaping>(&edit);
  const bool order_is_meant = reshaping && std::holds_alternative<MoveLane>(*reshaping);
  if (!order_is_meant) show::settle_new_channels(e.show.channels, now.opened->channels, *now.rig);
  keep_locked(e.show, *now.opened, locked_);
  if (!locked_.empty()) e.selection = kept(e.selection, e.show);
  auto opened_after = std::make_shared<const show::Show>(std::move(e.show));
  if (now.opened == now.show) return {std::move(e.name), opened_after, std::move(e.selection), now.rig, of_, opened_after, {}};
  auto whole = std::make_shared<const show::Show>(put_back(*now.show, of_, *now.opened, *opened_after));
  return {std::move(e.name), whole, std::move(e.selection), now.rig, of_, opened(whole, of_), {}};
}

void Document::draft(const Edit& edit) { draft_ = made(edit); }

std::string Document::commit(const Edit& edit) {
  draft_ = {};
  Step next = made(edit);
  if (show::same(*next.show, *steps_[at_].show)) {
    steps_[at_].selection = std::move(next.selection);
    return "";
  }
  add(std::move(next));
  if (steps_[at_].opened == steps_[at_].show) of_ = {};  // what was open is gone
  return steps_[at_].name;
}

std::string Document::commit_rig(std::string name, show::Rig rig) {
  draft_ = {};
  if (rig == *steps_[at_].rig) return "";
  Step next = steps_[at_];
  next.name = std::move(name), next.rig = std::make_shared<const show::Rig>(std::move(rig)), next.of = of_;
  add(std::move(next));
  return steps_[at_].name;
}

void Document::add_step(std::string name) {
  draft_ = {};
  Step next = steps_[at_];
  const bool whole = next.opened == next.show;
  next.name = std::move(name), next.of = of_;
  next.show = std::make_shared<const show::Show>(*next.show);
  if (whole) next.opened = next.show;
  add(std::move(next));
}

void Document::add(Step step) {
  steps_.resize(at_ + 1);
  pack(steps_[at_], *step.show);
  steps_.push_back(std::move(step));
  ++at_;
}

void Document::pack(Step& step, const show::Show& beside) const {
  step.packed = Packed(step.show, beside);
  step.show = step.opened = nullptr;
}

void Document::move_to(std::size_t neighbour) {
  Step& to = steps_[neighbour];
  to.show = to.packed.unpack(*steps_[at_].show);
  to.packed = {};
  pack(steps_[at_], *to.show);
  at_ = neighbour;
}

void Document::open_keys(KeysOf of) {
  draft_ = {};
  reopen(std::move(of));
}

void Document::reopen(KeysOf of) {
  Step& now = steps_[at_];
  const bool moved = !(of == of_);
  now.opened = opened(now.show, of);
  of_ = now.opened == now.show ? KeysOf{} : std::move(of);
  if (moved) now.selection = kept(now.selection, *now.opened);
}

void Document::undo() {
  draft_ = {};
  if (!can_undo()) return;
  KeysOf of = steps_[at_].of;
  move_to(at_ - 1);
  reopen(std::move(of));
}

void Document::redo() {
  draft_ = {};
  if (!can_redo()) return;
  move_to(at_ + 1);
  reopen(steps_[at_].of);
}

void Document::go_to(std::size_t step) {
  while (at_ > step && can_undo()) undo();
  while (at_ < step && can_redo()) redo();
}

void Document::mark_saved(std::filesystem::path file, show::ShowPtr as_saved) {
  file_ = std::move(file);
  saved_ = std::move(as_saved);
  saved_rig_ = steps_[at_].rig;
}

void Document::set_paths(const std::string& rig_file, const std::vector<show::Sound>& sounds) {
  if (steps_[at_].show->rig_file == rig_file && steps_[at_].show->sounds == sounds) return;
  for (Step& step : steps_) {
    if (!step.show) {
      step.packed.set_paths(rig_file, sounds);
      continue;
    }
    const bool was_saved = step.show == saved_;
    step.show = std::make_shared<const show::Show>(with_paths(*step.show, rig_file, sounds));
    step.opened = opened(step.show, of_);
    if (was_saved) saved_ = step.show;
  }
}

}  // namespace mien::editor
