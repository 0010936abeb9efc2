#include "speech/delivery.hpp"

#include <algorithm>
#include <cmath>

namespace mien::speech {
namespace {

using show::Time;

constexpr double kBrowLead_s = 0.06, kBrowRise_s = 0.14, kBrowFall_s = 0.3, kBrowReach = 0.45;
constexpr double kNodDown_s = 0.16, kNodUp_s = 0.28, kNod_deg = 4;
constexpr double kBlinkAfter_s = 0.04, kClose_s = 0.08, kShut_s = 0.04, kOpen_s = 0.16, kBlinkGap_s = 0.5;
constexpr double kGlanceAfter_s = 0.08, kGlanceMean_deg = 6.9, kGlanceLeast_deg = 2, kSaccade_s = 0.021, kSaccadePerDeg_s = 0.0022;
constexpr double kAwayLeast_s = 0.5, kAwayMost_s = 1.4;

enum Stream : std::uint64_t { kBrowStream = 11, kNodStream, kBlinkStream, kGlanceStream };

// Counted, not drawn, as all of Mien's randomness: the n-th number of a stream in (0, 1), by SplitMix64 (Steele, Lea & Flood 2014).
double uniform(std::uint32_t seed, std::uint64_t stream, std::uint64_t n) noexcept {
  std::uint64_t z = (std::uint64_t{seed} << 32 ^ stream << 24) + (n + 1) * 0x9E3779B97F4A7C15u;
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  return (static_cast<double>((z ^ (z >> 31)) >> 11) + 0.5) * 0x1p-53;
}

// Out to an amount by a time, there for a while, and back.
struct Gesture { double begin_s, out_s, stay_s, back_s, amount; };

// A smooth segment over d in t moves at most at 1.5 d / t and accelerates by at most 6 d / t^2 (speech/mouth.hpp).
double time_for(const Mover& mover, double amount) {
  const double way = std::abs(amount);
  return std::max(1.5 * way / mover.per_s, std::sqrt(6 * way / mover.per_s2));
}

// Gestures in rising time as keys of every control; one that would begin before the last is over, or that does nothing, is left out. It reaches its amount when it
// was meant to where servos allow that, by beginning earlier.
void perform(const std::vector<Gesture>& gestures, const std::vector<Mover>& movers, std::vector<Track>& tracks) {
  for (const auto& mover : movers) {
    Track track{mover.control, {}};
    double over_s = -1e9;
    for (const auto& g : gestures) {
      if (g.amount == 0 || mover.per_unit == 0) continue;
      const double needed = time_for(mover, g.amount), out_s = std::max(g.out_s, needed), back_s = std::max(g.back_s, needed);
      const double there_s = g.begin_s + g.out_s, begin_s = there_s - out_s;
      if (begin_s < over_s) continue;
      const double value = mover.rest + g.amount * mover.per_unit;
      const auto key = [&](double at_s, double v) { track.keys.push_back({show::from_seconds(at_s) - mover.lead, v, show::kSmooth}); };
      key(begin_s, mover.rest), key(there_s, value);
      if (g.stay_s > 0) key(there_s + g.stay_s, value);
      over_s = there_s + g.stay_s + back_s + 0.01;
      key(over_s - 0.01, mover.rest);
    }
    if (!track.keys.empty()) tracks.push_back(std::move(track));
  }
}

std::vector<Gesture> raises(const std::vector<Accent>& accents, const Delivery& d) {
  std::vector<Gesture> all;
  for (std::size_t n = 0; n < accents.size(); ++n) {
    const auto& a = accents[n];
    if (uniform(d.seed, kBrowStream, n) > a.strength) continue;
    const double reach = d.brows * kBrowReach * (0.5 + 0.5 * a.strength);
    all.push_back({show::to_seconds(a.vowel.begin) - kBrowLead_s, kBrowRise_s, show::to_seconds(a.vowel.length()), kBrowFall_s, std::min(reach, 1.0)});
  }
  return all;
}

std::vector<Gesture> nods(const std::vector<Accent>& accents, const Delivery& d) {
  std::vector<Gesture> all;
  for (std::size_t n = 0; n < accents.size(); ++n) {
    const auto& a = accents[n];
    const double peak_s = show::to_seconds(a.vowel.begin + a.vowel.length() / 2), spread = 0.75 + 0.5 * uniform(d.seed, kNodStream, n);
    all.push_back({peak_s - kNodDown_s, kNodDown_s, 0, kNodUp_s, -d.head * kNod_deg * a.strength * spread});
  }
  return all;
}

// More than one blink a phrase end is nobody's; less than all of it, and some phrases end without one.
std::vector<Gesture> blinks(const std::vector<Phrase>& phrases, const Delivery& d) {
  std::vector<Gesture> all;
  double last_s = -1e9;
  for (std::size_t n = 0; n < phrases.size(); ++n) {
    const double end_s = show::to_seconds(phrases[n].range.end) + kBlinkAfter_s;
    if (uniform(d.seed, kBlinkStream, n) >= d.blinks || end_s - last_s < kBlinkGap_s) continue;
    all.push_back({end_s, kClose_s, kShut_s, kOpen_s, 1}), last_s = end_s;
  }
  return all;
}

struct Glances { std::vector<Gesture> yaw, pitch; };
Glances glances(const std::vector<Phrase>& phrases, const Face& face, const Delivery& d) {
  Glances all;
  for (std::size_t n = 0; n + 1 < phrases.size(); ++n) {
    const auto random = [&](std::uint64_t k) { return uniform(d.seed, kGlanceStream, 4 * n + k); };
    const double begin_s = show::to_seconds(phrases[n].range.end) + kGlanceAfter_s;
    const double size = std::max(kGlanceLeast_deg, -kGlanceMean_deg * std::log(random(0))) * d.gaze, turn = 2 * random(1) - 1;
    const double yaw = std::clamp((random(2) < 0.5 ? -1 : 1) * size * std::sqrt(1 - 0.25 * turn * turn), -face.most_yaw_deg, face.most_yaw_deg);
    const double pitch = std::clamp(0.5 * size * turn, -face.most_pitch_deg, face.most_pitch_deg);
    const double saccade_s = kSaccade_s + kSaccadePerDeg_s * std::hypot(yaw, pitch);
    // Back before the phrase that it began is over.
    const double away_s = kAwayLeast_s + (kAwayMost_s - kAwayLeast_s) * random(3);
    const double back_by_s = show::to_seconds(phrases[n + 1].range.end), next_s = show::to_seconds(phrases[n + 1].range.begin);
    const double stay_s = std::max(0.0, std::min(next_s + away_s, back_by_s) - 2 * saccade_s - begin_s);
    all.yaw.push_back({begin_s, saccade_s, stay_s, saccade_s, yaw});
    all.pitch.push_back({begin_s, saccade_s, stay_s, saccade_s, pitch});
  }
  return all;
}

void tell(show::Findings* notes, const char* what, const char* option, const char* roles) {
  if (notes) notes->push_back({show::Severity::note, "", option, std::string(what) + " are left out: the rig moves none", std::string("Give an axis the role ") + roles + ", or set it to 0."});
}

}  // namespace

std::vector<Track> delivery_of(const std::vector<Phrase>& phrases, const std::vector<Accent>& accents, const Face& face, const Delivery& d, show::Findings* notes) {
  std::vector<Track> tracks;
  if (d.brows > 0) face.brows.empty() ? tell(notes, "Brows", "brows", "brow_raise_left or brow_inner_left, and the right ones") : perform(raises(accents, d), face.brows, tracks);
  if (d.head > 0) face.nod.empty() ? tell(notes, "Nods of the head", "head", "neck_pitch") : perform(nods(accents, d), face.nod, tracks);
  if (d.blinks > 0) face.lids.empty() ? tell(notes, "Blinks", "blinks", "lid_upper_left, lid_upper_right or lid_upper") : perform(blinks(phrases, d), face.lids, tracks);
  if (d.gaze > 0) {
    if (face.yaw.empty() && face.pitch.empty()) tell(notes, "Glances", "gaze", "eye_yaw_left and eye_yaw_right");
    const auto all = glances(phrases, face, d);
    perform(all.yaw, face.yaw, tracks), perform(all.pitch, face.pitch, tracks);
  }
  return tracks;
}

}  // namespace mien::speech
