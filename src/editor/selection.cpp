#include "editor/selection.hpp"

#include <algorithm>

namespace mien::editor {

std::size_t Selection::size() const noexcept {
  std::size_t count = 0;
  for (const auto& [control, list] : times) count += list.size();
  return count;
}

const std::vector<show::Time>* Selection::of(std::string_view control) const noexcept {
  const auto found = times.find(control);
  return found == times.end() ? nullptr : &found->second;
}

bool Selection::contains(std::string_view control, show::Time time) const noexcept {
  const auto* list = of(control);
  return list && std::binary_search(list->begin(), list->end(), time);
}

void Selection::add(const show::KeyRef& key) {
  auto& list = times[key.control];
  const auto at = std::lower_bound(list.begin(), list.end(), key.time);
  if (at == list.end() || *at != key.time) list.insert(at, key.time);
}

void Selection::remove(const show::KeyRef& key) {
  const auto found = times.find(key.control);
  if (found == times.end()) return;
  std::erase(found->second, key.time);
  if (found->second.empty()) times.erase(found);
}

std::vector<show::KeyRef> Selection::refs() const {
  std::vector<show::KeyRef> all;
  all.reserve(size());
  for (const auto& [control, list] : times)
    for (const show::Time t : list) all.push_back({control, t});
  return all;
}

Selection Selection::from(std::vector<show::KeyRef> refs) {
  std::sort(refs.begin(), refs.end());
  refs.erase(std::unique(refs.begin(), refs.end()), refs.end());
  Selection s;
  for (const show::KeyRef& r : refs) s.times[r.control].push_back(r.time);
  return s;
}

const show::Keyframe* find_key(const show::Show& show, const show::KeyRef& ref) noexcept {
  const show::Channel* channel = show::find_channel(show, ref.control);
  return channel ? find_key(*channel, ref.time) : nullptr;
}

const show::Keyframe* find_key(const show::Channel& channel, show::Time time) noexcept {
  const auto at = std::lower_bound(channel.keys.begin(), channel.keys.end(), time, [](const show::Keyframe& k, show::Time t) { return k.time < t; });
  return at != channel.keys.end() && at->time == time ? &*at : nullptr;
}

Selection kept(const Selection& selection, const show::Show& show) {
  Selection s;
  for (const auto& [control, list] : selection.times) {
    const show::Channel* channel = show::find_channel(show, control);
    if (!channel) continue;
    std::vector<show::Time> still;
    for (const show::Time t : list)
      if (find_key(*channel, t)) still.push_back(t);
    if (!still.empty()) s.times[control] = std::move(still);
  }
  return s;
}

Selection keys_in(const show::Show& show, show::Range range, const std::vector<std::string>& controls) {
  Selection s;
  for (const show::ChannelPtr& channel : show.channels) {
    if (!channel || (!controls.empty() && std::find(controls.begin(), controls.end(), channel->control) == controls.end())) continue;
    std::vector<show::Time> times;
    const auto from = std::lower_bound(channel->keys.begin(), channel->keys.end(), range.begin, [](const show::Keyframe& k, show::Time t) { return k.time < t; });
    for (auto k = from; k != channel->keys.end() && k->time <= range.end; ++k) times.push_back(k->time);
    if (!times.empty()) s.times[channel->control] = std::move(times);
  }
  return s;
}

Selection all_keys(const show::Show& show) {
  Selection s;
  for (const show::ChannelPtr& channel : show.channels) {
    if (!channel || channel->keys.empty()) continue;
    auto& list = s.times[channel->control];
    list.reserve(channel->keys.size());
    for (const show::Keyframe& k : channel->keys) list.push_back(k.time);
  }
  return s;
}

}  // namespace mien::editor
