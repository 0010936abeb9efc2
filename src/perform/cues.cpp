#include "perform/cues.hpp"

#include <algorithm>
#include <cmath>

#include "motion/index.hpp"
#include "perform/idle.hpp"

namespace mien::perform {
namespace {

using motion::at;
using Kind = CueProgram::Kind;
using Phase = CuePhase;

constexpr std::int64_t kLeast_ns = 200'000'000;   // in which a jump is made good for, at least
constexpr std::int64_t kBeginMost_ns = 3'000'000'000;  // a stretch whose sound doesn't begin by then is given up
constexpr std::int64_t kBeyond_ns = 500'000'000;  // so far off its stretch the show was taken elsewhere by a hand
constexpr std::int64_t kNews_ns = 3'600'000'000'000;  // a clock that is set by more than an hour is a new clock
constexpr std::uint64_t kChoiceStream = 17;

bool runs_now(const CueState::Run& run) noexcept { return run.phase == Phase::playing || run.phase == Phase::holding; }

class Caller {
 public:
  Caller(const CueProgram& program, CueState& state) noexcept : p_(program), s_(state) {}

  // Asked for by name: it begins, or nobody is heard.
  void ask(int n) noexcept {
    if (n < 0 || at(n) >= s_.runs.size() || !may_begin(n, false)) return;
    begin(n, false);
  }

  void release(int n) noexcept {
    if (n < 0 || at(n) >= s_.runs.size()) return;
    CueState::Run& run = s_.runs[at(n)];
    run.wanted = false;
    if (run.phase == Phase::waiting) enter(run, Phase::ready);
    if (p_.cues[at(n)].kind == Kind::choice && runs_now(run) && run.chosen >= 0) release(run.chosen);
    if (runs_now(run)) leave(n);
  }

  void want(int n) noexcept { s_.runs[at(n)].wanted = true; }

  /// `polite`: nobody has to give way for it.
  bool may_begin(int n, bool polite) const noexcept {
    const CueProgram::Cue& cue = p_.cues[at(n)];
    const CueState::Run& run = s_.runs[at(n)];
    if (cue.kind == Kind::nothing || runs_now(run) || run.phase == Phase::pausing) return false;
    if (run.phase == Phase::leaving && cue.pause_ns > 0) return false;
    for (std::size_t m = 0; m < s_.runs.size(); ++m)
      if (at(n) != m && runs_now(s_.runs[m]) && meets(cue, p_.cues[m]) && (polite ? p_.cues[m].priority >= cue.priority : p_.cues[m].priority > cue.priority)) return false;
    return cue.kind != Kind::choice || choose(n, polite) >= 0;
  }

  void begin(int n, bool polite) noexcept {
    const CueProgram::Cue& cue = p_.cues[at(n)];
    CueState::Run& run = s_.runs[at(n)];
    run.wanted = false;
    ++s_.begun;
    if (cue.kind == Kind::choice) {
      run.chosen = choose(n, polite);
      ++run.choices;
      enter(run, Phase::playing);
      if (run.chosen >= 0) begin(run.chosen, polite);
      return;
    }
    for (std::size_t m = 0; m < s_.runs.size(); ++m)
      if (at(n) != m && runs_now(s_.runs[m]) && p_.cues[m].priority <= cue.priority && (cue.kind == Kind::stop || meets(cue, p_.cues[m]))) {
        const int other = static_cast<int>(m);
        if (cue.kind == Kind::stop) release(other);
        else leave(other), follow_up(other);
      }
    if (cue.kind == Kind::stop) {
      for (std::size_t m = 0; m < s_.runs.size(); ++m)
        if (p_.cues[m].priority <= cue.priority) s_.runs[m].wanted = false, s_.runs[m].phase == Phase::waiting ? enter(s_.runs[m], Phase::ready) : void();
      return over(n);  // it is over as it begins
    }
    if (run.weight > 0 && cue.kind == Kind::once) jump(cue.fade_in_ns);
    if (cue.kind != Kind::round || run.weight <= 0) run.into_ns = 0;
    enter(run, Phase::playing);
    if (cue.kind == Kind::stretch) s_.next_stretch = n;
  }

  // It ended by itself: what follows begins as it fades.
  void over(int n) noexcept {
    leave(n);
    follow_up(n);
  }
  void follow_up(int n) noexcept {
    if (p_.cues[at(n)].follow >= 0) want(p_.cues[at(n)].follow);
  }

