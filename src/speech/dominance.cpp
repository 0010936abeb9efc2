#include "speech/dominance.hpp"

#include <algorithm>
#include <cmath>

namespace mien::speech {

double dominance_at(const Segment& s, double t_ms) noexcept {
  const double from = t_ms - s.centre_ms, away = std::max(0.0, std::abs(from) - s.half_ms);
  const double theta = from < 0 ? s.dominance.theta_before : s.dominance.theta_after;
  return s.dominance.alpha * std::exp(-theta * (s.dominance.power == 1 ? away : std::pow(away, s.dominance.power)));
}

double blend(std::span<const Segment> segments, double t_ms, double otherwise) noexcept {
  double sum = 0, weights = 0;
  for (const auto& segment : segments) {
    const double weight = dominance_at(segment, t_ms);
    sum += weight * segment.target, weights += weight;
  }
  return weights > 1e-12 ? sum / weights : otherwise;
}

}  // namespace mien::speech
