// The part of the studio that follows what runs in the background: the study, the command that makes keys arrive, the ghost.
#include <algorithm>

#include "editor/counted.hpp"
#include "editor/finding_marks.hpp"
#include "editor/studio.hpp"

namespace mien::editor {
namespace {

// How it ended, in a line for the person.
std::string word_of_arrival(const Arrived& done, std::size_t unmended) {
  const std::size_t changes = done.arrival.changes.size();
  if (done.arrival.stopped) return "Cancelled; nothing was changed.";
  if (changes == 0) return "No change of keys was found that helps; each finding says what else would.";
  if (unmended > 0) return counted(changes, "change") + ". What is left can\u2019t be mended by keys; each finding says what else would.";
  return counted(changes, "change") + ". Undo brings the keys back.";
}

// What it was asked to mend and didn't.
std::vector<perform::Shortfall> unmended_of(const Arrived& done) {
  std::vector<perform::Shortfall> left = done.arrival.study.shortfalls;
  if (done.which)
    std::erase_if(left, [&](const perform::Shortfall& s) { return !perform::same_trouble(s, *done.which); });
  return left;
}

}  // namespace

std::shared_ptr<const Feasibility> Studio::feasibility() const {
  auto f = setpoints_.feasibility();
  // Another show's, on another rig, names other controls.
  return f && document_.open() && f->plan->rig == document_.shared_rig() ? f : nullptr;
}

void Studio::apply_one(const MakeArrive& c) {
  if (!document_.open() || document_.drafting() || arrive_job_.running() || document_.keys_of().kind == KeysOf::Kind::layer) return;
  arriving_ = {};
  panels_.side = Side::findings;
  arrive_job_.start([rig = document_.shared_rig(), show = arrives(), which = c.which](const GoOn& go_on) { return arrive(rig, show, which, go_on); });
  arriving_.running = true;
}

void Studio::apply_one(const StopArriving&) { arrive_job_.stop(); }

void Studio::follow_arrival() {
  if (auto done = arrive_job_.take()) {
    // An edit in the meantime goes before what was made of the show before it.
    if (document_.open() && done->from == arrives()) {
      const std::vector<perform::Shortfall> left = unmended_of(*done);
      const std::string word = word_of_arrival(*done, left.size());
      if (!done->arrival.stopped) apply(Change{SetChannels{done->which ? "Make it arrive" : "Make all arrive", done->arrival.show.channels}});
      arriving_.word = word;
      arriving_.unmended = left;
      arriving_for_ = arrives();
      journal_.line("arrived: " + word);
    } else if (document_.open()) {
      arriving_.word = "Stopped, since the show was changed meanwhile.";
      arriving_for_ = arrives();
    }
  }
  arriving_.running = arrive_job_.running();
  arriving_.share = arrive_job_.share();
}

void Studio::follow_findings() {
  const auto f = feasibility();
  if (!f || f->show == told_) return;
  told_ = f->show;
  journal_.line("findings " + std::to_string(f->study.shortfalls.size()));
}

bool Studio::finding_here() const {
  const auto f = feasibility();
  if (!f || !document_.open() || arrive_job_.running()) return false;
  const auto of_channel = f->study.of(perform::control_index(document_.rig(), view_.control));
  return std::any_of(of_channel.begin(), of_channel.end(), [&](const perform::Shortfall& s) { return seen_at(s) == playhead() && s.cause != perform::Cause::out_of_sync; });
}

void Studio::arrive_here() {
  const auto f = feasibility();
  if (!finding_here()) return;
  for (const perform::Shortfall& s : f->study.of(perform::control_index(document_.rig(), view_.control)))
    if (seen_at(s) == playhead() && s.cause != perform::Cause::out_of_sync) return apply(MakeArrive{s});
}

const show::FacePose* Studio::follow_ghost(const Setpoints* setpoints) {
  if (!view_.as_built || !setpoints || !document_.open()) return nullptr;
  ghost_.follow(report_);
  if (ghost_.position_deg().size() != setpoints->map->rest_deg.size()) return nullptr;
  ghost_face_ = perform::face_of(*setpoints->map, ghost_.position_deg().data());
  return &ghost_face_;
}

}  // namespace mien::editor
