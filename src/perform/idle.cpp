#include "perform/idle.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace mien::perform {
namespace {

using show::IdleLife;
using show::Time;
using Manner = IdleLife::Manner;

enum Stream : std::uint64_t { kBlinkStream = 1, kNodStream, kFlashStream, kGlanceStream, kDriftStream, kLengthStream = 255 };

constexpr std::uint64_t kStep = 0x9E3779B97F4A7C15u;
constexpr Time kNever = Time::max() / 4;

std::uint64_t scrambled(std::uint64_t z) noexcept {
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  return z ^ (z >> 31);
}

std::uint64_t key_of(std::uint32_t seed, std::uint64_t stream, std::int64_t block) noexcept {
  return splitmix(splitmix(std::uint64_t{seed} << 8 | stream, 1), static_cast<std::uint64_t>(block) + 1);
}

// In (0, 1): never either end, so that its logarithm is finite.
double uniform(std::uint64_t key, std::uint64_t n) noexcept { return (static_cast<double>(splitmix(key, n + 1) >> 11) + 0.5) * 0x1p-53; }

// Box & Muller 1958; uses the numbers 2n and 2n + 1.
double normal(std::uint64_t key, std::uint64_t n) noexcept {
  return std::sqrt(-2 * std::log(uniform(key, 2 * n))) * std::cos(2 * std::numbers::pi * uniform(key, 2 * n + 1));
}

// Of mean 1.
double log_normal(std::uint64_t key, std::uint64_t n, double sigma) noexcept { return std::exp(sigma * normal(key, n) - 0.5 * sigma * sigma); }

// `b` is the length of a rhythm, which is longer than a second. NOLINTNEXTLINE(clang-analyzer-core.DivideZero)
std::int64_t floor_div(std::int64_t a, std::int64_t b) noexcept { return a / b - (a % b < 0); }
Time seconds(double s) noexcept { return show::from_seconds(s); }

// Events without end, in blocks of so many: the block of a time is known at once, and within it the intervals are drawn anew and stretched by a few
// per cent so that they fill it. Thus any time is found without counting from the beginning, and the rate is exact.
struct Rhythm {
  std::uint32_t seed;
  std::uint64_t stream;
  double mean_s, sigma, least_s;
  static constexpr int kCount = 64;

