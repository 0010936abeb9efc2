#include "sound/mix.hpp"

#include <samplerate.h>

#include <algorithm>
#include <cmath>
#include <new>
#include <numbers>
#include <utility>

#include "show/text.hpp"

namespace mien::sound {
namespace {

struct Delete {
  void operator()(SRC_STATE* state) const noexcept { src_delete(state); }
};

bool convert(const Wave& from, Wave& to, const std::function<bool()>& go_on) {
  constexpr long kBlock = 1 << 15;
  const auto channels = static_cast<std::size_t>(from.channels);
  int error = 0;
  const std::unique_ptr<SRC_STATE, Delete> state(src_new(SRC_SINC_MEDIUM_QUALITY, from.channels, &error));
  if (!state) return false;
  SRC_DATA data{};
  data.src_ratio = static_cast<double>(kRate_hz) / from.rate_hz;
  to.samples.resize((static_cast<std::size_t>(static_cast<double>(from.frames()) * data.src_ratio) + 16) * channels);
  std::size_t read = 0, written = 0;
  for (;;) {
    if (go_on && !go_on()) return false;
    data.data_in = from.samples.data() + read * channels;
    data.input_frames = std::min(kBlock, static_cast<long>(from.frames() - read));
    data.data_out = to.samples.data() + written * channels;
    data.output_frames = std::min(8 * kBlock, static_cast<long>(to.frames() - written));
    data.end_of_input = read + static_cast<std::size_t>(data.input_frames) == from.frames();
    if (src_process(state.get(), &data) != 0) return false;
    read += static_cast<std::size_t>(data.input_frames_used);
    written += static_cast<std::size_t>(data.output_frames_gen);
    if (data.input_frames_used == 0 && data.output_frames_gen == 0) break;
  }
  to.samples.resize(written * channels);
  return true;
}

}  // namespace

WavePtr at_playing_rate(const WavePtr& wave, const std::function<bool()>& go_on) {
  if (!wave || wave->rate_hz == kRate_hz) return wave;
  // libsamplerate's own bounds on the ratio.
  if (wave->channels < 1 || wave->rate_hz < kRate_hz / 256 || wave->rate_hz / 256 > kRate_hz) return nullptr;
  try {
    auto converted = std::make_shared<Wave>();
    converted->rate_hz = kRate_hz;
    converted->channels = wave->channels;
    return convert(*wave, *converted, go_on) ? converted : nullptr;
  } catch (const std::bad_alloc&) {
    return nullptr;
  }
}

Placed placed(const show::Sound& sound, WavePtr wave) {
  return {std::move(wave), sound.start, sound.trim, static_cast<float>(std::pow(10.0, sound.gain_db / 20)), sound.trim_end};
}

std::optional<show::Finding> nothing_heard(const show::Sound& sound, show::Time length, const std::string& file) {
  if (!show::heard_of(sound, length).empty()) return {};
  return show::Finding{show::Severity::warning, file, "sound '" + sound.file + "'",
                       "nothing of it is heard: " + show::seconds_text(sound.trim) + " s at its start and " + show::seconds_text(sound.trim_end) + " s at its end are left out, and it is " + show::seconds_text(length) + " s long",
                       "Leave less of it out, or take the sound out of the show."};
}

float Mix::Part::gain_at(std::int64_t frame) const noexcept {
  const auto share = [](std::int64_t done, std::int64_t of) { return done < of ? 0.5 - 0.5 * std::cos(std::numbers::pi * (static_cast<double>(done) + 0.5) / static_cast<double>(of)) : 1.0; };
  return gain * static_cast<float>(share(frame, rise) * share(length - 1 - frame, fall));
}

Mix::Mix(const std::vector<Placed>& sounds) {
  for (const Placed& sound : sounds) {
    if (!sound.wave || sound.wave->rate_hz != kRate_hz || sound.wave->channels < 1 || sound.wave->channels > 2) continue;
    Part part;
    part.wave = sound.wave;
    part.start = nearest_frame(std::clamp(sound.start, -kFarthest, kFarthest));
    part.trim = nearest_frame(std::clamp(sound.trim, show::Time{0}, kFarthest));
    const std::int64_t left_out = nearest_frame(std::clamp(sound.trim_end, show::Time{0}, kFarthest));
    part.length = static_cast<std::int64_t>(sound.wave->frames()) - part.trim - left_out;
    const std::int64_t cut = std::min(kCut_frames, part.length / 4);
    part.rise = part.trim > 0 ? cut : 0, part.fall = left_out > 0 ? cut : 0;
    part.gain = std::isfinite(sound.gain) ? std::clamp(sound.gain, 0.0f, 16.0f) : 0.0f;
    if (part.length > 0) parts_.push_back(std::move(part));
  }
}

void Mix::render(std::int64_t first, int count, float* out) const noexcept {
  std::fill(out, out + 2 * count, 0.0f);
  for (const Part& part : parts_) {
    const std::int64_t begin = std::max(first, part.start), end = std::min(first + count, part.start + part.length);
    const bool stereo = part.wave->channels == 2;
    const float* const samples = part.wave->samples.data();
    for (std::int64_t frame = begin; frame < end; ++frame) {
      const std::int64_t source = frame - part.start + part.trim;
      float* const to = out + 2 * (frame - first);
      const std::int64_t into = frame - part.start;
      const float gain = into < part.rise || part.length - 1 - into < part.fall ? part.gain_at(into) : part.gain;
      to[0] += gain * samples[stereo ? 2 * source : source];
      to[1] += gain * samples[stereo ? 2 * source + 1 : source];
    }
  }
}

}  // namespace mien::sound
