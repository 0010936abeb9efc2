#include "perform/orders.hpp"

#include <algorithm>

namespace mien::perform {

std::string obey(const live::NetworkOrder& order, const show::Show& show, const Runner& runner) {
  using K = live::NetworkOrder::Kind;
  std::string said = to_text(order);
  if (order.what == K::cue) {
    const int cue = show::cue_index(show.cues, order.name);
    if (cue < 0) return said + ": the show has no such cue";
    if (runner.start_cue) runner.start_cue(cue);
    return said;
  }
  if (runner.followed) return said + ": left out, the show follows another machine's time";
  if (order.what == K::play && runner.play) runner.play();
  if (order.what == K::stop && runner.stop) runner.stop();
  if (order.what == K::locate && runner.locate) runner.locate(std::min(order.time, show.length));
  if (order.what == K::marker) {
    const auto marker = std::find_if(show.markers.begin(), show.markers.end(), [&](const auto& m) { return m.name == order.name; });
    if (marker == show.markers.end()) return said + ": the show has no such marker";
    if (runner.locate) runner.locate(marker->time);
    if (runner.play) runner.play();
  }
  return said;
}

std::string cue_on(const CuesNow& now, const show::Show& show) {
  const show::Cue* on = nullptr;
  for (std::size_t n = 0; n < show.cues.size() && n < static_cast<std::size_t>(now.count); ++n) {
    const CuePhase phase = now.cue[n].phase;
    if ((phase == CuePhase::playing || phase == CuePhase::holding) && (!on || show.cues[n].priority >= on->priority)) on = &show.cues[n];
  }
  return on ? on->name : "";
}

}  // namespace mien::perform
