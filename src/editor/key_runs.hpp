// Keys folded for drawing: neighbours closer together than a few pixels become one run, so that a million keys cost no more than
// what fits side by side on the screen. Found in leaps, never by looking at every key.
#pragma once
#include <algorithm>
#include <span>
#include <vector>

#include "editor/view.hpp"
#include "show/show.hpp"

namespace mien::editor {

inline constexpr float kMergePx = 10;  ///< as wide as a key is drawn

struct KeyRun {
  show::Time begin{0}, end{0};
  std::size_t first = 0, last = 0;  ///< indexes of its end keys
  bool single() const noexcept { return first == last; }
  friend bool operator==(const KeyRun&, const KeyRun&) = default;
};

inline show::Time time_of(const show::Keyframe& key) noexcept { return key.time; }
inline show::Time time_of(show::Time time) noexcept { return time; }
inline show::Time time_of(const show::Range& range) noexcept { return range.begin; }

/// The last index whose time is at most `until`, searched from `from` in doubling steps. Precondition: items[from] is at most `until`.
template <class Item>
std::size_t gallop(std::span<const Item> items, std::size_t from, show::Time until) noexcept {
  std::size_t step = 1, low = from;
  while (low + step < items.size() && time_of(items[low + step]) <= until) low += step, step *= 2;
  const auto begin = items.begin() + static_cast<std::ptrdiff_t>(low);
  const auto end = items.begin() + static_cast<std::ptrdiff_t>(std::min(items.size(), low + step));
  const auto beyond = std::upper_bound(begin, end, until, [](show::Time t, const Item& item) { return t < time_of(item); });
  return static_cast<std::size_t>(beyond - items.begin()) - 1;
}

/// Runs of what is in view, or reaches into it, in rising time; two neighbours share a run where they are closer than `merge_px`.
/// Items (keyframes, or bare times) in strictly rising time.
template <class Item>
void gather_runs(std::span<const Item> items, const TimeAxis& axis, float merge_px, std::vector<KeyRun>& out) {
  out.clear();
  const show::Time merge = std::max(axis.span(merge_px) - show::Time{1}, show::Time{0}), margin = axis.span(2 * merge_px);
  const show::Time from = axis.range.begin - margin, until = axis.range.end + margin;
  auto at = static_cast<std::size_t>(
      std::lower_bound(items.begin(), items.end(), from, [](const Item& item, show::Time t) { return time_of(item) < t; }) - items.begin());
  while (at < items.size() && time_of(items[at]) <= until) {
    // Whatever lies within reach of the last one belongs to it, however many are skipped; a longer step is tried as long as steps succeed, so that few of
    // the items are looked at, which would each have to come from memory.
    std::size_t last = at, step = 1;
    while (time_of(items[last]) <= until) {
      if (last + step < items.size() && time_of(items[last + step]) <= time_of(items[last]) + merge) last += step, step += step / 2 + 1;
      else if (step > 1) step /= 2;
      else break;
    }
    out.push_back({time_of(items[at]), time_of(items[last]), at, last});
    at = last + 1;
  }
}

}  // namespace mien::editor