  void leave(int n) noexcept {
    enter(s_.runs[at(n)], Phase::leaving);
  }

  static void enter(CueState::Run& run, Phase phase) noexcept { run.phase = phase, run.since_ns = 0; }

  void jump(std::int64_t fade_ns) noexcept { s_.jumps = true, s_.jump_ns = std::max(kLeast_ns, fade_ns); }

 protected:
  static bool meets(const CueProgram::Cue& a, const CueProgram::Cue& b) noexcept {
    return (a.kind == Kind::stretch && b.kind == Kind::stretch) || (a.moves & b.moves).any();
  }

  // Among those that could begin now, not the one before where there is another. The n-th choice is a function of seed and n.
  int choose(int n, bool polite) const noexcept {
    const CueProgram::Cue& cue = p_.cues[at(n)];
    const CueState::Run& run = s_.runs[at(n)];
    const auto open = [&](int c) { return p_.cues[at(c)].kind != Kind::choice && may_begin(c, polite); };
    std::uint64_t others = 0;
    bool last_is_open = false;
    for (int i = cue.first; i < cue.end; ++i)
      if (open(p_.choices[at(i)])) p_.choices[at(i)] == run.chosen ? void(last_is_open = true) : void(++others);
    if (others == 0) return last_is_open ? run.chosen : -1;
    std::uint64_t pick = splitmix(splitmix(std::uint64_t{cue.seed} << 8 | kChoiceStream, 1), run.choices + 1) % others;
    for (int i = cue.first; i < cue.end; ++i) {
      const int c = p_.choices[at(i)];
      if (c == run.chosen || !open(c)) continue;
      if (pick-- == 0) return c;
    }
    return -1;
  }

  const CueProgram& p_;
  CueState& s_;
};

// A tick of them all.
class Stepper : public Caller {
 public:
  Stepper(const CueProgram& program, CueState& state, const CueClock& clock) noexcept : Caller(program, state), clock_(clock) {}

  StageGo run() noexcept {
    start_by_time();
    for (std::size_t n = 0; n < s_.runs.size(); ++n) go_on(static_cast<int>(n));
    for (std::size_t n = 0; n < s_.runs.size(); ++n) begin_if_wanted(static_cast<int>(n));
    move_show();
    return go_;
  }

 private:
  void start_by_time() noexcept {
    const std::int64_t now = clock_.show.count(), before = s_.played && s_.before <= clock_.show && now - s_.before.count() < kBeyond_ns ? s_.before.count() : now - clock_.dt_ns;
    const std::int64_t day = show::kDay.count(), passed = (clock_.day_ns - s_.day_before_ns + day) % day;
    const bool told = s_.live && clock_.day_ns >= 0 && s_.day_before_ns >= 0 && passed < kNews_ns;
    for (std::size_t n = 0; n < p_.cues.size(); ++n) {
      const CueProgram::Cue& cue = p_.cues[n];
      const bool show_time = clock_.playing && cue.at_time_ns >= 0 && cue.at_time_ns > before && cue.at_time_ns <= now;
      const bool day_time = told && cue.at_clock_ns >= 0 && passed > 0 && (cue.at_clock_ns - s_.day_before_ns + day - 1) % day < passed;
      if (show_time || day_time) ask(static_cast<int>(n));
    }
    s_.before = clock_.show, s_.played = clock_.playing, s_.day_before_ns = clock_.day_ns;
  }

  void go_on(int n) noexcept {
    const CueProgram::Cue& cue = p_.cues[at(n)];
    CueState::Run& run = s_.runs[at(n)];
    run.since_ns += clock_.dt_ns;
    if (runs_now(run) || run.phase == Phase::leaving) run.into_ns += clock_.dt_ns;
    const bool on = runs_now(run);
    const std::int64_t fade_ns = on ? cue.fade_in_ns : cue.fade_out_ns;
    const double step = fade_ns > 0 ? static_cast<double>(clock_.dt_ns) / static_cast<double>(fade_ns) : 1;
    if (on) run.weight = std::min(1.0, run.weight + step * (1 + 1e-9));
    else run.weight = std::max(0.0, run.weight - step * (1 + 1e-9));
    if (run.weight < 1e-9) run.weight = 0;

    switch (run.phase) {
      case Phase::playing: if (played(n)) finish(n); break;
      case Phase::holding:
        if (cue.kind == Kind::stretch && n == s_.stretch && clock_.playing) lose(n);
        else if (run.since_ns >= cue.hold_ns) over(n);
        break;
      case Phase::leaving:
        if (run.weight > 0) break;
        enter(run, cue.pause_ns > 0 ? Phase::pausing : run.wanted ? Phase::waiting : Phase::ready);
        break;
      case Phase::pausing: if (run.since_ns >= cue.pause_ns) enter(run, run.wanted ? Phase::waiting : Phase::ready); break;
      case Phase::waiting: case Phase::ready: break;
    }
  }

