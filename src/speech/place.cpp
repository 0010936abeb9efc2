#include "speech/place.hpp"

#include <algorithm>
#include <memory>

namespace mien::speech {

show::Show with_mouth(const show::Show& before, std::span<const Track> tracks, show::Time start, show::Range range) {
  show::Show after = before;
  for (const auto& track : tracks) {
    auto channel = std::find_if(after.channels.begin(), after.channels.end(), [&](const auto& c) { return c->control == track.control; });
    if (channel == after.channels.end()) channel = after.channels.insert(after.channels.end(), std::make_shared<const show::Channel>(show::Channel{track.control, {}}));
    show::Channel made{track.control, {}};
    for (const auto& key : (*channel)->keys)
      if (!range.contains(key.time)) made.keys.push_back(key);
    for (auto key : track.keys) {
      key.time += start;
      if (key.time >= show::Time{0} && key.time <= after.length && range.contains(key.time)) made.keys.push_back(key);
    }
    std::stable_sort(made.keys.begin(), made.keys.end(), [](const auto& a, const auto& b) { return a.time < b.time; });
    made.keys.erase(std::unique(made.keys.begin(), made.keys.end(), [](const auto& a, const auto& b) { return a.time == b.time; }), made.keys.end());
    *channel = std::make_shared<const show::Channel>(std::move(made));
  }
  return after;
}

}  // namespace mien::speech