  Time length() const noexcept { return seconds(kCount * mean_s); }
  // Where blocks begin, so that shows don't all begin with an event.
  Time phase() const noexcept { return Time{static_cast<std::int64_t>(uniform(key_of(seed, stream, -1'000'003), 0) * static_cast<double>(length().count()))}; }
  double interval_s(std::int64_t block, int i) const noexcept {
    return std::max(least_s, mean_s * log_normal(key_of(seed, stream, block), static_cast<std::uint64_t>(i), sigma));
  }
  void enter(Beat& beat, int i) const noexcept {
    beat.index = i;
    beat.begin = i == 0 ? phase() + length() * beat.block : beat.end;
    beat.end = i + 1 == kCount ? phase() + length() * (beat.block + 1) : beat.begin + seconds(beat.scale * interval_s(beat.block, i));
  }
  Beat at(Beat beat, Time t) const noexcept {
    if (beat.block != INT64_MIN && t >= beat.begin && t < beat.end) return beat;
    const std::int64_t block = floor_div((t - phase()).count(), length().count());
    if (block != beat.block || t < beat.begin) {
      beat.block = block;
      double sum = 0;
      for (int i = 0; i < kCount; ++i) sum += interval_s(block, i);
      beat.scale = show::to_seconds(length()) / sum;
      enter(beat, 0);
    }
    while (t >= beat.end && beat.index + 1 < kCount) enter(beat, beat.index + 1);
    return beat;
  }
};

double usual_blinks_per_min(Manner manner) noexcept { return manner == Manner::speaking ? 26 : manner == Manner::reading ? 4.5 : 17; }

// At least one a day: a share next to nothing would make blocks longer than time can be counted.
Rhythm blinks_of(const IdleLife& life) noexcept { return {life.seed, kBlinkStream, std::min(86'400.0, 60 / (usual_blinks_per_min(life.manner) * life.blinks)), 0.6, 0.5}; }

// Smooth noise in [-1, 1]: random values every `every_s`, joined by quintics, which start and end at rest.
double drift(std::uint32_t seed, std::uint64_t number, double every_s, Time t) noexcept {
  const std::int64_t every = seconds(every_s).count(), cell = floor_div(t.count(), every);
  const double u = static_cast<double>(t.count() - cell * every) / static_cast<double>(every);
  const std::uint64_t key = key_of(seed, kDriftStream + number, 0);
  const auto value = [&](std::int64_t n) { return 2 * uniform(key, static_cast<std::uint64_t>(n) & 0x7FFFFFFFFFFFFFFFu) - 1; };
  const double s = u * u * u * (10 + u * (6 * u - 15));
  return value(cell) + s * (value(cell + 1) - value(cell));
}

void set(const std::vector<Idle::Moved>& parts, double amount, double* value) noexcept {
  for (const auto& part : parts) value[part.slot] = part.rest + amount * part.per_unit;
}

// ------------------------------------------------------------------------------------------------------------------------ gaze
constexpr int kFixations = 48;  // in a block; the last of them looks home, so that a block knows where it begins
constexpr double kFixation_s = 0.3, kReadingFixation_s = 0.225, kFixationSigma = 0.35;
constexpr double kUsualSaccade_s = 0.026;
constexpr double kGlance_deg = 6.9, kMostGlance_deg = 20;

struct Habit { double shift, home; };  // the chance that a fixation begins a new focus, and that this is home
Habit habit_of(Manner manner) noexcept {
  if (manner == Manner::listening) return {0.10, 0.75};
  if (manner == Manner::speaking) return {0.15, 0.41};
  return {0.12, 0.3};
}

class Gazing {
 public:
  explicit Gazing(const Idle& idle) noexcept : idle_(idle), reading_(idle.life.manner == Manner::reading), habit_(habit_of(idle.life.manner)) {}

  Glance at(Glance glance, Time t) const noexcept {
    if (glance.block != INT64_MIN && t >= glance.begin && t < glance.end) return glance;
    const std::int64_t block = floor_div(t.count(), length().count());
    if (block != glance.block || t < glance.begin) glance = first_of(block);
    while (t >= glance.end && glance.index + 1 < kFixations) enter(glance, glance.index + 1);
    return glance;
  }

 private:
  double fixation_s() const noexcept { return reading_ ? kReadingFixation_s : kFixation_s; }
  Time length() const noexcept { return seconds(kFixations * (fixation_s() + kUsualSaccade_s)); }
  std::uint64_t key(std::int64_t block, int i) const noexcept { return key_of(idle_.life.seed, kGlanceStream, block * kFixations + i); }

  Glance first_of(std::int64_t block) const noexcept {
    Glance glance;
    glance.block = block - 1;
    aim(glance, kFixations - 1);  // home, wherever it came from
    glance.block = block;
    Glance look = glance;
    double saccades_s = 0, fixations_s = 0;
    for (int i = 0; i < kFixations; ++i) aim(look, i), saccades_s += look.duration_s, fixations_s += raw_s(block, i);
    glance.scale = std::max(0.2, (show::to_seconds(length()) - saccades_s) / fixations_s);
    enter(glance, 0);
    return glance;
  }

  double raw_s(std::int64_t block, int i) const noexcept { return fixation_s() * std::clamp(log_normal(key(block, i), 4, kFixationSigma), 0.4, 2.5); }

  void enter(Glance& glance, int i) const noexcept {
    const Time before = glance.end;
    aim(glance, i);
    glance.index = i;
    glance.begin = i == 0 ? length() * glance.block : before;
    glance.end = i + 1 == kFixations ? length() * (glance.block + 1) : glance.begin + seconds(glance.duration_s + glance.scale * raw_s(glance.block, i));
  }

  // Turns the glance to fixation i of its block.
  void aim(Glance& g, int i) const noexcept {
    const std::uint64_t k = key(g.block, i);
    if (reading_) read(g, i);
    else if (i + 1 == kFixations) g.focus_yaw = g.focus_pitch = 0;
    else if (uniform(k, 0) < habit_.shift) focus(g, k);
    g.from_yaw = g.yaw, g.from_pitch = g.pitch;
    g.yaw = std::clamp(idle_.life.gaze * (g.focus_yaw + 0.8 * normal(k, 2)), -idle_.most_yaw_deg, idle_.most_yaw_deg);
    g.pitch = std::clamp(idle_.life.gaze * (g.focus_pitch + 0.5 * normal(k, 3)), -idle_.most_pitch_deg, idle_.most_pitch_deg);
    const double amplitude_deg = std::hypot(g.yaw - g.from_yaw, g.pitch - g.from_pitch);
    g.duration_s = std::max({0.021 + 0.0022 * amplitude_deg, amplitude_deg / idle_.gaze_deg_s, std::sqrt(amplitude_deg / idle_.gaze_deg_s2)});
  }

  void focus(Glance& g, std::uint64_t k) const noexcept {
    g.focus_yaw = g.focus_pitch = 0;
    if (uniform(k, 1) < habit_.home) return;
    const double size = std::min(kMostGlance_deg, -kGlance_deg * std::log(uniform(k, 2))), way = 2 * std::numbers::pi * uniform(k, 3);
    g.focus_yaw = size * std::cos(way), g.focus_pitch = 0.6 * size * std::sin(way);
  }

  // Along lines of eight fixations from left to right, a little lower from line to line. NOLINTNEXTLINE(bugprone-integer-division): the line's number is whole
  void read(Glance& g, int i) const noexcept { g.focus_yaw = 7 - 2.0 * (i % 8), g.focus_pitch = -8 - 0.8 * (i / 8); }

  const Idle& idle_;
  bool reading_;
  Habit habit_;
};

// The share of a saccade's way at the share u of its time: velocity rises, stands and falls evenly, its peak 1.4 of its mean.
double saccade_way(double u) noexcept {
  constexpr double kPeak = 1.4, kRamp = 1 - 1 / kPeak;
  if (u <= 0) return 0;
  if (u >= 1) return 1;
  if (u < kRamp) return kPeak * u * u / (2 * kRamp);
  if (u > 1 - kRamp) return 1 - kPeak * (1 - u) * (1 - u) / (2 * kRamp);
  return kPeak * (u - kRamp / 2);
}

double smooth_way(double u) noexcept { return u * u * u * (10 + u * (6 * u - 15)); }

}  // namespace

std::uint64_t splitmix(std::uint64_t seed, std::uint64_t n) noexcept { return scrambled(seed + n * kStep); }

Beat blink_at(const IdleLife& life, Beat known, Time t) noexcept {
  if (!(life.blinks > 0)) return {0, 0, -kNever, kNever, 1};
  return blinks_of(life).at(known, t);
}

double blink_shut(const Idle& idle, const Beat& blink, Time t) noexcept {
  if (!(idle.life.blinks > 0)) return 0;
  // 85 ms to close, 25 ms shut, 122 ms to open, give or take: the closing 1.435 times as fast, in the middle of what was measured.
  constexpr double kUsualClose_s = 0.085, kStaysShut_s = 0.025, kSlower = 1.435, kLongestBlink_s = 0.4;
  const auto key = key_of(idle.life.seed, kLengthStream, blink.block);
  const double usual_s = kUsualClose_s * std::clamp(std::exp(0.18 * normal(key, static_cast<std::uint64_t>(blink.index))), 0.6, 1.7);
  const double close_s = std::max(idle.close_s, std::min(usual_s, (kLongestBlink_s - kStaysShut_s) / (1 + kSlower)));
  const double open_s = kSlower * close_s, s = show::to_seconds(t - blink.begin);
  if (s < close_s) return smooth_way(s / close_s);
  if (s < close_s + kStaysShut_s) return 1;
  return s < close_s + kStaysShut_s + open_s ? 1 - smooth_way((s - close_s - kStaysShut_s) / open_s) : 0;
}

Glance glance_at(const Idle& idle, const Glance& known, Time t) noexcept { return Gazing(idle).at(known, t); }

Direction direction_at(const Glance& g, Time t) noexcept {
  const double way = saccade_way(show::to_seconds(t - g.begin) / g.duration_s);
  return {g.from_yaw + way * (g.yaw - g.from_yaw), g.from_pitch + way * (g.pitch - g.from_pitch)};
}

void live(const Idle& idle, IdleState& state, Time t, double* value) noexcept {
  const IdleLife& life = idle.life;
  const bool speaks = life.manner == Manner::speaking, listens = life.manner == Manner::listening;
  state.blink = blink_at(life, state.blink, t);
  set(idle.lids, blink_shut(idle, state.blink, t), value);

  if (!idle.yaw.empty() || !idle.pitch.empty()) {
    state.glance = glance_at(idle, state.glance, t);
    const Direction look = direction_at(state.glance, t);
    set(idle.yaw, look.yaw_deg, value), set(idle.pitch, look.pitch_deg, value);
  }

  // Brows drift a tenth of their way; who speaks raises them now and then.
  double raised = 0.06 * (1 + drift(life.seed, 0, 1.7, t));
  if (speaks) {
    state.flash = Rhythm{life.seed, kFlashStream, 4, 0.5, 1}.at(state.flash, t);
    const double u = show::to_seconds(t - state.flash.begin) / 0.6;
    if (u < 1) raised += 0.25 * (u < 0.4 ? smooth_way(u / 0.4) : 1 - smooth_way((u - 0.4) / 0.6));
  }
  for (std::size_t b = 0; b < idle.brows.size(); ++b) {
    const double own = 0.02 * (1 + drift(life.seed, 8 + b, 2.3, t));
    value[idle.brows[b].slot] = idle.brows[b].rest + life.brows * (raised + own) * idle.brows[b].per_unit;
  }

  // The head is never quite still; who listens nods.
  const double size = life.head * (speaks ? 1.6 : 1);
  double pitch_deg = 1.5 * drift(life.seed, 2, 2.1, t);
  if (listens && !idle.neck_pitch.empty()) {
    state.nod = Rhythm{life.seed, kNodStream, 6, 0.5, 1.5}.at(state.nod, t);
    const double u = show::to_seconds(t - state.nod.begin) / 1.1;
    if (u < 1) pitch_deg -= 1.5 * (1 - std::cos(4 * std::numbers::pi * u)) * (1 - 0.5 * u);
  }
  set(idle.neck_yaw, size * 2 * drift(life.seed, 1, 2.7, t), value);
  set(idle.neck_pitch, size * pitch_deg, value);
  set(idle.neck_roll, size * drift(life.seed, 3, 3.1, t), value);
}

}  // namespace mien::perform
