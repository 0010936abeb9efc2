#include "editor/lanes.hpp"

#include <algorithm>
#include <unordered_map>

#include "show/lane_order.hpp"

namespace mien::editor {
namespace {

std::size_t index_of_group(const show::Rig& rig, const std::string& group) {
  const auto at = std::find_if(rig.groups.begin(), rig.groups.end(), [&](const show::Group& g) { return g.name == group; });
  return static_cast<std::size_t>(at - rig.groups.begin());
}

void gather_layers(const show::Show& show, const std::set<std::string, std::less<>>& folded, std::vector<Lane>& lanes) {
  if (show.layers.empty()) return;
  Lane head;
  head.kind = Lane::Kind::group, head.name = kLayers, head.is_folded = folded.contains(kLayers);
  lanes.push_back(head);
  if (head.is_folded) return;
  for (auto layer = show.layers.rbegin(); layer != show.layers.rend(); ++layer) {
    Lane lane;
    lane.kind = Lane::Kind::layer, lane.name = (*layer)->name, lane.layer = layer->get();
    lanes.push_back(std::move(lane));
  }
}

}  // namespace

LanePlace place_of_lane(const show::Rig& rig, const show::Show& show, const std::string& control) {
  for (const auto& group : show::lane_order(rig, show.channels))
    for (std::size_t i = 0; i < group.size(); ++i)
      if (rig.controls[group[i]].name == control) return {i, group.size()};
  return {};
}

std::size_t group_index(const show::Rig& rig, const std::string& control) {
  for (const show::Control& c : rig.controls)
    if (c.name == control) return index_of_group(rig, c.group);
  return rig.groups.size();
}

std::vector<Lane> gather_lanes(const show::Rig& rig, const show::Show& show, const std::set<std::string, std::less<>>& folded, bool with_layers) {
  std::unordered_map<std::string, const show::Channel*> channels;
  for (const show::ChannelPtr& c : show.channels)
    if (c) channels.emplace(c->control, c.get());

  const std::vector<std::vector<std::size_t>> members = show::lane_order(rig, show.channels);

  std::vector<Lane> lanes;
  if (with_layers) gather_layers(show, folded, lanes);
  for (std::size_t g = 0; g < members.size(); ++g) {
    if (members[g].empty()) continue;
    Lane head{Lane::Kind::group, g < rig.groups.size() ? rig.groups[g].name : "Other", g, 0, nullptr, {}, {}, false};
    head.is_folded = folded.contains(head.name);
    const std::size_t head_at = lanes.size();
    lanes.push_back(std::move(head));
    for (const std::size_t c : members[g]) {
      const auto found = channels.find(rig.controls[c].name);
      const show::Channel* channel = found == channels.end() ? nullptr : found->second;
      if (!lanes[head_at].is_folded) {
        lanes.push_back({Lane::Kind::control, rig.controls[c].name, g, c, channel, {}, {static_cast<int>(c)}, false});
        continue;
      }
      lanes[head_at].controls.push_back(static_cast<int>(c));
      if (channel) lanes[head_at].folded.push_back(channel);
    }
  }
  return lanes;
}

}  // namespace mien::editor
