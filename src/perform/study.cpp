#include "perform/study.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>

#include "perform/blame.hpp"
#include "perform/render.hpp"
#include "perform/sync.hpp"
#include "perform/tick.hpp"

namespace mien::perform {
namespace {

constexpr double kTouchShare = 0.1;   // of the tolerance: nearer than that, setpoint and target have met
constexpr double kHeldShare = 0.5;    // of what they are apart: where constraints hold that much, they are the cause
constexpr int kTicksPerQuestion = 256;  // between two calls of go_on

struct Row {
  show::Time time{0};
  std::array<double, show::kMaxActuators> target{}, held{}, setpoint{};  // target within travel; how far from it constraints hold
  std::array<Held, show::kMaxActuators> why{};
};

// The stretch in which one actuator is away from its target now.
struct Run {
  struct Sample {
    show::Time time;
    double setpoint;
  };
  bool open = false, parted = false;
  double sign = 0, off = 0, held = 0;  // the latter two where they part most
  struct Ticks {
    int all = 0, braked = 0;
  };
  Ticks so_far, until_worst;
  show::Time worst{0};
  std::vector<Sample> samples;
};

struct Clip {
  bool open = false;
  show::Time begin{0}, worst{0};
  double off = 0;  // with its sign
};

class Watch {
 public:
  Watch(const Plan& plan, Study& study)
      : plan_(plan), study_(study), blame_(plan), count_(static_cast<std::size_t>(plan.actuators())),
        reach_(static_cast<std::int64_t>(plan.rig->tolerance_ms * 1e6 / static_cast<double>(plan.tick.count()) + 1e-9)),
        tolerance_(plan.rig->tolerance_deg), touch_(kTouchShare * tolerance_),
        rows_(static_cast<std::size_t>(2 * reach_ + 1)), runs_(count_), clips_(count_) {}

  void see(const Tick& tick) {
    Row& row = at(seen_);
    row.time = tick.time;
    bool beyond = clips_open_ > 0;
    for (std::size_t a = 0; a < count_; ++a) {
      const double low = plan_.limits.min_deg[a], high = plan_.limits.max_deg[a], asked = tick.target_deg[a];
      row.target[a] = asked < low ? low : asked > high ? high : asked;
      row.held[a] = plan_.map->rows.empty() ? 0 : std::abs(row.target[a] - tick.allowed_deg[a]);
      row.setpoint[a] = tick.setpoint_deg[a];
      row.why[a] = tick.held[a];
      beyond |= std::abs(asked - row.target[a]) > tolerance_;
    }
    if (beyond) watch_ends(tick, row);
    ++seen_;
    if (seen_ > reach_) judge(seen_ - 1 - reach_);
  }

  void end() {
    for (std::int64_t n = std::max<std::int64_t>(0, seen_ - reach_); n < seen_; ++n) judge(n);
    if (seen_ == 0) return;
    const Row& last = at(seen_ - 1);
    Row after = last;
    after.time += plan_.tick;
    for (std::size_t a = 0; a < count_; ++a) {
      if (clips_[a].open) close_clip(a, after.time);
      if (runs_[a].open) close(a, after);
    }
  }

 private:
  Row& at(std::int64_t n) noexcept { return rows_[static_cast<std::size_t>(n) % rows_.size()]; }

  // Tick n with as many ticks before and after it as the tolerance in time reaches.
  void judge(std::int64_t n) {
    const Row& row = at(n);
    double most = 0;
    for (std::size_t a = 0; a < count_; ++a) most = std::max(most, std::abs(row.target[a] - row.setpoint[a]));
    if (runs_open_ == 0 && !(most > touch_)) return;
    for (std::size_t a = 0; a < count_; ++a) {
      Run& run = runs_[a];
      const double gap = row.target[a] - row.setpoint[a];
      const bool met = !(std::abs(gap) > touch_);
      if (run.open && (met || gap * run.sign < 0)) close(a, row);
      if (met) continue;
      if (!run.open) {
        ++runs_open_;
        run.open = true, run.sign = gap > 0 ? 1 : -1;
      }
      run.samples.push_back({row.time, row.setpoint[a]});
      ++run.so_far.all;
      run.so_far.braked += row.why[a] == Held::for_constraint;
      if (std::abs(gap) > run.off) run.off = std::abs(gap), run.held = row.held[a], run.worst = row.time, run.until_worst = run.so_far;
      run.parted = run.parted || (std::abs(gap) > tolerance_ && leaves_tube(n, a));
    }
  }

