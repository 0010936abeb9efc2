// How loud a sound is to people: ITU-R BS.1770-4 and EBU R 128 (Tech 3341).
//
// Each channel goes through the K weighting, a shelf that lifts what a head lifts (+4 dB above some 1.7 kHz) and a high pass at 38 Hz; the filters are the
// analogue ones that BS.1770's coefficients for 48 kHz stand for, made anew for the sound's own rate by the bilinear transform. Loudness is -0.691 + 10 log10 of the sum of the
// channels' mean squares. Momentary: over 400 ms, here every 100 ms. Integrated: of all such blocks above -70 LUFS those no more than 10 LU below
// their own mean.
#pragma once
#include <vector>

#include "sound/wave.hpp"

namespace mien::sound {

inline constexpr double kSilent_lufs = -70;  ///< and all below it, which the standard gates

struct Loudness {
  double integrated_lufs = kSilent_lufs;
  double most_momentary_lufs = kSilent_lufs;
  std::vector<float> momentary_lufs;  ///< of the 400 ms that end at 0.4 s, 0.5 s and so on
  /// Of the 400 ms that end there; kSilent_lufs before the first and after the last.
  double momentary_at(double seconds) const noexcept;
  /// Of a part of the sound, by the blocks that lie wholly in it; its momentary_lufs are empty.
  Loudness of_part(double begin_s, double end_s) const;
};

/// One channel counts once (BS.1770 has no other rule for mono). A sound shorter than 400 ms has no loudness; a Wave is finite by its own promise.
Loudness loudness_of(const Wave& wave);

}  // namespace mien::sound
