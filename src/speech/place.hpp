// Where mouths go in a show: the one place that knows.
#pragma once
#include <span>

#include "show/show.hpp"
#include "speech/mouth.hpp"

namespace mien::speech {

/// Puts tracks, whose times count from `start`, on the channels of their controls. Keys of those channels within `range` are replaced, all
/// others stay as they are; a channel that isn't there is made. Keys outside of [0, show.length] are left out.
show::Show with_mouth(const show::Show& show, std::span<const Track> tracks, show::Time start, show::Range range);

}  // namespace mien::speech