  bool leaves_tube(std::int64_t n, std::size_t a) noexcept {
    const Row& row = at(n);
    double target_low = row.target[a], target_high = target_low, setpoint_low = row.setpoint[a], setpoint_high = setpoint_low;
    for (std::int64_t m = std::max<std::int64_t>(0, n - reach_); m <= std::min(n + reach_, seen_ - 1); ++m) {
      const Row& near = at(m);
      target_low = std::min(target_low, near.target[a]), target_high = std::max(target_high, near.target[a]);
      setpoint_low = std::min(setpoint_low, near.setpoint[a]), setpoint_high = std::max(setpoint_high, near.setpoint[a]);
    }
    const double x = row.setpoint[a], y = row.target[a];
    return std::max({target_low - x, x - target_high, setpoint_low - y, y - setpoint_high}) > tolerance_;
  }

  // `met`: the tick on which they met again.
  void close(std::size_t a, const Row& met) {
    Run& run = runs_[a];
    if (run.parted) note_late(static_cast<int>(a), run, met);
    run.open = run.parted = false;
    run.off = 0;
    run.so_far = run.until_worst = {};
    run.samples.clear();
    --runs_open_;
  }

  void note_late(int actuator, const Run& run, const Row& met) {
    Shortfall s;
    s.cause = cause_of(run);
    s.actuator = actuator;
    s.range = {run.samples.front().time, met.time};
    s.off_deg = run.off;
    const auto asked = blame_.late(actuator, s.range.begin, run.worst, run.sign);
    s.past = asked.past;
    name_key(s, asked);
    if (s.control < 0) s.key = s.range.begin, s.late_ms = ms(met.time - s.range.begin);
    else if (met.time > s.key) arrival(s, run, asked.to_deg, met);
    study_.shortfalls.push_back(s);
  }

  // What held it where they part most, or on most ticks on the way to that; rails are blamed afterwards.
  static Cause cause_of(const Run& run) noexcept {
    return run.held > kHeldShare * run.off || run.until_worst.braked > kHeldShare * run.until_worst.all ? Cause::braked : Cause::late;
  }

  // When the setpoint stands where the key wants it, or how near it comes: where the target comes back to meet it, it still has to brake.
  void arrival(Shortfall& s, const Run& run, double to_deg, const Row& met) const noexcept {
    const auto a = static_cast<std::size_t>(s.actuator);
    const double step = run.sign * (met.setpoint[a] - run.samples.back().setpoint), change = plan_.limits.change_deg[a];
    const double braking = step > change ? motion::braking_way(step - change, change) : 0;
    double nearest = run.sign * (to_deg - met.setpoint[a]) - braking;
    if (std::abs(met.target[a] - to_deg) <= touch_) nearest = 0;
    show::Time when = s.range.end;
    for (const auto& sample : run.samples) {
      const double left = run.sign * (to_deg - sample.setpoint);
      nearest = std::min(nearest, left);
      if (left > touch_ || sample.time < s.key) continue;
      when = sample.time;
      break;
    }
    s.late_ms = std::max(0.0, ms(when - s.key));
    s.short_deg = nearest > 2 * touch_ ? nearest : 0;
  }

  void watch_ends(const Tick& tick, const Row& row) {
    for (std::size_t a = 0; a < count_; ++a) {
      Clip& clip = clips_[a];
      const double over = tick.target_deg[a] - row.target[a];
      const bool beyond = std::abs(over) > tolerance_;
      if (clip.open && (!beyond || over * clip.off < 0)) close_clip(a, tick.time);
      if (!beyond) continue;
      if (!clip.open) ++clips_open_, clip = {true, tick.time, tick.time, 0};
      if (std::abs(over) > std::abs(clip.off)) clip.off = over, clip.worst = tick.time;
    }
  }

