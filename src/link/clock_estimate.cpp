#include "link/clock_estimate.hpp"

#include <algorithm>
#include <cmath>

namespace mien::link {

void ClockEstimate::add(std::int64_t sent_us, std::uint32_t board_received_us, std::uint32_t board_sent_us,
                        std::int64_t received_us) noexcept {
  const auto spent = static_cast<std::int32_t>(board_sent_us - board_received_us);
  const auto round_trip = received_us - sent_us - spent;
  if (spent < 0 || round_trip < 0 || round_trip > 1'000'000) return;
  const auto offset = static_cast<std::uint32_t>(sent_us) - board_received_us;  // as if the way out took no time
  if (total_ == 0) base_ = offset;
  const double relative = static_cast<std::int32_t>(offset - base_) + static_cast<double>(round_trip) / 2;
  recent_[static_cast<std::size_t>(total_ % kWindow)] = {received_us, relative, static_cast<double>(round_trip)};
  ++total_;
  if (total_ % kWindow != 0) return;
  stretches_[static_cast<std::size_t>(stretch_count_++ % kStretches)] = best();
  if (total_ == 2 * kWindow * 1'000'000) total_ = kWindow;  // the count matters only up to the window; keep it from overflowing
}

const ClockEstimate::Sample& ClockEstimate::best() const noexcept {
  const auto end = recent_.begin() + std::min(total_, kWindow);
  return *std::min_element(recent_.begin(), end, [](const Sample& a, const Sample& b) { return a.round_trip_us < b.round_trip_us; });
}

double ClockEstimate::drift_ppm() const noexcept {
  const int count = std::min(stretch_count_, kStretches);
  if (count < 2) return 0;
  const auto& oldest = stretches_[static_cast<std::size_t>(stretch_count_ <= kStretches ? 0 : stretch_count_ % kStretches)];
  const auto& newest = stretches_[static_cast<std::size_t>((stretch_count_ - 1) % kStretches)];
  const auto elapsed_us = static_cast<double>(newest.time_us - oldest.time_us);
  if (elapsed_us < 1e6) return 0;
  return std::clamp((newest.relative_us - oldest.relative_us) / elapsed_us * 1e6, -kMaxDriftPpm, kMaxDriftPpm);
}

std::uint32_t ClockEstimate::offset_us(std::int64_t now_us) const noexcept {
  const auto& sample = best();
  const double carried = drift_ppm() * 1e-6 * static_cast<double>(now_us - sample.time_us);
  return base_ + static_cast<std::uint32_t>(std::llround(sample.relative_us + carried));
}

double ClockEstimate::round_trip_us() const noexcept { return best().round_trip_us; }

}  // namespace mien::link
