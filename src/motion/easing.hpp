// The unit easing curves of keyframe segments: exact evaluation, and shapes compiled for the tick.
// Source: W3C CSS Easing Functions Level 1, section 2.2 (cubic Bezier easing functions).
#pragma once
#include <cstddef>
#include <memory>
#include <optional>
#include <vector>

#include "show/show.hpp"

namespace mien::motion {

/// y of the unit cubic Bezier (0,0) (x1,y1) (x2,y2) (1,1) where its x is the given one; to 1e-15 or so.
/// Outside [0, 1] the curve goes on along its end tangent; a vertical or missing tangent stays at the end's value (the reading
/// that browsers share, csswg-drafts issue 4046). NaN gives NaN. Precondition: x1 and x2 in [0, 1].
double bezier_ease(double x1, double y1, double x2, double y2, double x) noexcept;
inline double bezier_ease(const show::Easing& e, double x) noexcept { return bezier_ease(e.x1, e.y1, e.x2, e.y2, x); }
/// Whether the easing is a cubic in time, which wants no solving: x1 = 1/3 and x2 = 2/3, as motion::simplified writes them.
constexpr bool is_cubic(const show::Easing& e) noexcept {
  return e.kind == show::Easing::Kind::bezier && e.x1 == 1.0f / 3 && e.x2 == 2.0f / 3;
}
/// dy/dx on [0, 1]; infinite where the tangent is vertical.
double bezier_slope(double x1, double y1, double x2, double y2, double x) noexcept;

/// A Bezier easing as equally long pieces of degree 9, no more than kShapeError from the exact curve. No solve on the tick.
class Shape {
 public:
  static constexpr double kShapeError = 2.5e-7;  ///< of the curve's range of y (at least 1)
  /// Nothing where no affordable number of pieces meets kShapeError (a vertical tangent): such a segment is solved exactly.
  static std::optional<Shape> fit(const show::Easing& easing);

  /// Coefficients of a piece, of rising powers of the share of the piece. So many that a usual easing has two to five pieces: on a tick,
  /// going over to the next piece costs more than a longer polynomial.
  static constexpr int kTerms = 10;
  int pieces() const noexcept { return static_cast<int>(coefficients_.size()) / kTerms; }
  /// Of one piece. In Estrin's order, which takes half the time of Horner's when one waits for it.
  static double value(const double* c, double u) noexcept {
    const double u2 = u * u, u4 = u2 * u2;
    return ((c[0] + c[1] * u) + u2 * (c[2] + c[3] * u)) + u4 * (((c[4] + c[5] * u) + u2 * (c[6] + c[7] * u)) + u4 * (c[8] + c[9] * u));
  }
  const double* table() const noexcept { return coefficients_.data(); }

 private:
  std::vector<double> coefficients_;
};

/// The shapes that a show's Bezier segments use, shared by equal easings; built off the tick, then only read.
class Shapes {
 public:
  static constexpr std::size_t kMost = 1024;  ///< beyond it, segments are solved exactly: slower, not worse
  /// The easings of the channel. What `fitted` has is taken from there, since fitting is what costs.
  void add(const show::Channel& channel, const Shapes* fitted = nullptr);
  /// nullptr where the easing has no shape.
  const Shape* find(const show::Easing& easing) const noexcept;
  std::size_t size() const noexcept { return size_; }

 private:
  // Open addressing, at most half full: a segment's entry costs one look.
  struct Slot {
    show::Easing easing{};
    std::shared_ptr<const Shape> shape;
    bool used = false;
  };
  static std::size_t hash(const show::Easing& e) noexcept;
  const Slot* slot_of(const show::Easing& e) const noexcept;

  std::vector<Slot> slots_ = std::vector<Slot>(2 * kMost);
  std::size_t size_ = 0;
};

}  // namespace mien::motion
