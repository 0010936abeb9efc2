#include <algorithm>
#include <numeric>

#include "motion/index.hpp"
#include "perform/cues.hpp"
#include "perform/plan.hpp"
#include "show/cue_value.hpp"

namespace mien::perform {
namespace {

using motion::at;
using Kind = CueProgram::Kind;

class CueCompiler {
 public:
  CueCompiler(std::shared_ptr<const show::Rig> rig, show::ShowPtr show) : made_(std::make_shared<CueProgram>()) { made_->rig = std::move(rig), made_->show = std::move(show); }

  CueProgramPtr run() {
    const auto& cues = made_->show->cues;
    const std::size_t count = std::min(cues.size(), show::kMaxCues);
    for (std::size_t n = 0; n < count; ++n) add(cues[n], count);
    made_->upward.resize(count);
    std::iota(made_->upward.begin(), made_->upward.end(), 0);
    std::stable_sort(made_->upward.begin(), made_->upward.end(), [&](int a, int b) { return made_->cues[at(a)].priority < made_->cues[at(b)].priority; });
    return made_;
  }

 private:
  int known(const std::string& name, std::size_t count) const {
    const int n = show::cue_index(made_->show->cues, name);
    return n < static_cast<int>(count) ? n : -1;
  }
  int control(const std::string& name) const {
    const int c = control_index(*made_->rig, name);
    return c < show::kMaxControls ? c : -1;
  }

  void add(const show::Cue& from, std::size_t count) {
    CueProgram::Cue cue;
    cue.fade_in_ns = from.fade_in.count(), cue.fade_out_ns = from.fade_out.count(), cue.hold_ns = from.hold.count(), cue.pause_ns = from.pause.count();
    if (from.at_time) cue.at_time_ns = from.at_time->count();
    if (from.at_clock) cue.at_clock_ns = from.at_clock->count();
    cue.follow = from.follow.empty() ? -1 : known(from.follow, count);
    cue.priority = from.priority;
    std::visit([&](const auto& deed) { put(deed, cue, count); }, from.deed);
    made_->cues.push_back(cue);
  }

  void value(CueProgram::Cue& cue, int control, double value) {
    made_->values.push_back({control, value});
    cue.moves.set(at(control));
  }

  void put(const show::CueClip& deed, CueProgram::Cue& cue, std::size_t) {
    const auto clip = show::find_clip(*made_->show, deed.clip);
    if (!clip || clip->length <= show::Time{0}) return;
    cue.kind = deed.loops ? Kind::round : Kind::once;
    cue.length_ns = clip->length.count();
    cue.first = static_cast<int>(made_->strands.size());
    for (const auto& channel : clip->channels)
      if (const int c = control(channel->control); c >= 0 && !channel->keys.empty()) made_->strands.push_back({c, channel.get()}), cue.moves.set(at(c));
    cue.end = static_cast<int>(made_->strands.size());
  }

  void put(const show::CuePose& deed, CueProgram::Cue& cue, std::size_t) {
    const auto pose = show::find_pose(*made_->show, deed.pose);
    if (!pose) return;
    cue.kind = Kind::still;
    cue.first = static_cast<int>(made_->values.size());
    for (const auto& v : pose->values)
      if (const int c = control(v.control); c >= 0) {
        const show::Control& about = made_->rig->controls[at(c)];
        value(cue, c, about.states.empty() ? about.rest + deed.weight * (v.value - about.rest) : v.value);
      }
    cue.end = static_cast<int>(made_->values.size());
  }

  void put(const show::CueStretch& deed, CueProgram::Cue& cue, std::size_t) {
    const auto range = show::stretch_of(deed, *made_->show);
    if (range && !range->empty()) cue.kind = Kind::stretch, cue.stretch = *range;
  }

  void put(const show::CueState& deed, CueProgram::Cue& cue, std::size_t) {
    const auto told = show::state_value(deed, *made_->rig);
    if (!told || told->control >= show::kMaxControls) return;
    cue.kind = Kind::still;
    cue.first = static_cast<int>(made_->values.size());
    value(cue, told->control, told->value);
    cue.end = static_cast<int>(made_->values.size());
  }

