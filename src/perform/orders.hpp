// What another machine asks of the show that is on, put into effect by whoever runs it.
#pragma once
#include <functional>
#include <string>

#include "live/osc_ear.hpp"
#include "show/show.hpp"

namespace mien::perform {

/// The show's runner, as other machines may reach it: none of it arms, and where nothing is set nothing happens.
struct Runner {
  std::function<void()> play, stop;
  std::function<void(show::Time)> locate;           ///< playing goes on from there
  std::function<void(const std::string&)> on_cue;
  bool followed = false;                            ///< another machine's time leads the show: play, stop, locate and marker are left to it
};

/// Does what the order says; returns a line for a person: what was done, or why not.
std::string obey(const live::NetworkOrder& order, const show::Show& show, const Runner& runner);

}  // namespace mien::perform
