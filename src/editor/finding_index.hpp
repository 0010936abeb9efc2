// A study's findings, in the order in which lanes and curve want them, so that a frame looks only at what it draws: a show with hundreds of thousands of
// findings costs it no more than one with a hundred. Made beside the window, with the study.
#pragma once
#include <cstddef>
#include <span>
#include <vector>

#include "perform/study.hpp"
#include "show/rig.hpp"

namespace mien::editor {

/// When a shortfall is marked and gone to: at its key, or, where that lies elsewhere (a value that stands beyond the travel), when it begins.
inline show::Time seen_at(const perform::Shortfall& s) noexcept {
  return s.cause == perform::Cause::clipped && !s.range.contains(s.key) ? s.range.begin : s.key;
}

struct FindingIndex {
  /// Of one control, or of all controls of a group.
  struct Strand {
    std::vector<std::size_t> by_time;    ///< indexes into the study's shortfalls, by seen_at(), then index
    std::vector<show::Time> seen;        ///< seen_at() of each, side by side: a search that went to the shortfalls would wait for memory at every step
    std::vector<show::Range> stretches;  ///< in which any of them is off; disjoint, in rising time
  };
  std::vector<Strand> by_control;  ///< by the rig's controls
  std::vector<Strand> by_group;    ///< by the rig's groups; the last: controls of none
  std::vector<std::size_t> group_of, group_size;

  /// That of exactly these controls (indexes of the rig); nullptr where they are neither one nor a whole group.
  const Strand* of(std::span<const int> controls) const noexcept;
};

FindingIndex index_of(const perform::Study& study, const show::Rig& rig);

}  // namespace mien::editor
