// A measured response: what the maker read off with ruler or protractor at some servo angles, made into a curve that passes through
// every row, never swings beyond its neighbours, and rises or falls all the way when the rows do, so that it can be inverted.
//
// Piecewise cubic Hermite. Slopes at inner rows after Fritsch & Butland 1984, "A method for constructing local monotone piecewise
// cubic interpolants", SIAM J. Sci. Stat. Comput. 5 (as Brodlie weighted it, known as pchip): zero where the rows turn, else
// (w1 + w2) / (w1/s1 + w2/s2), w1 = 2 h2 + h1, w2 = h2 + 2 h1, with s the straight slopes and h the spacings to left and right. At
// the two ends: the straight slope of the end's own interval.
#pragma once
#include <cstdint>
#include <span>
#include <vector>

#include "motion/linkage.hpp"
#include "show/finding.hpp"

namespace mien::motion {

class Table {
 public:
  /// Of nothing: zero everywhere.
  Table() = default;
  /// Precondition: check(x, y) names no error but y that turns; value() and slope() then work all the same, inverse() does not.
  Table(std::span<const double> x, std::span<const double> y);
  /// With slopes that are known, as those of a linkage are, for rows that rise in x and turn nowhere in y. A slope that could make the curve
  /// turn (Fritsch & Carlson 1980: beyond three times the straight slope beside it, or of the other sign) is drawn in.
  Table(std::span<const double> x, std::span<const double> y, std::span<const double> slope);

  /// Before the first row and after the last: that row's y, slope zero. NaN counts as the first row.
  double value(double x) const noexcept;
  double slope(double x) const noexcept;
  /// The same, but going on straight beyond the rows, so that a y tells how far out of reach it is. Of nothing: zero.
  double beyond(double x) const noexcept;
  /// The x with value(x) = y, to rounding. y beyond the rows: the nearer end, reached = false. NaN: the first row, reached = false.
  Solved inverse(double y) const noexcept;

  std::span<const double> x() const noexcept { return x_; }
  std::span<const double> y() const noexcept { return y_; }
  std::span<const double> slopes() const noexcept { return slope_; }

 private:
  // Between two rows: c0 + u (c1 + u (c2 + u c3)), u counted from x0.
  struct Piece {
    double x0, c0, c1, c2, c3;
    double value(double u) const noexcept { return c0 + u * (c1 + u * (c2 + u * c3)); }
    double slope(double u) const noexcept { return c1 + u * (2 * c2 + u * 3 * c3); }
  };
  static double solve(const Piece& piece, double h, double y) noexcept;

  void compile();
  double straight(std::size_t k) const noexcept { return (y_[k + 1] - y_[k]) / (x_[k + 1] - x_[k]); }
  const Piece& piece(double x) const noexcept;

  std::vector<double> x_, y_, slope_;
  std::vector<Piece> pieces_;
  // Which piece an even share of the x begins in, so that none has to be searched for far.
  std::vector<std::int32_t> begins_;
  double shares_per_x_ = 0;
};

/// What is wrong with measured rows: fewer than 2, numbers that are none, x that doesn't rise, y that turns or stands still (then it
/// can't be inverted). Rows are counted from 1. Places are left empty for the caller to fill.
show::Findings check(std::span<const double> x, std::span<const double> y);

}  // namespace mien::motion