  void put(const show::CueChoice& deed, CueProgram::Cue& cue, std::size_t count) {
    cue.kind = Kind::choice, cue.seed = deed.seed;
    cue.fade_in_ns = cue.fade_out_ns = cue.hold_ns = 0;  // those of the cue that it chooses count
    cue.first = static_cast<int>(made_->choices.size());
    for (const auto& name : deed.cues)
      if (const int n = known(name, count); n >= 0 && !std::holds_alternative<show::CueChoice>(made_->show->cues[at(n)].deed)) made_->choices.push_back(n);
    cue.end = static_cast<int>(made_->choices.size());
  }

  void put(const show::CueStop&, CueProgram::Cue& cue, std::size_t) { cue.kind = Kind::stop, cue.fade_in_ns = cue.fade_out_ns = 0; }

  std::shared_ptr<CueProgram> made_;
};

constexpr std::int64_t kEdit_ns = 400'000'000;  // in which what an edit took away fades

}  // namespace

CueProgramPtr cues_of(std::shared_ptr<const show::Rig> rig, show::ShowPtr show) {
  if (show->cues.empty()) return nullptr;
  return CueCompiler(std::move(rig), std::move(show)).run();
}

void load(CueState& state, const CueProgram* program, const motion::Shapes* shapes, std::span<const double> rest) {
  state = {};
  if (!program) return;
  state.runs.resize(program->cues.size());
  state.cursors.reserve(program->strands.size());
  for (const auto& strand : program->strands) state.cursors.emplace_back(strand.channel, shapes, rest[static_cast<std::size_t>(strand.control)]);
}

void carry_over(CueState& to, const CueProgram* program, const CueState& from, const CueProgram* before) noexcept {
  to.begun = from.begun, to.live = from.live, to.life_ns = from.life_ns;
  to.before = from.before, to.played = from.played, to.day_before_ns = from.day_before_ns;
  to.home = from.home, to.home_plays = from.home_plays;
  if (!before) return;
  if (program && program->rig != before->rig) return;
  to.last = from.last, to.laid = from.laid;
  to.offset = from.offset, to.off = from.off, to.jumps = from.jumps, to.jump_ns = from.jump_ns, to.jumped_ns = from.jumped_ns;
  bool lost = false;
  const bool shared = program && program->show->cues == before->show->cues;  // the list as it was: by place
  for (std::size_t n = 0; n < from.runs.size(); ++n) {
    const auto& run = from.runs[n];
    int now = static_cast<int>(n);
    if (!shared) now = program ? show::cue_index(program->show->cues, before->show->cues[n].name) : -1;
    const bool same = now >= 0 && static_cast<std::size_t>(now) < to.runs.size() && program->show->cues[static_cast<std::size_t>(now)].deed == before->show->cues[n].deed;
    if (!same) {
      lost |= run.phase == CuePhase::playing || run.phase == CuePhase::holding || run.phase == CuePhase::leaving;
      continue;
    }
    CueState::Run& kept = to.runs[static_cast<std::size_t>(now)] = run;
    if (run.chosen >= 0) {
      kept.chosen = program ? show::cue_index(program->show->cues, before->show->cues[static_cast<std::size_t>(run.chosen)].name) : -1;
      if (kept.chosen >= static_cast<int>(to.runs.size())) kept.chosen = -1;
    }
    if (from.stretch == static_cast<int>(n)) to.stretch = now, to.stretch_began = from.stretch_began;
  }
  // A pose or clip of a running cue may be another now, or the cue gone: none of it is to be seen as a jump.
  const bool edited = !shared || program->show->clips != before->show->clips || program->show->poses != before->show->poses;
  if (lost || (edited && std::any_of(to.runs.begin(), to.runs.end(), [](const auto& run) { return run.weight > 0; }))) to.jumps = true, to.jump_ns = kEdit_ns;
}

}  // namespace mien::perform
