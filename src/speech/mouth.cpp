#include "speech/mouth.hpp"

#include <algorithm>
#include <cmath>

#include "speech/recording.hpp"

namespace mien::speech {
namespace {

using show::Time;

constexpr double kReach_ms = 500;         // beyond it no segment has a say
constexpr double kFreeShare = 0.08;       // of its dominance, over a control that a viseme leaves free
constexpr double kPause_s = 0.16;         // a silence longer than this lets the mouth go to rest
constexpr double kOnset_s = 0.09;         // before its first phone the mouth begins to move, and after the last it comes to rest
constexpr double kShortVowel_s = 0.06;    // vowels shorter than this open less
constexpr double kEmphasis_per_db = 0.03, kEmphasisMost = 0.3;
constexpr double kHold_begin_s = 0.008, kHold_least_s = 0.02;

struct Spot { double centre_ms, half_ms; int viseme; double gain; };  // one viseme at its time
struct Hold { double begin_s, end_s; int viseme; };

double ms(Time t) { return show::to_seconds(t) * 1e3; }

double loudness_of(std::span<const float> levels, show::Range range) {
  double most = -120;
  for (auto n = static_cast<std::size_t>(std::max(0.0, show::to_seconds(range.begin) / kFrame_s)); n < levels.size() && static_cast<double>(n) * kFrame_s < show::to_seconds(range.end); ++n)
    most = std::max<double>(most, levels[n]);
  return most;
}

double median_of(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

class MouthLine {
 public:
  MouthLine(const Alignment& a, const VisemeTable& table, std::span<const float> levels, const Manner& manner) : table_(table), manner_(manner) {
    std::vector<double> loud;
    if (!levels.empty())
      for (const auto& phone : a.phones)
        if (is_vowel(phone.label)) loud.push_back(loudness_of(levels, phone.range));
    const double usual = median_of(loud);
    Time last{0};
    rest(Time{-1'000'000'000}, a.phones.front().range.begin, true);
    for (const auto& phone : a.phones) {
      if (last > Time{0} && show::to_seconds(phone.range.begin - last) >= kPause_s) rest(last, phone.range.begin, false);
      add(phone, levels.empty() ? 0 : loudness_of(levels, phone.range) - usual);
      last = phone.range.end;
    }
    rest(last, last + Time{2'000'000'000}, true);
    begin_s = show::to_seconds(a.phones.front().range.begin) - 0.25;
    end_s = show::to_seconds(last) + 0.3;
  }

  double begin_s = 0, end_s = 0;

  // The blended value of one control, and where it is held.
  void sample(const Ability& ability, std::vector<double>& curve, std::vector<bool>& held) const {
    std::vector<Segment> segments;
    for (const auto& spot : spots_) {
      const auto& viseme = table_.visemes[static_cast<std::size_t>(spot.viseme)];
      const Target* target = target_of(viseme, ability.control);
      Segment s{spot.centre_ms, target ? target->value : ability.rest, viseme.dominance, spot.half_ms};
      if (target && !target->held) s.target = ability.rest + (s.target - ability.rest) * spot.gain * manner_.amount;
      if (!target && spot.viseme != 0) s.dominance.alpha *= kFreeShare;
      segments.push_back(s);
    }
    const auto count = static_cast<std::size_t>((end_s - begin_s) / kCurveStep_s) + 1;
    curve.resize(count), held.assign(count, false);
    std::size_t first = 0;
    for (std::size_t n = 0; n < count; ++n) {
      const double t = (begin_s + static_cast<double>(n) * kCurveStep_s) * 1e3;
      while (first < segments.size() && segments[first].centre_ms + segments[first].half_ms < t - kReach_ms) ++first;
      std::size_t end = first;
      while (end < segments.size() && segments[end].centre_ms - segments[end].half_ms <= t + kReach_ms) ++end;
      curve[n] = std::clamp(blend(std::span(segments).subspan(first, end - first), t, ability.rest), ability.min, ability.max);
    }
    for (const auto& hold : holds_) {
      const Target* target = target_of(table_.visemes[static_cast<std::size_t>(hold.viseme)], ability.control);
      if (!target || !target->held) continue;
      put(*target, hold, ability, curve, held);
    }
  }

 private:
  static const Target* target_of(const Viseme& viseme, const std::string& control) {
    const auto found = std::find_if(viseme.targets.begin(), viseme.targets.end(), [&](const Target& t) { return t.control == control; });
    return found == viseme.targets.end() ? nullptr : &*found;
  }

  void rest(Time from, Time to, bool outer) {
    const double margin = std::min(kOnset_s * 1e3, (ms(to) - ms(from)) / 3);
    const double begin = ms(from) + margin, end = ms(to) - (outer && from > Time{0} ? 0 : margin);
    spots_.push_back({(begin + end) / 2, std::max(0.0, (end - begin) / 2), 0, 1});
  }

  void add(const Phone& phone, double louder_db) {
    const int index = phone_index(phone.label);
    if (index < 0) return;
    const double begin = ms(phone.range.begin), length = ms(phone.range.end) - begin;
    double gain = 1;
    if (is_vowel(phone.label)) {
      gain += std::clamp(louder_db * kEmphasis_per_db, -kEmphasisMost, kEmphasisMost) * manner_.emphasis;
      gain *= std::clamp(length / (kShortVowel_s * 1e3), 0.6, 1.0);
    }
    const auto& parts = table_.phones[static_cast<std::size_t>(index)];
    for (const auto& part : parts) spots_.push_back({begin + part.at * length, parts.size() == 1 ? std::max(0.0, length / 2 - 60) : 0, part.viseme, gain});
    for (const auto& part : parts) {
      const auto& targets = table_.visemes[static_cast<std::size_t>(part.viseme)].targets;
      if (std::none_of(targets.begin(), targets.end(), [](const Target& t) { return t.held; })) continue;
      // A stop's closure ends with its burst, well before the phone does; m, f and v last almost to their end.
      const double share = is_stop(phone.label) ? 0.65 : 0.8, from = show::to_seconds(phone.range.begin) + kHold_begin_s;
      holds_.push_back({from, std::max(from + kHold_least_s, show::to_seconds(phone.range.begin) + share * length * 1e-3), part.viseme});
    }
  }

  // The target throughout the hold, and a way to it on either side that takes as long as the control needs.
  void put(const Target& target, const Hold& hold, const Ability& ability, std::vector<double>& curve, std::vector<bool>& held) const {
    const auto index = [&](double s) { return static_cast<std::ptrdiff_t>(std::lround((s - begin_s) / kCurveStep_s)); };
    const auto last = static_cast<std::ptrdiff_t>(curve.size()) - 1;
    const auto begin = std::clamp<std::ptrdiff_t>(index(hold.begin_s), 0, last), end = std::clamp<std::ptrdiff_t>(index(hold.end_s), begin, last);
    for (auto n = begin; n <= end; ++n) curve[static_cast<std::size_t>(n)] = target.value, held[static_cast<std::size_t>(n)] = true;
    const auto lean = [&](std::ptrdiff_t from, std::ptrdiff_t step) {
      const double away = std::abs(target.value - curve[static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(from + 8 * step, 0, last))]);
      const double needed_s = std::max({0.04, 1.5 * away / ability.per_s, std::sqrt(6 * away / ability.per_s2)});
      const auto ticks = static_cast<std::ptrdiff_t>(needed_s / kCurveStep_s);
      for (std::ptrdiff_t k = 1; k < ticks; ++k) {
        const auto n = from + k * step;
        if (n < 0 || n > last || held[static_cast<std::size_t>(n)]) break;
        const double x = static_cast<double>(k) / static_cast<double>(ticks), w = 1 - x * x * (3 - 2 * x);
        auto& value = curve[static_cast<std::size_t>(n)];
        value += w * (target.value - value);
      }
    };
    lean(begin, -1), lean(end, 1);
  }

  const VisemeTable& table_;
  const Manner& manner_;
  std::vector<Spot> spots_;
  std::vector<Hold> holds_;
};

}  // namespace

std::vector<Track> mouth_of(const Alignment& alignment, const VisemeTable& table, std::span<const Ability> abilities, std::span<const float> levels, const Manner& manner) {
  std::vector<Track> tracks;
  if (alignment.phones.empty()) return tracks;
  const auto moved = controls_of(table);
  const MouthLine line(alignment, table, levels, manner);
  std::vector<double> curve;
  std::vector<bool> held;
  for (const auto& ability : abilities) {
    if (std::find(moved.begin(), moved.end(), ability.control) == moved.end()) continue;
    line.sample(ability, curve, held);
    Track track{ability.control, keys_of(curve, held, kCurveStep_s, ability)};
    for (auto& key : track.keys) key.time += show::from_seconds(line.begin_s) - ability.lead;
    tracks.push_back(std::move(track));
  }
  return tracks;
}

}  // namespace mien::speech
