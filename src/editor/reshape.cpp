#include "editor/reshape.hpp"

#include <algorithm>
#include <cmath>

#include "editor/counted.hpp"
#include "editor/edits.hpp"
#include "show/lane_order.hpp"
#include "show/mirror.hpp"

namespace mien::editor {
namespace {

double sane(double factor) noexcept { return std::isfinite(factor) ? factor : 1; }

// The same segment, read from its end to its beginning.
show::Easing turned(const show::Easing& e) noexcept {
  if (e.kind != show::Easing::Kind::bezier) return e;
  return {e.kind, 1 - e.x2, 1 - e.y2, 1 - e.x1, 1 - e.y1};
}

struct Reshaper {
  const show::Show& show;
  const show::Rig& rig;
  const Selection& selection;

  show::Time within(show::Time t) const { return std::clamp(t, show::Time{0}, std::max(show.length, show::Time{0})); }

  // Takes the named keys out and puts what change(strand) makes of each channel's in their place. Strands carry true times.
  template <class Change>
  Edited remade(const char* verb, const std::vector<show::KeyRef>& keys, Change change) const {
    show::KeyBundle bundle = show::copy_keys(show, keys);
    show::Time first = show::Time::max();
    for (const show::KeyRef& ref : keys)
      if (find_key(show, ref)) first = std::min(first, ref.time);
    if (bundle.strands.empty()) return {"", show, selection};
    show::Show after = show::without_keys(show, keys);
    std::vector<show::KeyRef> now;
    for (auto& strand : bundle.strands) {
      for (show::Keyframe& key : strand.keys) key.time += first;
      change(strand);
      // with_pasted sorts them and gives each time to one; the later of two should have it.
      std::reverse(strand.keys.begin(), strand.keys.end());
    }
    after = show::with_pasted(after, bundle, show::Time{0}, &now);
    return {counted_keys(verb, keys.size()), std::move(after), Selection::from(std::move(now))};
  }

  Edited operator()(const ScaleKeys& e) const {
    const double by_time = sane(e.time_factor) > 0 ? sane(e.time_factor) : 1, by_value = sane(e.value_factor);
    return remade("Scale", e.keys, [&](show::KeyBundle::Strand& strand) {
      const show::Control* control = find_control(rig, strand.control);
      for (show::Keyframe& key : strand.keys) {
        const double from_pivot_ns = static_cast<double>((key.time - e.pivot).count()) * by_time;
        key.time = within(e.pivot + show::Time{static_cast<std::int64_t>(std::llround(std::clamp(from_pivot_ns, -4e18, 4e18)))});
        if (!control || by_value == 1) continue;
        const double about = e.value_pivot ? control->min + *e.value_pivot * (control->max - control->min) : control->rest;
        key.value = std::clamp(about + (key.value - about) * by_value, control->min, control->max);
      }
    });
  }

  Edited operator()(const ReverseKeys& e) const {
    show::Time first = show::Time::max(), last = show::Time::min();
    for (const show::KeyRef& ref : e.keys)
      if (find_key(show, ref)) first = std::min(first, ref.time), last = std::max(last, ref.time);
    return remade("Reverse", e.keys, [&](show::KeyBundle::Strand& strand) {
      auto& keys = strand.keys;
      const show::Easing leaving = keys.back().easing;  // leads out of what is reversed
      for (std::size_t i = keys.size(); i-- > 1;) keys[i].easing = turned(keys[i - 1].easing);
      keys.front().easing = leaving;
      for (show::Keyframe& key : keys) key.time = first + (last - key.time);
      std::reverse(keys.begin(), keys.end());
    });
  }

  Edited operator()(const MirrorKeys& e) const {
    std::vector<show::KeyRef> now;
    show::Show after = show::with_keys_mirrored(show, rig, e.keys, &now);
    return {counted_keys("Mirror", e.keys.size()), std::move(after), Selection::from(std::move(now))};
  }

  Edited operator()(const RepeatKeys& e) const {
    show::Time last = show::Time::min();
    for (const show::KeyRef& ref : e.keys) last = std::max(last, ref.time);
    if (e.keys.empty()) return {"", show, selection};
    std::vector<show::KeyRef> now;
    show::Show after = show::with_pasted(show, show::copy_keys(show, e.keys), last + std::max(e.gap, show::Time{1}), &now);
    if (now.empty()) return {"", show, selection};
    return {counted_keys("Duplicate", e.keys.size()), std::move(after), Selection::from(std::move(now))};
  }

  Edited operator()(const MoveLane& e) const { return {"Move lane " + e.control, show::with_lane_at(show, rig, e.control, e.index, e.make_channels), selection}; }
};

}  // namespace

Edited reshape(const Reshaping& edit, const show::Show& show, const show::Rig& rig, const Selection& selection) {
  return std::visit(Reshaper{show, rig, selection}, edit);
}

}  // namespace mien::editor
