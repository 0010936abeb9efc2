// Motion against sound. ITU-R BT.1359-1 (1998), "Relative timing of sound and vision for broadcasting": a sound that comes more than
// 45 ms before its picture or 125 ms after it is noticed, and beyond 90 ms before or 185 ms after it isn't accepted. The picture here is a
// closure: lips or upper lids that meet on a key, as p, b, m and blinks have them.
#pragma once
#include "perform/study.hpp"

namespace mien::perform {

inline constexpr double kNoticedEarly_ms = 45, kNoticedLate_ms = 125;  ///< of the sound, BT.1359-1
inline constexpr double kRefusedEarly_ms = 90, kRefusedLate_ms = 185;

/// How far ahead of show time the tick is performed, so that motion is seen when its sound is heard: the link's latency and the middle of
/// the servos' responses. One for the whole head: servos that differ from the middle by d are seen d early or late.
show::Time motion_lead(const show::Rig& rig) noexcept;

/// Adds one shortfall, out_of_sync, for every closure on a key in [part.begin, part.end] that is seen outside of what goes unnoticed, by
/// its worst actuator. `study` has the late arrivals already; a closure that never arrives is in it and is not judged here. Keys of layers and of
/// the clips that they place count where with everything mixed the part is shut at the key and not before; those that a layer covers don't.
void add_out_of_sync(const Plan& plan, show::Range part, Study& study);

}  // namespace mien::perform
