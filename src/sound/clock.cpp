#include "sound/clock.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "threads/steady.hpp"

namespace mien::sound {
namespace {

using threads::kMs;
constexpr std::int64_t kSettle_ns = 200 * kMs;    // a server's position leaps while its buffers first fill
constexpr std::int64_t kLock_ns = 500 * kMs;
constexpr std::int64_t kStill_ns = 250 * kMs;
constexpr std::int64_t kGap_ns = 500 * kMs;
constexpr std::int64_t kLeap_ns = 200 * kMs;
constexpr std::int64_t kRateWindow_ns = 500 * kMs;
constexpr double kRateTolerance = 0.10;
constexpr double kBandwidth_hz = 0.03;
constexpr double kOmega_per_ns = 2 * std::numbers::pi * kBandwidth_hz * 1e-9;
constexpr double kOff_ns = 4.0 * kMs;   // a step is an error beyond this and beyond four times the usual one
constexpr int kOffForGood = 20;
constexpr double kChase_ns = 200.0 * kMs, kChaseRate = 0.05;

}  // namespace

void StreamClock::lose(std::int64_t steady_ns) noexcept {
  begun_ = false;
  if (line_.running) line_ = {false, steady_ns, line_.at(steady_ns), 1.0};
}

void StreamClock::begin(std::int64_t steady_ns, std::int64_t heard_ns) noexcept {
  lose(steady_ns);
  begun_ = true;
  begun_ns_ = steady_ns_ = moved_ns_ = window_steady_ns_ = steady_ns;
  heard_ns_ = window_heard_ns_ = heard_ns;
  rate_ = 1.0;
  observations_ = 0;
}

void StreamClock::observe(std::int64_t steady_ns, std::int64_t heard_ns) noexcept {
  if (begun_ && steady_ns <= steady_ns_) return;
  if (!begun_ || steady_ns - steady_ns_ > kGap_ns) return begin(steady_ns, heard_ns);
  const std::int64_t dt_ns = steady_ns - steady_ns_;
  steady_ns_ = steady_ns;
  if (!plausible(dt_ns, heard_ns)) return begin(steady_ns, heard_ns);
  if (steady_ns - begun_ns_ < kSettle_ns) return;
  track(static_cast<double>(dt_ns), heard_ns);
  publish(steady_ns);
}

bool StreamClock::plausible(std::int64_t dt_ns, std::int64_t heard_ns) noexcept {
  const bool leap = std::abs(heard_ns - heard_ns_ - dt_ns) > kLeap_ns;
  if (heard_ns != heard_ns_) moved_ns_ = steady_ns_;
  heard_ns_ = heard_ns;
  if (leap || steady_ns_ - moved_ns_ > kStill_ns) return false;
  const std::int64_t window_ns = steady_ns_ - window_steady_ns_;
  if (window_ns < kRateWindow_ns) return true;
  const double rate = static_cast<double>(heard_ns - window_heard_ns_) / static_cast<double>(window_ns);
  window_steady_ns_ = steady_ns_;
  window_heard_ns_ = heard_ns;
  return std::abs(rate - 1) <= kRateTolerance;
}

void StreamClock::track(double dt_ns, std::int64_t heard_ns) noexcept {
  if (observations_ == 0) {
    base_heard_ns_ = heard_ns;
    offset_ns_ = noise_ns_ = 0;
    observations_ = 1;
    off_ = 0;
    return;
  }
  offset_ns_ += dt_ns * rate_;
  const double error_ns = static_cast<double>(heard_ns - base_heard_ns_) - offset_ns_;
  ++observations_;
  noise_ns_ += (std::abs(error_ns) - noise_ns_) / std::min(observations_, 100);
  if (observations_ > kOffForGood && std::abs(error_ns) > std::max(kOff_ns, 4 * noise_ns_)) {
    // One late look at the position is noise; twenty that agree on a side are a step, and the loop starts again from there.
    off_ = error_ns > 0 ? std::max(off_, 0) + 1 : std::min(off_, 0) - 1;
    if (std::abs(off_) >= kOffForGood) observations_ = 0;
    return;
  }
  off_ = 0;
  const double omega = kOmega_per_ns * dt_ns;
  offset_ns_ += error_ns * std::max(1.0 / observations_, std::numbers::sqrt2 * omega);
  rate_ = std::clamp(rate_ + omega * kOmega_per_ns * error_ns, 1 - kRateTolerance, 1 + kRateTolerance);
  const auto whole = static_cast<std::int64_t>(offset_ns_);
  base_heard_ns_ += whole;
  offset_ns_ -= static_cast<double>(whole);
}

void StreamClock::publish(std::int64_t steady_ns) noexcept {
  if (steady_ns - begun_ns_ < kLock_ns) return;
  const std::int64_t estimate = base_heard_ns_ + static_cast<std::int64_t>(offset_ns_);
  if (!line_.running) {
    line_ = {true, steady_ns, published_ ? std::max(estimate, line_.heard_ns) : estimate, rate_};
    published_ = true;
    return;
  }
  const std::int64_t now = line_.at(steady_ns);
  const double chase = std::clamp(static_cast<double>(estimate - now) / kChase_ns, -kChaseRate, kChaseRate);
  line_ = {true, steady_ns, now, std::clamp(rate_ + chase, 1 - kRateTolerance, 1 + kRateTolerance)};
}

ClockLine show_line(const StreamClock::Line& heard, const Anchor& anchor, std::int64_t now_ns) noexcept {
  const std::int64_t begin_ns = frames_to_ns(anchor.frame);
  if (!heard.running || !anchor.playing || heard.at(now_ns) < begin_ns) return {};
  return {true, false, heard.steady_ns, anchor.from.count() + (heard.heard_ns - begin_ns), heard.rate};
}

}  // namespace mien::sound
