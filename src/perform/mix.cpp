#include "perform/mix.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "motion/index.hpp"

namespace mien::perform {
namespace {

using motion::at;

// What a level has for the controls that it touches.
struct Mixed {
  std::array<double, show::kMaxControls> ground, sum, weight;
  std::array<bool, show::kMaxControls> has_ground;
};

double within(double weight, bool adds) noexcept { return std::clamp(weight, 0.0, adds ? show::kMostWeight : 1.0); }

show::Time clip_time(const Mix::Placed& p, show::Time t) noexcept {
  const std::int64_t into = (t - p.begin).count();
  const std::int64_t moved = p.rate == 1 ? into : std::llround(static_cast<double>(into) * p.rate);
  return show::Time{std::min(moved + p.offset.count(), p.total_ns - 1) % p.clip_length.count()};
}

class Mixer {
 public:
  Mixer(const Mix& program, MixState& state, const motion::Shapes* shapes, std::span<const double> rest, show::Time t, show::Time life) noexcept
      : m_(program), s_(state), shapes_(shapes), rest_(rest), t_(t), life_(life) {}

  void lay(const Mix::Level& level, double* control) noexcept {
    const double weight = within(s_.cursors[at(level.weight_cursor)].at(t_), level.adds);
    if (!(weight > 0)) return;
    for (const int c : level.controls) mixed_.sum[at(c)] = mixed_.weight[at(c)] = 0, mixed_.has_ground[at(c)] = false;
    for (int n = level.first_own; n < level.end_own; ++n) {
      const int c = m_.strands[at(n)].control;
      mixed_.ground[at(c)] = s_.cursors[at(level.own_cursor + n - level.first_own)].at(t_), mixed_.has_ground[at(c)] = true;
    }
    for (int n = level.first_lane; n < level.end_lane; ++n) place(n, level.adds);
    if (level.idle) enliven(level);
    for (const int c : level.controls) control[at(c)] = level.adds ? added(c, weight, control[at(c)]) : laid_over(c, weight, control[at(c)]);
  }

 private:
  void join(int c, double weight, double value) noexcept { mixed_.sum[at(c)] += weight * value, mixed_.weight[at(c)] += weight; }

  void place(int lane, bool adds) noexcept {
    const Mix::Placed* p = sounding(m_.lanes[at(lane)], s_.placed_in[at(lane)]);
    if (!p) return;
    motion::Cursor* cursor = &s_.cursors[at(m_.lanes[at(lane)].first_cursor)];
    const int index = static_cast<int>(p - m_.placed.data());
    if (s_.placed_in[at(lane)] != index) point(cursor, *p), s_.placed_in[at(lane)] = index;
    const double weight = within(p->envelope ? p->weight * cursor->at(t_) : p->weight, adds);
    const show::Time local = clip_time(*p, t_);
    for (int n = p->first_strand; n < p->end_strand; ++n) join(m_.strands[at(n)].control, weight, (++cursor)->at(local));
  }

  // The placement of the lane that holds t; mostly the one that did on the last tick.
  const Mix::Placed* sounding(const Mix::Lane& lane, int last) const noexcept {
    const auto holds = [&](const Mix::Placed& p) { return t_ >= p.begin && t_ < p.end; };
    if (last >= 0 && holds(m_.placed[at(last)])) return &m_.placed[at(last)];
    const auto first = m_.placed.begin() + lane.first, end = m_.placed.begin() + lane.end;
    const auto after = std::upper_bound(first, end, t_, [](show::Time t, const Mix::Placed& p) { return t < p.begin; });
    return after != first && holds(*(after - 1)) ? &*(after - 1) : nullptr;
  }

  void point(motion::Cursor* cursor, const Mix::Placed& p) const noexcept {
    *cursor = motion::Cursor(p.envelope, shapes_, 1);
    for (int n = p.first_strand; n < p.end_strand; ++n) *++cursor = motion::Cursor(m_.strands[at(n)].channel, shapes_, rest_[at(m_.strands[at(n)].control)]);
  }

  void enliven(const Mix::Level& level) noexcept {
    std::array<double, show::kMaxControls> value;
    live(*level.idle, s_.idle[at(level.idle_state)], life_, value.data());
    for (std::size_t slot = 0; slot < level.idle_control.size(); ++slot)
      if (level.idle_control[slot] >= 0) join(level.idle_control[slot], 1, value[slot]);
  }

  double added(int c, double weight, double x) const noexcept {
    if (m_.stepped[at(c)]) return x;
    const double rest = rest_[at(c)], ground = mixed_.has_ground[at(c)] ? mixed_.ground[at(c)] - rest : 0;
    return x + weight * (ground + mixed_.sum[at(c)] - mixed_.weight[at(c)] * rest);
  }

  double laid_over(int c, double weight, double x) const noexcept {
    const double sum = mixed_.weight[at(c)], share = std::min(sum, 1.0), placed = sum > 0 ? mixed_.sum[at(c)] / sum : 0;
    if (m_.stepped[at(c)]) {
      const bool takes_placed = share >= 0.5;
      if (!(takes_placed || mixed_.has_ground[at(c)]) || weight * (mixed_.has_ground[at(c)] ? 1 : share) < 0.5) return x;
      return takes_placed ? placed : mixed_.ground[at(c)];
    }
    if (!mixed_.has_ground[at(c)]) return x + weight * share * (placed - x);
    const double ground = mixed_.ground[at(c)], y = ground + share * (placed - ground);
    return x + weight * (y - x);
  }

  const Mix& m_;
  MixState& s_;
  const motion::Shapes* shapes_;
  std::span<const double> rest_;
  show::Time t_, life_;
  Mixed mixed_;
};

}  // namespace

bool Mix::touches(int control) const noexcept { return layer_on(control) >= 0; }

int Mix::layer_on(int control) const noexcept {
  for (auto level = levels.rbegin(); level != levels.rend(); ++level)
    if (std::find(level->controls.begin(), level->controls.end(), control) != level->controls.end()) return level->layer;
  return -1;
}

void load(MixState& state, const Mix* mix, const motion::Shapes* shapes, std::span<const double> rest) {
  state = {};
  if (!mix) return;
  state.cursors.resize(at(mix->cursors));
  state.placed_in.assign(mix->lanes.size(), -1);
  state.idle.resize(at(mix->idles));
  for (const Mix::Level& level : mix->levels) {
    state.cursors[at(level.weight_cursor)] = motion::Cursor(&level.weight_curve, shapes, level.weight);
    for (int n = level.first_own; n < level.end_own; ++n) {
      const Mix::Strand& own = mix->strands[at(n)];
      state.cursors[at(level.own_cursor + n - level.first_own)] = motion::Cursor(own.channel, shapes, rest[at(own.control)]);
    }
  }
}

void mix(const Mix& program, MixState& state, const motion::Shapes* shapes, std::span<const double> rest, show::Time t, show::Time life, double* control) noexcept {
  Mixer mixer(program, state, shapes, rest, t, life);
  for (const Mix::Level& level : program.levels) mixer.lay(level, control);
}

}  // namespace mien::perform
