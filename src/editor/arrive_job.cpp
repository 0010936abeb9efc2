#include "editor/arrive_job.hpp"

#include <algorithm>

namespace mien::editor {
namespace {

perform::Arrival arrival_of(const perform::PlanPtr& plan, const std::optional<perform::Shortfall>& which, const GoOn& progress) {
  const perform::Study found = perform::study(*plan, {}, [&] { return progress(0); });
  if (!found.whole) return {*plan->show, {}, {}, true};
  if (!which) return perform::make_it_arrive(plan, found, {}, progress);
  // The finding may be from a study of a moment ago: the same trouble counts, whatever its size is now.
  const auto same = std::find_if(found.shortfalls.begin(), found.shortfalls.end(), [&](const perform::Shortfall& s) { return perform::same_trouble(s, *which); });
  if (same == found.shortfalls.end()) return {*plan->show, {}, found, false};
  return perform::make_it_arrive(plan, found, static_cast<std::size_t>(same - found.shortfalls.begin()), progress);
}

}  // namespace

Arrived arrive(const std::shared_ptr<const show::Rig>& rig, const show::ShowPtr& show, const std::optional<perform::Shortfall>& which, const GoOn& go_on) {
  return {show, which, arrival_of(perform::compile(rig, show), which, go_on)};
}

}  // namespace mien::editor
