// Coarticulation by dominance functions: Cohen & Massaro 1993, "Modeling coarticulation in synthetic visual speech".
//
// Each segment s has, for each control, a target T_s and a dominance that falls off with the time from its centre:
//   D_s(t) = alpha_s * exp(-theta_s * |t - centre_s|^c),  theta different before and after the centre
// and a control's value is the mean of the targets weighted by their dominance: F(t) = sum(D_s(t) T_s) / sum(D_s(t)).
#pragma once
#include <span>
#include <vector>

namespace mien::speech {

struct Dominance {
  double alpha = 1;
  double theta_before = 0.02, theta_after = 0.02;  ///< per ms^power: how soon it fades away from its centre on either side
  double power = 1;                                ///< c
  friend bool operator==(const Dominance&, const Dominance&) = default;
};

/// One segment, as the blending sees it. half_ms: around the centre a core over which dominance stays at alpha (0 in the paper; a long vowel
/// or a silence is held).
struct Segment {
  double centre_ms = 0;
  double target = 0;
  Dominance dominance{};
  double half_ms = 0;
};

double dominance_at(const Segment& segment, double t_ms) noexcept;
/// F(t). No segments, or none that dominates at all there: `otherwise`.
double blend(std::span<const Segment> segments, double t_ms, double otherwise = 0) noexcept;

}  // namespace mien::speech
