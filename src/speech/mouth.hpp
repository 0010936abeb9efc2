// Phones to keyframes: what the mouth's controls do while a line is spoken.
//
// Targets of visemes (speech/visemes.hpp) are blended by dominance (speech/dominance.hpp); what a viseme holds - lips that meet on p b m,
// the lip at the teeth on f v - is then put over the blend, whole, so that nothing takes it away. A vowel's amplitude follows its loudness
// (emphasis) and its length (rate). Of the curve only its turning points and the ends of its plateaus become keys, with smooth segments
// between: a smooth segment between two turning points that are d apart in dt moves at most at 1.5 d / dt and accelerates by at
// most 6 d / dt^2 (a cubic with level ends), so a turning point that the control can't come to is drawn back toward its neighbours until
// it can: a fast line is articulated less, not late. Held keys give way to nothing.
#pragma once
#include <span>
#include <string>
#include <vector>

#include "show/show.hpp"
#include "speech/alignment.hpp"
#include "speech/visemes.hpp"

namespace mien::speech {

/// What the limiter lets a control do, in its own units; infinite where nothing limits it.
struct Ability {
  std::string control;
  double per_s = 1e9, per_s2 = 1e12;
  double min = 0, max = 1, rest = 0;
  show::Time lead{0};  ///< how much sooner than its sound it has to be asked, beyond what the tick makes up for (perform/sync.hpp)
};

struct Manner {
  double amount = 1;    ///< of the whole mouth's movement, closures aside
  double emphasis = 1;  ///< of how much louder vowels open it more; 0: all alike
};

/// The keys of one control, in rising time, counted from the start of the sound; the first may come before it, for a mouth opens before it sounds.
/// They begin and end at rest.
struct Track {
  std::string control;
  std::vector<show::Keyframe> keys;
};

/// One track for each ability whose control the table moves, in their order; other controls are left alone. levels_db: of the sound
/// (speech/recording.hpp), for emphasis; may be empty. No phones: no keys. At most 3 keys for each phone or pause and track.
std::vector<Track> mouth_of(const Alignment& alignment, const VisemeTable& table, std::span<const Ability> abilities, std::span<const float> levels_db = {},
                            const Manner& manner = {});

inline constexpr double kCurveStep_s = 0.005;  ///< between samples of curves that become a mouth's keys

/// Keys at the turning points of a curve sampled every step_s from 0, and at the ends of plateaus, which can be followed; `held` (same length)
/// marks samples that may not change. Used for mouths from the sound alone, too.
std::vector<show::Keyframe> keys_of(std::span<const double> curve, const std::vector<bool>& held, double step_s, const Ability& ability);

}  // namespace mien::speech
