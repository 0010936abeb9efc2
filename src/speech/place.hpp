// Where mouths go in a show: the one place that knows.
#pragma once
#include <span>
#include <string>

#include "show/show.hpp"
#include "speech/mouth.hpp"

namespace mien::speech {

/// The layer that holds what is made from speech. It overrides: under its weight curve, which is 1 around every line and 0 elsewhere, the mouth is the
/// line's; everywhere else the mouth is whatever the show and its other layers have.
inline constexpr const char* kSpeechLayer = "speech";
/// How long before and after a line's phones its mouth may move, and how long its layer takes to come and go there.
inline constexpr show::Time kAround{400'000'000}, kFade{150'000'000};

/// Puts tracks, whose times count from `start`, on a layer's channels of their controls. Keys of those channels within `range` are replaced, all
/// others stay as they are, and so does the rest of the show; a layer that isn't there is made on top of the others, a channel that isn't there is made
/// in it. The layer's weight becomes its own (1 unless a person set another) within the range, with a fade on either side, and stays as it is elsewhere; one whose weight is constant
/// keeps it. Keys outside of [0, show.length] are left out.
show::Show with_mouth(const show::Show& show, std::span<const Track> tracks, show::Time start, show::Range range, const std::string& layer = kSpeechLayer,
                      show::Layer::Blend blend = show::Layer::Blend::over);

/// The layer's weight at that level within the range, with a fade at its beginning and its end, and as it was elsewhere; one that was constant becomes a curve, where it has another
/// level. A layer that isn't there stays so.
show::Show with_weight(const show::Show& show, show::Range range, double level, const std::string& layer = kSpeechLayer);

}  // namespace mien::speech
