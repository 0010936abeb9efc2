#include "show/edit.hpp"

#include <algorithm>
#include <cmath>

namespace mien::show {
namespace {

struct Place {
  std::size_t channel = 0, key = 0;
  friend auto operator<=>(const Place&, const Place&) = default;  // NOLINT(modernize-use-nullptr): of what the compiler makes of it
};

bool earlier(const Keyframe& a, const Keyframe& b) noexcept { return a.time < b.time; }

std::size_t channel_index(const Show& show, const std::string& control) noexcept {
  std::size_t i = 0;
  while (i < show.channels.size() && show.channels[i]->control != control) ++i;
  return i;
}

// Where the named keys stand, in the order named; names of keys that are not there are left out.
std::vector<Place> places(const Show& show, std::span<const KeyRef> keys) {
  std::vector<Place> found;
  found.reserve(keys.size());
  std::size_t channel = show.channels.size();
  const std::string* control = nullptr;
  for (const KeyRef& key : keys) {
    if (!control || *control != key.control) channel = channel_index(show, key.control), control = &key.control;
    if (channel == show.channels.size()) continue;
    const auto& frames = show.channels[channel]->keys;
    const auto at = std::lower_bound(frames.begin(), frames.end(), Keyframe{key.time}, earlier);
    if (at != frames.end() && at->time == key.time)
      found.push_back({channel, static_cast<std::size_t>(at - frames.begin())});
  }
  return found;
}

// Calls edit(channel, key places) with a copy of each channel that has named keys, the places rising, each once.
template <class Edit>
Show edited(const Show& show, std::vector<Place> named, Edit edit) {
  std::sort(named.begin(), named.end());
  named.erase(std::unique(named.begin(), named.end()), named.end());
  Show result = show;
  for (auto from = named.begin(); from != named.end();) {
    const auto to = std::find_if(from, named.end(), [&](const Place& p) { return p.channel != from->channel; });
    auto channel = std::make_shared<Channel>(*show.channels[from->channel]);
    edit(*channel, std::span<const Place>(from, to));
    result.channels[from->channel] = std::move(channel);
    from = to;
  }
  return result;
}

// Takes the keys at `named` (rising) out of `keys` and returns them.
std::vector<Keyframe> extract(std::vector<Keyframe>& keys, std::span<const Place> named) {
  std::vector<Keyframe> taken, left;
  taken.reserve(named.size());
  left.reserve(keys.size() - named.size());
  auto next = named.begin();
  for (std::size_t i = 0; i < keys.size(); ++i) {
    const bool is_named = next != named.end() && next->key == i;
    (is_named ? taken : left).push_back(keys[i]);
    if (is_named) ++next;
  }
  keys = std::move(left);
  return taken;
}

// Both in strictly rising time; where two keys share a time, that of `winners` stays.
std::vector<Keyframe> merged(const std::vector<Keyframe>& keys, const std::vector<Keyframe>& winners) {
  std::vector<Keyframe> all;
  all.reserve(keys.size() + winners.size());
  std::set_union(winners.begin(), winners.end(), keys.begin(), keys.end(), std::back_inserter(all), earlier);
  return all;
}

// Puts keys (strictly rising) into the control's channel, which is made where there is none.
void put(Show& show, const std::string& control, const std::vector<Keyframe>& keys) {
  const std::size_t i = channel_index(show, control);
  if (i == show.channels.size()) show.channels.push_back(std::make_shared<const Channel>(Channel{control, {}}));
  show.channels[i] = std::make_shared<const Channel>(Channel{control, merged(show.channels[i]->keys, keys)});
}

// dt, or as much of it as leaves every named key within [0, length]. Keys that are outside already don't hold the others back.
Time room_for(const Show& show, const std::vector<Place>& named, Time dt) noexcept {
  Time first = Time::max(), last = Time::min();
  for (const Place& p : named) {
    const Time t = show.channels[p.channel]->keys[p.key].time;
    first = std::min(first, t);
    last = std::max(last, t);
  }
  const Time back = first > Time{0} ? -first : Time{0};
  const Time ahead = last < show.length ? show.length - std::max(last, Time{0}) : Time{0};
  return std::clamp(dt, back, ahead);
}

}  // namespace

Show with_key(const Show& show, const std::string& control, const Keyframe& key) {
  Show result = show;
  if (std::isfinite(key.value)) put(result, control, {key});
  return result;
}

Show without_keys(const Show& show, std::span<const KeyRef> keys) {
  return edited(show, places(show, keys),
                [](Channel& channel, std::span<const Place> named) { extract(channel.keys, named); });
}

Show with_keys_moved(const Show& show, std::span<const KeyRef> keys, Time dt, double dv, std::vector<KeyRef>* moved) {
  const auto named = places(show, keys);
  if (moved) moved->clear();
  if (named.empty()) return show;
  dt = room_for(show, named, dt);
  if (moved) {
    for (const Place& p : named)
      moved->push_back({show.channels[p.channel]->control, show.channels[p.channel]->keys[p.key].time + dt});
  }
  return edited(show, named, [&](Channel& channel, std::span<const Place> places_here) {
    auto taken = extract(channel.keys, places_here);
    for (Keyframe& key : taken) {
      key.time += dt;
      if (std::isfinite(key.value + dv)) key.value += dv;
    }
    channel.keys = merged(channel.keys, taken);
  });
}

Show with_values(const Show& show, std::span<const KeyRef> keys, double value) {
  if (!std::isfinite(value)) return show;
  return edited(show, places(show, keys), [&](Channel& channel, std::span<const Place> named) {
    for (const Place& p : named) channel.keys[p.key].value = value;
  });
}

Show with_easing(const Show& show, std::span<const KeyRef> keys, const Easing& easing) {
  return edited(show, places(show, keys), [&](Channel& channel, std::span<const Place> named) {
    for (const Place& p : named) channel.keys[p.key].easing = easing;
  });
}

KeyBundle copy_keys(const Show& show, std::span<const KeyRef> keys) {
  KeyBundle bundle;
  Time earliest = Time::max();
  edited(show, places(show, keys), [&](Channel& channel, std::span<const Place> named) {
    bundle.strands.push_back({channel.control, extract(channel.keys, named)});
    earliest = std::min(earliest, bundle.strands.back().keys.front().time);
  });
  for (auto& strand : bundle.strands) {
    for (Keyframe& key : strand.keys) key.time -= earliest;
  }
  return bundle;
}

Show with_pasted(const Show& show, const KeyBundle& bundle, Time at, std::vector<KeyRef>* pasted) {
  Show result = show;
  if (pasted) pasted->clear();
  for (const auto& strand : bundle.strands) {
    std::vector<Keyframe> keys;
    for (Keyframe key : strand.keys) {
      if (key.time < -at || key.time > show.length - at || !std::isfinite(key.value)) continue;
      key.time += at;
      keys.push_back(key);
    }
    if (keys.empty()) continue;
    std::stable_sort(keys.begin(), keys.end(), earlier);
    keys.erase(std::unique(keys.begin(), keys.end(), [](const auto& a, const auto& b) { return a.time == b.time; }),
               keys.end());
    put(result, strand.control, keys);
    if (pasted) {
      for (const Keyframe& key : keys) pasted->push_back({strand.control, key.time});
    }
  }
  return result;
}

}  // namespace mien::show
