#include "editor/finding_index.hpp"

#include <algorithm>
#include <tuple>

namespace mien::editor {
namespace {

void join(std::vector<show::Range>& ranges) {
  std::sort(ranges.begin(), ranges.end(), [](const show::Range& a, const show::Range& b) { return a.begin < b.begin; });
  std::size_t last = 0;
  for (std::size_t i = 1; i < ranges.size(); ++i) {
    if (ranges[i].begin <= ranges[last].end) ranges[last].end = std::max(ranges[last].end, ranges[i].end);
    else ranges[++last] = ranges[i];
  }
  if (!ranges.empty()) ranges.resize(last + 1);
}

}  // namespace

const FindingIndex::Strand* FindingIndex::of(std::span<const int> controls) const noexcept {
  if (controls.empty()) return nullptr;
  const auto first = static_cast<std::size_t>(controls.front());
  if (first >= by_control.size()) return nullptr;
  if (controls.size() == 1) return &by_control[first];
  const std::size_t group = group_of[first];
  const auto in_group = [&](int c) { return c >= 0 && static_cast<std::size_t>(c) < group_of.size() && group_of[static_cast<std::size_t>(c)] == group; };
  return controls.size() == group_size[group] && std::all_of(controls.begin(), controls.end(), in_group) ? &by_group[group] : nullptr;
}

FindingIndex index_of(const perform::Study& study, const show::Rig& rig) {
  FindingIndex index;
  index.by_control.resize(rig.controls.size());
  index.by_group.resize(rig.groups.size() + 1);
  index.group_size.resize(rig.groups.size() + 1);
  for (const show::Control& c : rig.controls) {
    const auto at = std::find_if(rig.groups.begin(), rig.groups.end(), [&](const show::Group& g) { return g.name == c.group; });
    index.group_of.push_back(static_cast<std::size_t>(at - rig.groups.begin()));
    ++index.group_size[index.group_of.back()];
  }
  for (std::size_t i = 0; i < study.shortfalls.size(); ++i) {
    const auto control = static_cast<std::size_t>(study.shortfalls[i].control);
    if (study.shortfalls[i].control < 0 || control >= index.by_control.size()) continue;  // no key asks for it, so it stands in no lane
    for (FindingIndex::Strand* strand : {&index.by_control[control], &index.by_group[index.group_of[control]]}) {
      strand->by_time.push_back(i);
      strand->stretches.push_back(study.shortfalls[i].range);
    }
  }
  const auto earlier = [&](std::size_t a, std::size_t b) { return std::tuple(seen_at(study.shortfalls[a]), a) < std::tuple(seen_at(study.shortfalls[b]), b); };
  for (auto* strands : {&index.by_control, &index.by_group})
    for (FindingIndex::Strand& strand : *strands) {
      std::sort(strand.by_time.begin(), strand.by_time.end(), earlier);
      strand.seen.reserve(strand.by_time.size());
      for (const std::size_t i : strand.by_time) strand.seen.push_back(seen_at(study.shortfalls[i]));
      join(strand.stretches);
    }
  return index;
}

}  // namespace mien::editor
