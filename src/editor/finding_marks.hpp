// Where the head can't follow, as small marks on lanes and curve: gathered, drawn, explained. One shape for each cause, so that
// colour says nothing alone; neighbours too near to tell apart become one, with their count.
#pragma once
#include <imgui.h>

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "editor/command.hpp"
#include "editor/scene.hpp"

namespace mien::editor {

/// One mark: the findings that are seen from `time` to before `until`.
struct FindingMark {
  show::Time time{0}, until{0};
  std::size_t first = 0;  ///< the earliest: an index into Feasibility::study.shortfalls
  std::size_t count = 0;
};

struct FindingMarks {
  std::vector<FindingMark> marks;
  std::vector<const FindingIndex::Strand*> strands;  ///< which they are of
  const perform::Study* study = nullptr;             ///< whose life both share
  /// Indexes into the study's shortfalls, in rising time of their keys.
  std::vector<std::size_t> of(const FindingMark& mark) const;
  /// The mark nearest to x; nullptr where none is within reach.
  const FindingMark* near(const TimeAxis& axis, float x, float reach_px) const noexcept;
};

inline constexpr float kFindingMergePx = 12;  ///< design pixels
inline constexpr float kFindingStripPx = 8;  ///< lower edge of a lane or plot that marks stand in

/// Those in view of the findings that keys of these controls (indexes of the rig) ask for. Neighbours closer than merge_px share a mark, as do those that
/// would stand where the count of the mark before them does.
FindingMarks gather_findings(const Feasibility& feasibility, std::span<const int> controls, const TimeAxis& axis, float merge_px);

/// The stretches in which they leave the tolerance, as pixels, joined where they overlap or are too near to tell apart; clipped to [axis.x0, axis.x0 + axis.width].
std::vector<ImVec2> finding_stretches(const Feasibility& feasibility, std::span<const int> controls, const TimeAxis& axis);

/// Late: a triangle. Clipped: one under a bar. Braked: one on its tip. Governed: a square. Out of sync: two bars. About 8 design pixels wide.
void finding_mark(ImDrawList& list, const Look& look, float x, float y, perform::Cause cause, Colour colour);
/// A row of them with its lower edge at `bottom`; says each to the probe as NAME/N.
void draw_finding_marks(ImDrawList& list, const Scene& scene, const TimeAxis& axis, float bottom, const FindingMarks& found, const std::string& name);

/// Beside the pointer: what each of them is, and its cure; and, of a `mark`, what clicks on it do.
void explain(const Scene& scene, std::span<const std::size_t> which, bool mark = true);

/// Nothing where keys can mend it, as far as is known; else why not, in a sentence.
std::string why_not(const Scene& scene, const perform::Shortfall& shortfall);

/// What a click on a mark asks for: to go to the first of these; the second click makes that one arrive where keys can mend it.
Commands pressed_finding(const Scene& scene, std::span<const std::size_t> which, bool twice);

GoTo where(const Feasibility& feasibility, const perform::Shortfall& shortfall);

/// The next finding after the playhead and the chosen channel (direction > 0), or the one before; nullptr where there is none.
const perform::Shortfall* next_finding(const Feasibility& feasibility, show::Time playhead, int control, int direction) noexcept;

}  // namespace mien::editor
