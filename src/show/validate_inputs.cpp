#include <algorithm>

#include "show/report.hpp"

namespace mien::show {

void validate_inputs(const Show& show, const Rig& rig, Report& report) {
  std::vector<std::string> markers = names_of(show.markers);
  const std::vector<std::string> cues = names_of(show.cues);
  for (const Input& input : rig.inputs) {
    if (const auto* start = std::get_if<StartCue>(&input.action); start && std::find(cues.begin(), cues.end(), start->cue) == cues.end())
      report.warning("cues", "there is no cue " + quoted(start->cue) + ", which the rig's input " + quoted(input.name) + " starts",
                     cure_for_unknown(start->cue, cues, "Add the cue, or that input will do nothing on this show."));
    const auto* from = std::get_if<PlayFrom>(&input.action);
    if (!from || std::find(markers.begin(), markers.end(), from->marker) != markers.end()) continue;
    report.warning("markers", "there is no marker " + quoted(from->marker) + ", from which the rig's input " + quoted(input.name) + " plays",
                   cure_for_unknown(from->marker, markers, "Add the marker, or that input will do nothing on this show."));
  }
}

}  // namespace mien::show