  // Whether what it plays is over.
  bool played(int n) noexcept {
    const CueProgram::Cue& cue = p_.cues[at(n)];
    CueState::Run& run = s_.runs[at(n)];
    switch (cue.kind) {
      case Kind::once: return run.into_ns >= cue.length_ns;
      case Kind::round: case Kind::still: return cue.hold_ns > 0 && run.since_ns >= cue.fade_in_ns + cue.hold_ns;
      case Kind::choice: return run.chosen < 0 || !runs_now(s_.runs[at(run.chosen)]);
      case Kind::stretch: return stretch_played(n);
      case Kind::stop: case Kind::nothing: break;
    }
    return true;
  }

  bool stretch_played(int n) noexcept {
    if (n != s_.stretch) return false;  // it is about to begin
    const show::Range range = p_.cues[at(n)].stretch;
    const std::int64_t now = clock_.show.count();
    if (!s_.stretch_began) {
      s_.stretch_began = clock_.playing && now >= range.begin.count();
      if (s_.runs[at(n)].since_ns > kBeginMost_ns) lose(n);
      return false;
    }
    if (now < range.begin.count() || now > range.end.count() + kBeyond_ns) lose(n);
    else if (now >= range.end.count()) return true;
    else if (!clock_.playing) lose(n);
    return false;
  }

  // A person took the show elsewhere: it is theirs, and stays where they put it.
  void lose(int n) noexcept {
    s_.stretch = -1;
    leave(n);
  }

  void finish(int n) noexcept {
    const CueProgram::Cue& cue = p_.cues[at(n)];
    const bool stands = cue.hold_ns > 0 && (cue.kind == Kind::once || cue.kind == Kind::stretch);
    if (!stands) return over(n);
    enter(s_.runs[at(n)], Phase::holding);
    if (cue.kind == Kind::stretch) go_ = {true, cue.stretch.end, false, true};
  }

  void begin_if_wanted(int n) noexcept {
    CueState::Run& run = s_.runs[at(n)];
    if (!run.wanted || runs_now(run)) return;
    if (may_begin(n, true)) return begin(n, true);
    if (run.phase == Phase::ready) enter(run, Phase::waiting);
  }

  // One playhead: the newest stretch has it, and where none has it any more the show goes home.
  void move_show() noexcept {
    const int newest = s_.next_stretch;
    s_.next_stretch = -1;
    if (newest >= 0 && runs_now(s_.runs[at(newest)])) {
      if (s_.stretch < 0) s_.home = clock_.show, s_.home_plays = clock_.playing;
      s_.stretch = newest, s_.stretch_began = false;
      go_ = {true, p_.cues[at(newest)].stretch.begin, true, true};
      jump(p_.cues[at(newest)].fade_in_ns);
    } else if (s_.stretch >= 0 && !runs_now(s_.runs[at(s_.stretch)])) {
      go_ = {true, s_.home, s_.home_plays, false};
      jump(p_.cues[at(s_.stretch)].fade_out_ns);
      s_.stretch = -1;
    }
  }

