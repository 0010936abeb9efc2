// From a report of the performing thread to the lights and motor faders of devices.
#pragma once
#include <algorithm>

#include "live/feedback_out.hpp"
#include "perform/performer.hpp"

namespace mien::perform {

/// Tells the devices how things are by this report; call it as often as there is a new one.
inline void tell(live::FeedbackOut& out, const Report& report) {
  if (!report.hands.there) return;
  std::array<char, show::kMaxCues> running{};
  const auto cues = static_cast<std::size_t>(std::max(0, report.cues.count));
  for (std::size_t n = 0; n < cues; ++n) running[n] = report.cues.cue[n].phase == CuePhase::playing || report.cues.cue[n].phase == CuePhase::holding;
  out.now(std::span(report.control).first(static_cast<std::size_t>(std::max(0, report.controls))), std::span(running).first(cues),
          std::span(report.hands.lit).first(static_cast<std::size_t>(report.hands.triggers)), report.hands.bank, report.hands.heard, report.hands.last, report.hands.before);
}

}  // namespace mien::perform
