// The constraints and wishes that project() and its peer are measured on.
#pragma once
#include <array>
#include <cstdint>
#include <random>
#include <vector>

#include "motion/project.hpp"

namespace mien::bench {

/// 32 actuators, 12 rows of two or three terms as heads have them: pairs of lids with a gap, sums that share travel.
inline std::vector<motion::Row> twelve_rows() {
  std::vector<motion::Row> rows;
  for (int k = 0; k < 8; ++k)
    rows.push_back(*motion::row_of(std::array{motion::RowTerm{2 * k, 1}, motion::RowTerm{2 * k + 1, -1}}, 4));
  for (int k = 0; k < 4; ++k)
    rows.push_back(*motion::row_of(
        std::array{motion::RowTerm{4 * k, -1}, motion::RowTerm{4 * k + 2, -0.5}, motion::RowTerm{16 + k, -1}}, -35));
  return rows;
}

/// 256 wishes, in degrees, in which `broken` of the lid pairs cross; where they do the sums bind too.
inline std::vector<std::vector<double>> crossing_wishes(std::int64_t broken) {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> angle(-3, 3);
  std::vector<std::vector<double>> wishes(256, std::vector<double>(32));
  for (auto& wish : wishes) {
    for (auto& w : wish) w = angle(random);
    for (std::size_t k = 0; k < 8; ++k) {
      wish[2 * k] = 10 + angle(random);
      wish[2 * k + 1] = static_cast<std::int64_t>(k) < broken ? 10.0 : -10.0;
    }
  }
  return wishes;
}

}  // namespace mien::bench
