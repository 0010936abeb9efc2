#include "perform/orders.hpp"

#include <algorithm>

namespace mien::perform {

std::string obey(const live::NetworkOrder& order, const show::Show& show, const Runner& runner) {
  using K = live::NetworkOrder::Kind;
  const std::string said = to_text(order);
  if (order.what == K::cue) {
    if (!runner.on_cue) return said + ": nothing to do, no cues are on";
    runner.on_cue(order.name);
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

}  // namespace mien::perform
