#include "sound/renderer.hpp"

#include <algorithm>

namespace mien::sound {

void Renderer::render(float* out, std::int64_t count) noexcept {
  if (count <= 0) return;
  const std::int64_t begin_frame = frames_.load(std::memory_order_relaxed);
  std::fill(out, out + 2 * count, 0.0f);
  for (std::int64_t done = 0; done < count;) {
    take_wish(begin_frame + done);
    const int run = until_change(count - done);
    float* const to = out + 2 * done;
    for (Part* part : {&current_, &leaving_}) {
      if (part->sounding()) part->voice.add_to(to, run);
    }
    settle_grain();
    finish(to, run);
    done += run;
  }
  std::uint64_t needed = seen_->serial;
  for (const Part* part : {&current_, &leaving_}) {
    if (part->sounding()) needed = std::min(needed, part->mix->serial);
  }
  shelf_.needs_from(needed);
  frames_.store(begin_frame + count, std::memory_order_relaxed);
}

void Renderer::rest() noexcept {
  taken_ = wishes_.read().serial;
  current_ = leaving_ = {};
  seen_ = nullptr;
  shelf_.needs_from(shelf_.newest()->serial);
  anchors_.write({taken_, false, 0, show::Time{0}});
  frames_.store(0, std::memory_order_relaxed);
}

void Renderer::take_wish(std::int64_t at_frame) noexcept {
  seen_ = shelf_.newest();
  Wish wish = wishes_.read();
  volume_wanted_ = wish.volume;
  if (wish.serial <= dropped_.load(std::memory_order_relaxed)) wish.kind = Wish::Kind::rest;
  const bool dropped = wish.kind == Wish::Kind::rest && wish.serial == taken_ && current_.sounding();
  const bool other_mix = current_.sounding() && !current_.grain && current_.mix != seen_;
  const bool fresh = wish.serial != taken_ || dropped;
  if (!fresh && !other_mix) return;
  if (wish.kind != Wish::Kind::rest && !ready_.load(std::memory_order_relaxed)) return;
  if (fresh && wish.kind == Wish::Kind::grain && current_.grain && current_.sounding()) return;  // at its peak it makes way
  if (leaving_.sounding()) {
    if (leaving_.grain && wish.kind != Wish::Kind::grain) {  // a grain's slow fall need not hold up anything else
      leaving_.voice.fall(Voice::kFade_frames);
      leaving_.grain = false;
    }
    if (current_.sounding() || wish.kind != Wish::Kind::grain) return;
  }
  if (!fresh) {
    leaving_ = current_;
    current_ = {leaving_.voice.moved_to(&seen_->mix), seen_, false};
    leaving_.voice.fall(Voice::kFade_frames);
    return;
  }
  if (current_.sounding()) {
    leaving_ = current_;
    leaving_.grain = false;
    leaving_.voice.fall(Voice::kFade_frames);
    current_ = {};
  }
  begin(wish, at_frame);
}

void Renderer::begin(const Wish& wish, std::int64_t at_frame) noexcept {
  taken_ = wish.serial;
  const bool grain = wish.kind == Wish::Kind::grain;
  if (wish.kind != Wish::Kind::rest) {
    const int rise = grain ? Voice::kGrain_frames : Voice::kFade_frames;
    current_ = {Voice(&seen_->mix, wish.from, grain ? show::Range{} : wish.loop, rise), seen_, grain};
  }
  anchors_.write({wish.serial, wish.kind == Wish::Kind::play, at_frame, wish.from});
}

int Renderer::until_change(std::int64_t left) const noexcept {
  auto run = static_cast<int>(std::min<std::int64_t>(left, Voice::kBlock_frames));
  for (const Part* part : {&current_, &leaving_}) {
    if (const int edge = part->voice.until_edge_ends(); edge > 0) run = std::min(run, edge);
  }
  return run;
}

void Renderer::settle_grain() noexcept {
  if (!current_.grain || !current_.sounding() || !current_.voice.risen()) return;
  leaving_ = current_;
  leaving_.voice.fall(Voice::kGrain_frames);
  current_ = {};
}

void Renderer::finish(float* out, int count) noexcept {
  constexpr float kStep = 1.0f / Voice::kFade_frames;
  for (int i = 0; i < count; ++i) {
    volume_ = volume_wanted_ > volume_ ? std::min(volume_ + kStep, volume_wanted_) : std::max(volume_ - kStep, volume_wanted_);
    out[2 * i] = std::clamp(out[2 * i] * volume_, -1.0f, 1.0f);
    out[2 * i + 1] = std::clamp(out[2 * i + 1] * volume_, -1.0f, 1.0f);
  }
}

}  // namespace mien::sound
