// Where something in a sound begins: a syllable, a beat, a click.
//
// Method: Klapuri, "Sound onset detection by applying psychoacoustic knowledge" (ICASSP 1999): in a few bands the rise of the logarithm of the
// energy, not of the energy itself, for a rise is heard relative to what is there already, and a relative rise is greatest where a sound begins rather
// than where it is loudest. Bands and thresholds here are our own, chosen on what the tests hold: three bands (edges 400 and 2500 Hz, one-pole filters),
// energy over 20 ms, at least 8 dB more within 10 ms, no more than 40 dB below the loudest, no two within 60 ms.
#pragma once
#include <vector>

#include "sound/wave.hpp"

namespace mien::sound {

/// Onsets in rising time, from the sound's first sample, to a millisecond. A sound that is there from its first sample begins at 0. Empty or silent: none.
/// One pass, some 6 ns a sample; `progress` as in load: where it says no, what was found so far.
std::vector<show::Time> onsets(const Wave& wave, const Progress& progress = {});

}  // namespace mien::sound
