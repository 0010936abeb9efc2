// Layers baked down: what they make of the show's controls, sampled on the tick and written as keys on the show's own channels.
#pragma once
#include <functional>
#include <memory>
#include <string>

#include "show/rig.hpp"
#include "show/show.hpp"

namespace mien::perform {

struct BakeDown {
  double error_share = 0.002;                  ///< of each control's range, by which keys may miss a tick's value
  std::function<bool(double share)> go_on{};   ///< asked now and then with how much is done; false stops
};

struct BakedDown {
  show::Show show;
  int layers = 0;          ///< that are keys now
  int channels = 0;        ///< that they went to
  std::size_t keys = 0;    ///< that these have
  bool stopped = false;    ///< by go_on; the show is as it was
};

/// The layer of that name goes, and with it every layer under it that is not muted, since what lies on a layer depends on it; the show's channels
/// of the controls that they touch are written anew. What the head is asked for on each tick stays within error_share. A muted layer is baked only
/// where it is named itself, as if it were not muted. Without such a layer nothing changes. Layers above that add to a control which was beyond
/// its range add to the range's end afterwards.
BakedDown baked_down(const std::shared_ptr<const show::Rig>& rig, const show::Show& show, const std::string& layer, const BakeDown& settings = {});

}  // namespace mien::perform
