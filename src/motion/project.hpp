// The nearest allowed angles, in the least-squares sense: what constraints make of the targets, and, one level up, of the steps
// that the limiter proposes (motion/guard.hpp).
//
// Method: the dual active-set algorithm of Goldfarb & Idnani 1983, "A numerically stable dual method for solving strictly convex
// quadratic programs", Mathematical Programming 27, for the identity as the quadratic form. It starts at the nearest point that
// only the boxes know of and takes in one broken constraint after the other, so its cost is that of the constraints that bind, not
// of those that exist. The active normals' Gram matrix is kept with its Cholesky factor. A set that can't be met shows itself
// as a non-negative combination of constraints that asks for the impossible (Farkas), and that is what contradiction() returns.
// No start from the last tick's answer: the answer depends on the arguments alone, so seeking and playing give the same bits.
#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "show/finding.hpp"
#include "show/rig.hpp"

namespace mien::motion {

/// sum of weight * angle >= bound, in degrees. Made by row_of(), so weights have the Euclidean length 1 and the slack of a row
/// is a distance.
struct Row {
  static constexpr int kMostTerms = show::kMaxConstraintTerms;
  int count = 0;
  std::array<std::int32_t, kMostTerms> actuator{};
  std::array<double, kMostTerms> weight{};
  double bound = 0;
  double length = 1;  ///< what weights and bound were divided by: slack * length is in the maker's own terms
  /// How far inside the row x is; negative when the row is broken.
  double slack(std::span<const double> x) const noexcept {
    double sum = -bound;
    for (int t = 0; t < count; ++t)
      sum += weight[static_cast<unsigned>(t)] * x[static_cast<unsigned>(actuator[static_cast<unsigned>(t)])];
    return sum;
  }
};

struct RowTerm {
  int actuator = 0;
  double weight = 0;
};

/// A row from its terms; terms of one actuator are added up. None when nothing but zeros is left, a number isn't finite, an actuator
/// is not within [0, show::kMaxActuators), or more than Row::kMostTerms actuators take part.
std::optional<Row> row_of(std::span<const RowTerm> terms, double bound) noexcept;

/// Scratch of project(), for the caller to keep so that nothing is allocated. Holds nothing from one call to the next.
class ProjectWorkspace {
 public:
  static constexpr std::size_t kMost = show::kMaxActuators;

 private:
  friend class ActiveSet;
  struct Active {
    int row = -1;       // index of the row, or -1: a bound of one actuator
    int actuator = 0;   // of a bound
    double sign = 0;    // of a bound: +1 the lower, -1 the upper
    double multiplier = 0;
  };
  std::array<Active, kMost + 1> active_;
  std::array<std::array<double, kMost + 1>, kMost + 1> gram_, factor_;
  std::array<double, kMost + 1> one_by_diagonal_, along_, share_;
  std::array<double, kMost> dense_{};
  std::array<std::int32_t, kMost> touched_;
  std::array<bool, kMost> is_touched_{};
};

struct Projected {
  bool feasible = true;  ///< false: the rows can't all be met within the boxes; the answer then breaks them least, by squares
  int steps = 0;         ///< constraints taken in or let go; 0 when nothing was broken
};

/// x becomes the point nearest to itself with low <= x <= high (exactly) and every row's slack >= -1e-9. All spans have the length of
/// x, at most show::kMaxActuators; rows name actuators below that length; low <= high. NaN in x stands for the middle of its box,
/// and a wish beyond 1e6 degrees for 1e6.
/// Never allocates; bounded steps.
Projected project(std::span<double> x, std::span<const double> low, std::span<const double> high, std::span<const Row> rows,
                  ProjectWorkspace& workspace) noexcept;

/// Why rows and boxes can't be met together: the rows and the ends of travel that contradict each other, each necessary.
struct Contradiction {
  struct End {
    int actuator = 0;
    bool upper = false;
  };
  std::vector<int> rows;
  std::vector<End> ends;
};

/// None when there are angles that meet all rows within the boxes. For load time.
std::optional<Contradiction> contradiction(std::span<const Row> rows, std::span<const double> low, std::span<const double> high);

/// The same in words, and whether the rest pose keeps the rows. Names are as the maker gave them, one for each row and actuator.
show::Findings check_rows(std::span<const Row> rows, std::span<const double> low, std::span<const double> high,
                          std::span<const double> rest, std::span<const std::string> row_names,
                          std::span<const std::string> actuator_names);

}  // namespace mien::motion
