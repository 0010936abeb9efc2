#include "show/lane_order.hpp"

#include <algorithm>
#include <optional>

namespace mien::show {
namespace {

std::size_t group_of(const Rig& rig, std::size_t control) {
  const auto at = std::find_if(rig.groups.begin(), rig.groups.end(), [&](const Group& g) { return g.name == rig.controls[control].group; });
  return static_cast<std::size_t>(at - rig.groups.begin());
}

std::optional<std::size_t> index_of(const Rig& rig, const std::string& control) {
  for (std::size_t i = 0; i < rig.controls.size(); ++i)
    if (rig.controls[i].name == control) return i;
  return {};
}

bool has_channel(const std::vector<ChannelPtr>& channels, const std::string& control) {
  return std::any_of(channels.begin(), channels.end(), [&](const ChannelPtr& c) { return c && c->control == control; });
}

// Where in the list the channels of a group stand.
std::vector<std::size_t> places_of(const Rig& rig, const std::vector<ChannelPtr>& channels, std::size_t group) {
  std::vector<std::size_t> places;
  for (std::size_t i = 0; i < channels.size(); ++i) {
    const auto control = channels[i] ? index_of(rig, channels[i]->control) : std::nullopt;
    if (control && group_of(rig, *control) == group) places.push_back(i);
  }
  return places;
}

// The group's channels in the order wanted, in the places that they have.
void arrange(const Rig& rig, std::vector<ChannelPtr>& channels, std::size_t group, const std::vector<std::size_t>& wanted) {
  const std::vector<std::size_t> places = places_of(rig, channels, group);
  std::vector<ChannelPtr> mine;
  for (const std::size_t control : wanted)
    for (const std::size_t place : places)
      if (channels[place]->control == rig.controls[control].name) mine.push_back(channels[place]);
  if (mine.size() != places.size()) return;  // two of one control: not ours to sort
  for (std::size_t i = 0; i < places.size(); ++i) channels[places[i]] = mine[i];
}

}  // namespace

std::vector<std::vector<std::size_t>> lane_order(const Rig& rig, const std::vector<ChannelPtr>& channels) {
  std::vector<std::vector<std::size_t>> groups(rig.groups.size() + 1);
  for (std::size_t i = 0; i < rig.controls.size(); ++i) groups[group_of(rig, i)].push_back(i);
  for (std::size_t g = 0; g < groups.size(); ++g) {
    std::vector<std::size_t> with;
    for (const std::size_t place : places_of(rig, channels, g))
      if (const std::size_t control = *index_of(rig, channels[place]->control); std::find(with.begin(), with.end(), control) == with.end()) with.push_back(control);
    std::size_t next = 0;
    for (std::size_t& slot : groups[g])
      if (has_channel(channels, rig.controls[slot].name) && next < with.size()) slot = with[next++];
  }
  return groups;
}

Show with_lane_at(const Show& show, const Rig& rig, const std::string& control, std::size_t index, bool make_channels) {
  Show after = show;
  const auto which = index_of(rig, control);
  if (!which || (!make_channels && !has_channel(show.channels, control))) return after;
  const std::size_t group = group_of(rig, *which);
  std::vector<std::size_t> wanted = lane_order(rig, show.channels)[group];
  std::erase(wanted, *which);
  wanted.insert(wanted.begin() + static_cast<std::ptrdiff_t>(std::min(index, wanted.size())), *which);
  arrange(rig, after.channels, group, wanted);
  if (!make_channels || lane_order(rig, after.channels)[group] == wanted) return after;
  for (const std::size_t c : wanted)
    if (!has_channel(after.channels, rig.controls[c].name)) after.channels.push_back(std::make_shared<const Channel>(Channel{rig.controls[c].name, {}}));
  arrange(rig, after.channels, group, wanted);
  return after;
}

void settle_new_channels(std::vector<ChannelPtr>& after, const std::vector<ChannelPtr>& before, const Rig& rig) {
  for (std::size_t control = 0; control < rig.controls.size(); ++control) {
    const std::string& name = rig.controls[control].name;
    const auto at = std::find_if(after.begin(), after.end(), [&](const ChannelPtr& c) { return c && c->control == name; });
    if (at == after.end() || has_channel(before, name)) continue;
    const ChannelPtr fresh = *at;
    after.erase(at);
    // The lane stands in the rig's place of its control; as many channels of the group as have places above it come first.
    const std::size_t group = group_of(rig, control);
    const std::vector<std::size_t> places = places_of(rig, after, group);
    std::size_t above = 0;
    for (const std::size_t place : places) above += *index_of(rig, after[place]->control) < control;
    const std::size_t where = above < places.size() ? places[above] : places.empty() ? after.size() : places.back() + 1;
    after.insert(after.begin() + static_cast<std::ptrdiff_t>(where), fresh);
  }
}

}  // namespace mien::show
