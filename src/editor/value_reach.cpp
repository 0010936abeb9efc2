#include "editor/value_reach.hpp"

#include <algorithm>

namespace mien::editor {
namespace {

constexpr std::size_t kBlock = 16;

void widen(ValueReach::Reach& reach, double low, double high) noexcept { reach.low = std::min(reach.low, low), reach.high = std::max(reach.high, high); }

}  // namespace

ValueReach::ValueReach(show::ChannelPtr channel) : channel_(std::move(channel)) {
  const auto& keys = channel_->keys;
  std::vector<Reach> level;
  level.reserve(keys.size() / kBlock);
  for (std::size_t first = 0; first + kBlock <= keys.size(); first += kBlock) {
    Reach reach{keys[first].value, keys[first].value};
    for (std::size_t i = first + 1; i < first + kBlock; ++i) widen(reach, keys[i].value, keys[i].value);
    level.push_back(reach);
  }
  while (!level.empty()) {
    levels_.push_back(std::move(level));
    const auto& below = levels_.back();
    level = {};
    for (std::size_t first = 0; first + kBlock <= below.size(); first += kBlock) {
      Reach reach = below[first];
      for (std::size_t i = first + 1; i < first + kBlock; ++i) widen(reach, below[i].low, below[i].high);
      level.push_back(reach);
    }
  }
}

ValueReach::Reach ValueReach::of(std::size_t first, std::size_t last) const noexcept {
  const auto& keys = channel_->keys;
  Reach reach{keys[first].value, keys[first].value};
  const auto take_key = [&](std::size_t i) { widen(reach, keys[i].value, keys[i].value); };
  while (first < last && first % kBlock != 0) take_key(first++);
  while (first < last && last % kBlock != 0) take_key(--last);
  // What is left are whole blocks, and whole blocks of these above them.
  for (const auto& level : levels_) {
    first /= kBlock, last /= kBlock;
    const bool top = &level == &levels_.back();
    while (first < last && (top || first % kBlock != 0)) widen(reach, level[first].low, level[first].high), ++first;
    while (first < last && last % kBlock != 0) --last, widen(reach, level[last].low, level[last].high);
  }
  return reach;
}

const ValueReach& ValueReaches::of(const show::ChannelPtr& channel) {
  auto at = all_.find(channel);
  if (at == all_.end()) at = all_.emplace(channel, Kept{ValueReach(channel)}).first;
  at->second.asked = true;
  return at->second.reach;
}

void ValueReaches::end_frame() {
  std::erase_if(all_, [](const auto& entry) { return !entry.second.asked; });
  for (auto& [channel, kept] : all_) kept.asked = false;
}

}  // namespace mien::editor
