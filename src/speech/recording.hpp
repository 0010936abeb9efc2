// A sound as speech work wants it: one channel, at the rate of the models, with its loudness frame by frame.
#pragma once
#include <optional>
#include <span>
#include <vector>

#include "show/finding.hpp"
#include "show/time.hpp"

namespace mien::speech {

inline constexpr int kSpeechRate_hz = 16000;

/// Mono samples, finite and within -1..1.
struct Recording {
  int rate_hz = kSpeechRate_hz;
  std::vector<float> samples;
  show::Time length() const noexcept { return rate_hz > 0 ? show::from_seconds(static_cast<double>(samples.size()) / rate_hz) : show::Time{0}; }
};

/// Interleaved samples of any number of channels, averaged to one and brought to kSpeechRate_hz by a windowed sinc (Kaiser, beta 8: what
/// would alias is 80 dB down; it passes 90 % of the lower Nyquist frequency). channels or rate_hz less than 1: empty. What is not finite is silence.
Recording recording_of(std::span<const float> interleaved, int channels, int rate_hz);

/// The samples within a range of its time; empty where that lies outside.
Recording part_of(const Recording& recording, show::Range range);

/// Level of every 10 ms frame in dB below full scale (a full-scale sine is -3); digital silence is -120.
inline constexpr double kFrame_s = 0.01;
std::vector<float> levels_db(const Recording& recording);

/// Level that parts voice from pauses: between the quiet tenth and the loud tenth of the frames, nearer to the quiet.
double pause_level_db(std::span<const float> levels_db);
/// Stretches of at least `least` below that level, in rising time.
std::vector<show::Range> pauses(std::span<const float> levels_db, show::Time least);

/// Why there is nothing to work on: no samples, silence, or a noise whose level never moves as a voice's does. `file` names it.
std::optional<show::Finding> no_voice(const Recording& recording, std::span<const float> levels_db, const std::string& file);

}  // namespace mien::speech
