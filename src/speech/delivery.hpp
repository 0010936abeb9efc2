// What the rest of the face does while a line is spoken: brows and head accent stressed words, blinks fall at the ends of phrases, the gaze shifts in
// pauses. A pure function of the line, the face and a seed.
//
// Sources, and what they give (from memory, where nothing else is said):
//   brows    raises go with accents, and begin 60 ms before them on average (Flecha-Garcia 2010, Speech Communication 52).
//   head     nods accent stressed words, with their peak on the stressed vowel (Hadar et al. 1983; McClave 2000).
//   blinks   of speakers fall into pauses at the ends of phrases (Condon & Ogston 1967; Nakano & Kitazawa 2010). One an end at most, and none within half a
//            second of another; closing takes half as long as opening (Sforza et al. 2008, as perform/idle.hpp).
//   gaze     turns away in a pause as the next phrase is begun, and is back by its end (Kendon 1967); glances have sizes about exponential with a mean of
//            6.9 degrees (Lee, Badler & Badler 2002); a saccade lasts 21 ms and 2.2 ms a degree (Carpenter 1988).
// How large brows and nods are, how long they last and which of several accents get one (the stronger, the likelier) are our own choice.
#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include "show/finding.hpp"
#include "speech/mouth.hpp"
#include "speech/prosody.hpp"

namespace mien::speech {

/// How much of each: 0 none, 1 as people have it, up to kMostDelivery. The seed: another number, other choices.
struct Delivery {
  double brows = 0, head = 0, blinks = 0, gaze = 0;
  std::uint32_t seed = 1;
  bool any() const noexcept { return brows > 0 || head > 0 || blinks > 0 || gaze > 0; }
  friend bool operator==(const Delivery&, const Delivery&) = default;
};
inline constexpr double kMostDelivery = 2;

/// A control that takes part in a movement: value = rest + amount * per_unit; and how fast amounts may change, by its servos.
struct Mover {
  std::string control;
  double rest = 0, per_unit = 0;
  double per_s = 1e9, per_s2 = 1e12;
  show::Time lead{0};  ///< as Ability::lead
};
struct Face {
  std::vector<Mover> brows;       ///< by the share of raised
  std::vector<Mover> nod;         ///< by degrees up
  std::vector<Mover> lids;        ///< by the share of shut
  std::vector<Mover> yaw, pitch;  ///< of the gaze, by degrees
  double most_yaw_deg = 0, most_pitch_deg = 0;
};

/// Tracks from rest to rest, counted from the start of the sound, for a layer that adds. `phrases` and `accents` of the line (speech/prosody.hpp). What the face has no
/// control for is left out and told in `notes`, once for each that was asked for.
std::vector<Track> delivery_of(const std::vector<Phrase>& phrases, const std::vector<Accent>& accents, const Face& face, const Delivery& delivery, show::Findings* notes = nullptr);

}  // namespace mien::speech
