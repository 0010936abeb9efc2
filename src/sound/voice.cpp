#include "sound/voice.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

namespace mien::sound {

Voice::Voice(const Mix* mix, show::Time from, show::Range loop, int rise_frames) noexcept
    : mix_(mix), from_(std::clamp(from, -kFarthest, kFarthest)), loop_{std::clamp(loop.begin, -kFarthest, kFarthest), std::clamp(loop.end, -kFarthest, kFarthest)}, slope_(1.0 / rise_frames), edge_(rise_frames) {
  enter_stretch();
}

Voice Voice::moved_to(const Mix* mix) const noexcept {
  Voice other = *this;
  other.mix_ = mix;
  other.level_ = 0;
  other.slope_ = 1.0 / kFade_frames;
  other.edge_ = kFade_frames;
  return other;
}

void Voice::enter_stretch() noexcept {
  const show::Time unwrapped = from_ + show::Time{frames_to_ns(frame_)};
  const show::Time at = show::wrapped(unwrapped, loop_);
  stretch_begin_ = frame_;
  stretch_show_frame_ = nearest_frame(at);
  // The first frame that is not before the wrap; worked out from the unwrapped time, so that loops whose length is no whole
  // number of frames never drift from show::wrapped().
  stretch_end_ = loop_.empty() ? std::numeric_limits<std::int64_t>::max() : frames_covering((unwrapped + (loop_.end - at) - from_).count());
}

int Voice::until_edge_ends() const noexcept { return sounding() ? edge_ : 0; }

void Voice::fall(int frames) noexcept {
  if (level_ <= 0) mix_ = nullptr;
  edge_ = std::max(1, static_cast<int>(std::lround(level_ * frames)));
  slope_ = -level_ / edge_;
}

void Voice::add_to(float* out, int count) noexcept {
  std::array<float, 2 * kBlock_frames> block;
  for (int done = 0; done < count;) {
    if (frame_ == stretch_end_) enter_stretch();
    const int run = static_cast<int>(std::min<std::int64_t>(count - done, stretch_end_ - frame_));
    mix_->render(stretch_show_frame_ + (frame_ - stretch_begin_), run, block.data() + 2 * done);
    frame_ += run;
    done += run;
  }
  for (int i = 0; i < count; ++i) {
    const auto gain = slope_ == 0 ? 1.0f : static_cast<float>(0.5 - 0.5 * std::cos(std::numbers::pi * (level_ + slope_ * i)));
    out[2 * i] += gain * block[2 * static_cast<std::size_t>(i)];
    out[2 * i + 1] += gain * block[2 * static_cast<std::size_t>(i) + 1];
  }
  if (slope_ == 0) return;
  level_ += slope_ * count;
  edge_ -= count;
  if (edge_ > 0) return;
  if (slope_ < 0) mix_ = nullptr;
  level_ = 1;
  slope_ = 0;
}

}  // namespace mien::sound
