// Alignment in languages that the English model does not know: a synthetic voice speaks the text, and its times are carried over to the
// recording by dynamic time warping of their cepstra. After Malfrere & Dutoit 1997, "High-quality speech synthesis for phonetic speech segmentation".
#pragma once
#include "speech/align.hpp"
#include "speech/speaker.hpp"

namespace mien::speech {

/// The longest sound, or line with a time of its own, that is warped at once.
inline constexpr double kMostWarped_s = 180;

/// As align(), with `language` as espeak-ng names it and its program's file. Phones are ARPABET by what looks most like them. Confidences are 0.5 throughout:
/// nothing measures them here, and a wrong text isn't noticed beyond its length (less than a third of what it should last, or more than three times).
show::Result<Alignment> align_spoken(const Recording& recording, std::span<const Line> lines, const std::filesystem::path& program, const std::string& language,
                                     const std::string& file = {}, const Progress& progress = {});

}  // namespace mien::speech
