// The least and greatest value of any stretch of a channel's keys, exactly and without looking at each: of every sixteen keys both are kept, and of every sixteen of
// those. Made once for a channel's keys; a curve of a million then costs what its columns on screen do, at any zoom.
#pragma once
#include <map>
#include <vector>

#include "show/show.hpp"

namespace mien::editor {

class ValueReach {
 public:
  struct Reach { double low = 0, high = 0; };

  explicit ValueReach(show::ChannelPtr channel);  ///< not null
  /// Of keys [first, last). Precondition: first < last <= the channel's keys.
  Reach of(std::size_t first, std::size_t last) const noexcept;

 private:
  show::ChannelPtr channel_;
  std::vector<std::vector<Reach>> levels_;  ///< the first: of each whole block of keys; every other one: of each whole block of the level below
};

/// Those of the channels that are shown, each kept for as long as the channel's keys stay and somebody asks for it every frame.
class ValueReaches {
 public:
  /// Made where it isn't there yet; stays where it is until the frame after the next.
  const ValueReach& of(const show::ChannelPtr& channel);
  /// Forgets those that nobody asked for since the last call.
  void end_frame();

 private:
  struct Kept { ValueReach reach; bool asked = true; };
  std::map<show::ChannelPtr, Kept> all_;
};

}  // namespace mien::editor