  void close_clip(std::size_t a, show::Time end) {
    Clip& clip = clips_[a];
    Shortfall s;
    s.cause = Cause::clipped;
    s.actuator = static_cast<int>(a);
    s.range = {clip.begin, end};
    s.off_deg = std::abs(clip.off);
    s.key = clip.worst;
    name_key(s, blame_.clipped(s.actuator, clip.worst, clip.off));
    study_.shortfalls.push_back(s);
    clip.open = false;
    --clips_open_;
  }

  void name_key(Shortfall& s, const Blame::Asked& asked) const {
    s.layer = asked.layer;
    if (asked.control < 0) return;
    const auto& keys = plan_.channel_of[static_cast<std::size_t>(asked.control)]->keys;
    s.control = asked.control;
    s.key = keys[asked.key].time;
    s.move_deg = asked.to_deg - asked.from_deg;
    const bool jumps = asked.key > 0 && keys[asked.key - 1].easing.kind == show::Easing::Kind::hold;
    if (asked.key > 0 && !jumps) s.given = s.key - keys[asked.key - 1].time;
  }

  static double ms(show::Time t) noexcept { return show::to_seconds(t) * 1e3; }

  const Plan& plan_;
  Study& study_;
  Blame blame_;
  const std::size_t count_;
  const std::int64_t reach_;  // of the tolerance in time, in ticks
  const double tolerance_, touch_;
  std::vector<Row> rows_;     // the last ones, in a ring
  std::int64_t seen_ = 0;
  std::vector<Run> runs_;
  std::vector<Clip> clips_;
  int runs_open_ = 0, clips_open_ = 0;
};

}  // namespace

std::span<const Shortfall> Study::of(int control) const noexcept {
  Shortfall wanted;
  wanted.control = control;
  const auto [first, last] = std::equal_range(shortfalls.begin(), shortfalls.end(), wanted, [](const auto& a, const auto& b) { return a.control < b.control; });
  return {first, last};
}

namespace {

Study watched(const Plan& plan, std::optional<show::Range> part, const std::function<bool()>& go_on) {
  Study result;
  Watch watch(plan, result);
  const std::int64_t last = tick_count(plan) - 1;
  const auto tick_at = [&](show::Time t) { return std::clamp<std::int64_t>(t / plan.tick, 0, last); };
  const std::int64_t first = part ? tick_at(part->begin) : 0, end = part ? tick_at(part->end) : last;
  Head head;
  Tick now;
  stand_at(head, plan, tick_time(plan, first));
  for (std::int64_t n = first; n <= end; ++n) {
    tick(plan, head, tick_time(plan, n), 1, now);
    watch.see(now);
    if (go_on && n % kTicksPerQuestion == 0 && !go_on()) {
      result.whole = false;
      break;
    }
  }
  watch.end();
  add_out_of_sync(plan, {tick_time(plan, first), now.time}, result);
  std::sort(result.shortfalls.begin(), result.shortfalls.end(), [](const Shortfall& a, const Shortfall& b) {
    return std::tuple(a.control, a.range.begin, a.actuator, a.cause) < std::tuple(b.control, b.range.begin, b.actuator, b.cause);
  });
  return result;
}

bool is_of_speed(const Shortfall& s) noexcept { return s.cause == Cause::late || s.cause == Cause::governed; }

// Where a rail slowed its servos, what would not be without that is its doing, and nothing else: a second look at a head whose rails give all that is asked.
void blame_rails(const Plan& plan, std::optional<show::Range> part, const std::function<bool()>& go_on, Study& study) {
  if (plan.governed.empty() || std::ranges::none_of(study.shortfalls, is_of_speed)) return;
  Plan free = plan;
  free.governed.clear();
  const Study without = watched(free, part, go_on);
  study.whole = study.whole && without.whole;
  for (Shortfall& s : study.shortfalls) {
    if (!is_of_speed(s)) continue;
    const bool anyhow = std::ranges::any_of(without.shortfalls, [&](const Shortfall& o) {
      return o.actuator == s.actuator && is_of_speed(o) && o.range.begin <= s.range.end && s.range.begin <= o.range.end;
    });
    s.cause = anyhow ? Cause::late : Cause::governed;
  }
}

}  // namespace

Study study(const Plan& plan, std::optional<show::Range> part, const std::function<bool()>& go_on) {
  Study result = watched(plan, part, go_on);
  blame_rails(plan, part, go_on, result);
  return result;
}

}  // namespace mien::perform
