// The callers' side of the performer: what the window and the command line ask of it, and what they hear.
#include "perform/performer_core.hpp"
#include "threads/steady.hpp"

namespace mien::perform {

show::Time Performer::Core::here() noexcept {
  const Report& r = reports.read();
  return r.obeyed == sent ? r.time : asked;
}

void Performer::Core::start(show::Time from, show::Range within) noexcept {
  sounding = player && !player->silent();
  if (sounding) player->play(from, within);
  asked = from;
  send({Command::Kind::play, sounding, from, {}});
}

// The sound of a show that another machine leads.
void Performer::Core::chase(const Report& r) noexcept {
  if (!player || player->silent() || !r.playing) return;
  const auto from = sound_chase.look(r.time, r.at_ns, r.followed.locates, sounding, player->clock());
  if (!from) return;
  player->play(*from, {});
  sounding = true;
}

void Performer::Core::halt() noexcept {
  if (sounding) player->pause();
  sounding = false;
  asked = here();
  send({});
}

Performer::Performer(link::Session* session, sound::Player* player, live::Inlet* inlet) : core_(std::make_unique<Core>(session, player, inlet)) {}
Performer::~Performer() = default;

void Performer::publish(PlanPtr plan) {
  core_->free_retired();
  auto next = std::make_unique<Handover>();
  load(next->head, *plan);
  next->plan = plan;
  core_->published = std::move(plan);
  core_->cues.set_names(core_->published->show);
  delete core_->incoming.exchange(next.release(), std::memory_order_acq_rel);
}

void Performer::play() {
  if (core_->following) return;
  show::Time from = core_->here();
  const show::Range loop = core_->loop;
  const show::Time end = !loop.empty() ? loop.end : core_->published ? core_->published->show->length : show::Time{0};
  if (from >= end) from = loop.begin;
  core_->send({.kind = Command::Kind::clear_states});
  core_->start(from);
}

void Performer::pause() {
  if (!core_->following) core_->halt();
}

void Performer::stop() {
  core_->send({.kind = Command::Kind::clear_states});
  if (core_->following) return;
  core_->halt();
  seek(core_->loop.begin);
}

void Performer::seek(show::Time time) {
  if (core_->following) return;
  time = std::max(time, show::Time{0});
  const Report& r = core_->reports.read();
  const bool playing = core_->sounding || (r.obeyed == core_->sent && r.playing);
  if (playing) return core_->start(time);
  core_->asked = time;
  core_->send({Command::Kind::seek, false, time, {}});
}

void Performer::scrub(show::Time time) {
  if (core_->following) return;
  if (latest().playing) pause();
  seek(time);
  if (core_->player) core_->player->scrub(std::max(time, show::Time{0}));
}

void Performer::set_loop(show::Range loop) {
  core_->loop = loop;
  if (core_->following) return void(core_->send({Command::Kind::loop, false, {}, loop}));
  core_->asked = core_->here();
  core_->send({Command::Kind::loop, false, {}, loop});
  if (core_->sounding) core_->start(core_->asked);
}

void Performer::set_state(int auxiliary, std::uint8_t value) {
  core_->asked = core_->here();
  core_->send({.kind = Command::Kind::state, .auxiliary = auxiliary, .value = value});
}

void Performer::follow(const live::FollowSettings& settings) {
  core_->halt();
  core_->following = settings.source != live::FollowSettings::Source::none;
  core_->send({.kind = Command::Kind::follow, .follow = settings});
}

void Performer::panic() { core_->send({.kind = Command::Kind::panic}); }
void Performer::give(int group, bool on) { core_->send({.kind = Command::Kind::give, .group = group, .on = on}); }
void Performer::record(bool on) { core_->send({.kind = Command::Kind::record, .on = on}); }
bool Performer::take(live::TakeTick& tick) noexcept { return core_->hands.take(tick); }

bool Performer::start_cue(std::string_view name) { return core_->cues.start(name); }
bool Performer::release_cue(std::string_view name) { return core_->cues.release(name); }
void Performer::start_cue(int cue) noexcept { core_->cues.start(cue); }
void Performer::release_cue(int cue) noexcept { core_->cues.release(cue); }
CuePhase Performer::cue_phase(int cue) const noexcept { return core_->cues.phase(cue); }

void Performer::release_cues() { core_->send({.kind = Command::Kind::release_cues}); }
void Performer::set_cues_live(bool live) { core_->send({.kind = Command::Kind::cues_live, .on = live}); }
void Performer::set_day(std::int64_t day_ns) { core_->send({.kind = Command::Kind::day, .ns = day_ns - threads::steady_ns()}); }

const Report& Performer::latest() {
  core_->free_retired();
  const Report& r = core_->reports.read();
  core_->sounds.store(core_->player && !core_->player->silent(), std::memory_order_relaxed);
  if (r.cues.goes != core_->gone) {
    core_->gone = r.cues.goes;
    if (r.cues.go.play && !core_->following) {
      core_->start(r.cues.go.to, r.cues.go.free ? show::Range{} : core_->loop);
      return r;
    }
  }
  // The show came to its end by itself: the sound goes quiet with it.
  if (core_->sounding && r.obeyed == core_->sent && !r.playing) {
    core_->player->pause();
    core_->sounding = false;
  }
  if (core_->following && r.obeyed == core_->sent) core_->chase(r);
  return r;
}

}  // namespace mien::perform
