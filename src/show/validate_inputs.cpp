#include <algorithm>

#include "show/report.hpp"

namespace mien::show {

void validate_inputs(const Show& show, const Rig& rig, Report& report) {
  std::vector<std::string> markers = names_of(show.markers);
  for (const Input& input : rig.inputs) {
    const auto* from = std::get_if<PlayFrom>(&input.action);
    if (!from || std::find(markers.begin(), markers.end(), from->marker) != markers.end()) continue;
    report.warning("markers", "there is no marker " + quoted(from->marker) + ", from which the rig's input " + quoted(input.name) + " plays",
                   cure_for_unknown(from->marker, markers, "Add the marker, or that input will do nothing on this show."));
  }
}

}  // namespace mien::show
