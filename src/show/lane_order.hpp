// The order in which the lanes of a rig's groups stand. A show keeps it without a list of its own: where channels of one group stand in another
// order than the rig's controls, so do their lanes. Controls without a channel stay where the rig has them, and the others fill the places left.
#pragma once
#include <string>
#include <vector>

#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::show {

/// For each group of the rig, and behind them for the controls of no group that it lists, indexes into rig.controls as their lanes stand.
std::vector<std::vector<std::size_t>> lane_order(const Rig& rig, const std::vector<ChannelPtr>& channels);

/// The show with the control's lane at that place within its group (beyond the last: at the end). With `make_channels`, controls of the group
/// without a channel get an empty one where the order can't be told otherwise, which leaves them at rest as before; without it only lanes that
/// have channels change places. A control that the rig has not: the show as it is.
Show with_lane_at(const Show& show, const Rig& rig, const std::string& control, std::size_t index, bool make_channels = true);

/// Channels that `before` had not are put where no lane changes its place because of them.
void settle_new_channels(std::vector<ChannelPtr>& after, const std::vector<ChannelPtr>& before, const Rig& rig);

}  // namespace mien::show
