// What another machine asks of the show that is on, put into effect by whoever runs it.
#pragma once
#include <functional>
#include <string>

#include "live/osc_ear.hpp"
#include "perform/cue_side.hpp"
#include "show/show.hpp"

namespace mien::perform {

/// The show's runner, as other machines may reach it: none of it arms, and where nothing is set nothing happens.
struct Runner {
  std::function<void()> play, stop;
  std::function<void(show::Time)> locate;           ///< playing goes on from there
  std::function<void(int)> start_cue;               ///< by its place in the show's list
  bool followed = false;                            ///< another machine's time leads the show: play, stop, locate and marker are left to it
};

/// Does what the order says; returns a line for a person: what was done, or why not.
std::string obey(const live::NetworkOrder& order, const show::Show& show, const Runner& runner);

/// The cue that other machines are told of: of those that play or hold the one with the highest priority, of equals the later in the list; empty where none does.
std::string cue_on(const CuesNow& now, const show::Show& show);

}  // namespace mien::perform