  const CueClock& clock_;
  StageGo go_;
};

double smooth(double w) noexcept { return w * w * (3 - 2 * w); }

}  // namespace

const char* name(CuePhase phase) noexcept {
  switch (phase) {
    case Phase::ready: return "ready";
    case Phase::waiting: return "waiting";
    case Phase::playing: return "playing";
    case Phase::holding: return "holding";
    case Phase::leaving: return "leaving";
    case Phase::pausing: break;
  }
  return "pausing";
}

void start(const CueProgram& program, CueState& state, int cue) noexcept { Caller(program, state).ask(cue); }
void release(const CueProgram& program, CueState& state, int cue) noexcept { Caller(program, state).release(cue); }
void release_all(const CueProgram& program, CueState& state) noexcept {
  for (std::size_t n = 0; n < state.runs.size(); ++n) release(program, state, static_cast<int>(n));
}

void set_live(CueState& state, bool live, show::Time show) noexcept {
  if (state.live == live) return;
  state.live = live;
  if (live) state.life_ns = show.count();
  else state.jumps = true, state.jump_ns = 2 * kLeast_ns;
  state.day_before_ns = -1;
}

StageGo step(const CueProgram* program, CueState& state, const CueClock& clock) noexcept {
  if (state.live) state.life_ns += clock.dt_ns;
  if (state.off) {
    state.jumped_ns += clock.dt_ns;
    if (state.jumped_ns >= state.jump_ns) state.off = false;
  }
  if (!program) return {};
  return Stepper(*program, state, clock).run();
}

show::Time held_within(const CueProgram* program, const CueState& state, show::Time time) noexcept {
  if (!program || state.stretch < 0) return time;
  return std::min(time, program->cues[at(state.stretch)].stretch.end);
}

double left_of_jump(double u) noexcept { return u <= 0 ? 1 : u >= 1 ? 0 : 1 - u * u * u * (10 + u * (6 * u - 15)); }

void lay(const CueProgram* program, CueState& state, const std::vector<char>& stepped, std::span<double> control) noexcept {
  if (!program && !state.live && !state.off && !state.jumps) {
    state.laid = false;
    return;
  }
  if (program)
    for (const int n : program->upward) {
      const CueProgram::Cue& cue = program->cues[at(n)];
      const CueState::Run& run = state.runs[at(n)];
      if (!(run.weight > 0) || cue.first == cue.end || cue.kind == Kind::choice) continue;
      const double w = smooth(run.weight);
      const auto put = [&](int c, double value) {
        if (stepped[at(c)]) control[at(c)] = w >= 0.5 ? std::round(value) : control[at(c)];
        else control[at(c)] += w * (value - control[at(c)]);
      };
      if (cue.kind == Kind::still) {
        for (int v = cue.first; v < cue.end; ++v) put(program->values[at(v)].control, program->values[at(v)].value);
      } else {
        const show::Time local{cue.kind == Kind::round ? run.into_ns % cue.length_ns : std::min(run.into_ns, cue.length_ns)};
        for (int s = cue.first; s < cue.end; ++s) put(program->strands[at(s)].control, state.cursors[at(s)].at(local));
      }
    }
  const std::size_t count = std::min(stepped.size(), control.size());
  if (state.jumps && state.laid) {
    for (std::size_t c = 0; c < count; ++c) state.offset[c] = stepped[c] ? 0 : state.last[c] - control[c];
    state.off = true, state.jumped_ns = 0;
  }
  state.jumps = false;
  if (state.off) {
    const double left = left_of_jump(static_cast<double>(state.jumped_ns) / static_cast<double>(state.jump_ns));
    for (std::size_t c = 0; c < count; ++c) control[c] += left * state.offset[c];
  }
  std::copy_n(control.begin(), count, state.last.begin());
  state.laid = true;
}

float share_of(const CueProgram& program, const CueState& state, int cue, show::Time show) noexcept {
  const CueProgram::Cue& c = program.cues[at(cue)];
  const CueState::Run& run = state.runs[at(cue)];
  const auto of = [](std::int64_t part, std::int64_t whole) { return whole > 0 ? std::clamp(static_cast<float>(part) / static_cast<float>(whole), 0.0f, 1.0f) : 0.0f; };
  switch (run.phase) {
    case Phase::playing:
      if (c.kind == Kind::once) return of(run.into_ns, c.length_ns);
      if (c.kind == Kind::round || c.kind == Kind::still) return c.hold_ns > 0 ? of(run.since_ns, c.fade_in_ns + c.hold_ns) : 0;
      if (c.kind == Kind::stretch && cue == state.stretch) return of((show - c.stretch.begin).count(), c.stretch.length().count());
      return c.kind == Kind::choice && run.chosen >= 0 ? share_of(program, state, run.chosen, show) : 0;
    case Phase::holding: return of(run.since_ns, c.hold_ns);
    case Phase::leaving: return static_cast<float>(run.weight);
    case Phase::pausing: return of(run.since_ns, c.pause_ns);
    case Phase::ready: case Phase::waiting: break;
  }
  return 0;
}

}  // namespace mien::perform
