// Life without keys: blinks, glances, small moves of brows and head, as a pure function of seed and time, so that a seek finds what playing
// finds. Randomness is counted, not drawn: the n-th number of a stream is a hash of seed, stream and n (SplitMix64, Steele, Lea & Flood 2014).
//
// Sources, and what they give:
//   blinks      17, 26 and 4.5 a minute at rest, speaking and reading; intervals log-normal (Bentivoglio et al. 1997). Listening has the rate of
//               rest (no source). 100 to 400 ms long (Stern et al. 1984); closing 40 to 47 % faster than opening (Sforza et al. 2008).
//   fixations   200 to 350 ms in general viewing, 225 ms reading (Rayner 1998, 2009).
//   saccades    last 2.2 ms per degree and 21 ms (Carpenter 1988); the velocity rises, stands and falls so that its peak is 1.4 of the mean,
//               which meets the peaks measured at 5, 15 and 30 degrees (PMC6143243).
//   glances     sizes about exponential with a mean of 6.9 degrees (Lee, Badler & Badler 2002, from memory); how much of the time a face
//               looks at the other: 75 % listening, 41 % speaking (Argyle & Cook 1976, from memory).
// Widths of distributions, drifts and nods are our own choice. Servos that can't follow a face are given the time that they need: their
// saccades and blinks are longer, and never asked for in vain.
#pragma once
#include <cstdint>
#include <vector>

#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::perform {

/// What of a rig lives, found by the roles of its axes. Compiled once, then only read.
struct Idle {
  show::IdleLife life;
  struct Moved { int slot; double rest, per_unit; };  ///< value = rest + amount * per_unit; slot in `controls`
  std::vector<Moved> lids;                ///< by the share of shut
  std::vector<Moved> yaw, pitch;          ///< of the gaze, by degrees; left and up
  std::vector<Moved> brows;               ///< by the share of raised
  std::vector<Moved> neck_yaw, neck_pitch, neck_roll;  ///< by degrees
  double most_yaw_deg = 0, most_pitch_deg = 0;         ///< of a glance
  /// What the rig's servos can follow: a saccade of A degrees lasts at least A / gaze_deg_s and the root of A / gaze_deg_s2, a lid closes in no
  /// less than close_s. Without servos to ask, a face's own figures hold.
  double gaze_deg_s = 1e9, gaze_deg_s2 = 1e12, close_s = 0;
  std::vector<int> controls;              ///< indices of the controls that it has a value for
};
/// `map`: of the rig, to ask what its servos can follow; null: a face's own figures.
struct RigMap;
Idle idle_of(const show::Rig& rig, const show::IdleLife& life, const RigMap* map = nullptr);

/// One event of a stream and the time until the next: [begin, end).
struct Beat {
  std::int64_t block = INT64_MIN;  ///< INT64_MIN: nothing found yet
  int index = 0;
  show::Time begin{0}, end{0};
  double scale = 1;  ///< of the block's intervals, so that they fill it
};

/// A saccade and the fixation after it.
struct Glance : Beat {
  double duration_s = 0;
  double from_yaw = 0, from_pitch = 0, yaw = 0, pitch = 0;  ///< degrees
  double focus_yaw = 0, focus_pitch = 0;
};

/// What was found last, kept so that the next tick is cheap; never what the result depends on.
struct IdleState {
  Beat blink, nod, flash;
  Glance glance;
};

/// value[slot] becomes what life has for the control idle.controls[slot], rest included. About 0.1 us.
void live(const Idle& idle, IdleState& state, show::Time t, double* value) noexcept;

/// The parts, for tests and for whoever draws them.
Beat blink_at(const show::IdleLife& life, Beat known, show::Time t) noexcept;   ///< an unlimited interval where blinks are 0
double blink_shut(const Idle& idle, const Beat& blink, show::Time t) noexcept;  ///< 0 open to 1 shut
Glance glance_at(const Idle& idle, const Glance& known, show::Time t) noexcept;
struct Direction { double yaw_deg, pitch_deg; };
Direction direction_at(const Glance& glance, show::Time t) noexcept;

/// The n-th output of SplitMix64 started at `seed`, n from 1.
std::uint64_t splitmix(std::uint64_t seed, std::uint64_t n) noexcept;

}  // namespace mien::perform
