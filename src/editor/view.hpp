// What of the show is in view. Part of no show and of no undo.
#pragma once
#include <optional>
#include <set>
#include <string>

#include "show/show.hpp"

namespace mien::editor {

struct View {
  show::Range visible{show::Time{0}, show::Time{10'000'000'000}};
  std::set<std::string, std::less<>> folded;  ///< groups of which only the summary shows
  std::string control;                        ///< the channel in the curve view; empty: none
  bool as_built = false;                      ///< the head also shows what servos as built make of the setpoints
};

/// The range moved and clamped so that it is at least 50 ms long and overlaps the show; at most four times the show's length.
show::Range sane_view(show::Range wanted, show::Time length) noexcept;
/// `factor` > 1 shows more. The time under `about` stays where it is on screen.
show::Range zoomed(show::Range range, show::Time about, double factor, show::Time length) noexcept;
show::Range panned(show::Range range, show::Time by, show::Time length) noexcept;
/// The whole show with a little air at both ends.
show::Range fitted(show::Time length) noexcept;

/// Show time to pixels and back.
struct TimeAxis {
  show::Range range;
  float x0 = 0, width = 1;
  double px_per_ns() const noexcept { return range.empty() ? 0 : width / static_cast<double>(range.length().count()); }
  float x(show::Time t) const noexcept {
    // Far times are clamped, so that drawing never sees a coordinate that single precision can't hold.
    const double at = x0 + static_cast<double>((t - range.begin).count()) * px_per_ns();
    return static_cast<float>(at < -1e5 ? -1e5 : at > 1e5 ? 1e5 : at);
  }
  show::Time time(float at) const noexcept {
    return range.begin + show::Time{static_cast<std::int64_t>(std::llround((at - x0) / px_per_ns()))};
  }
  show::Time span(float pixels) const noexcept { return show::Time{static_cast<std::int64_t>(std::llround(pixels / px_per_ns()))}; }
};

/// The nearest whole multiple of `step`; the time itself where step is not positive.
show::Time snapped(show::Time time, show::Time step) noexcept;

/// "1:02.345", or "2.345 s" where `unit`.
std::string clock_text(show::Time time);
std::string seconds_text(show::Time time);
/// A value with the decimals that its range asks for, and its unit.
std::string value_text(double value, const std::string& unit, double range);

}  // namespace mien::editor
