// Hands for the command line: a map, the devices or the script that play it, and what is recorded of it.
#pragma once
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/commands.hpp"
#include "live/devices.hpp"
#include "live/take.hpp"
#include "show/finding.hpp"
#include "show/show.hpp"

namespace mien::app {

/// The options --hands, --midi and so on, as far as they are sensible without --hands; nothing where they are.
std::optional<show::Finding> senseless(const HandWords& words);

/// A map on a show, with its touches; made before the performance.
struct Hands {
  live::HandMap map;
  std::vector<live::Touch> script;  ///< at_ns from the beginning of the performance
  live::HandProgramPtr program;
  show::Findings notes;
  std::vector<std::string> addresses{};  ///< of OSC, by number: the rig's controls and the map's
};
/// The controls that --record-only leaves out; the finding names one that the rig hasn't.
show::Result<std::vector<std::string>> spared(const HandWords& words, const show::Rig& rig);

/// Without a map only OSC's own addresses are there. `devices` numbers those that the map names, so that they are heard from the moment they are there.
show::Result<Hands> hands_for(const HandWords& words, std::shared_ptr<const show::Rig> rig, show::ShowPtr show, live::Devices& devices);

}  // namespace mien::app
