// The editor: the window in which a show is made, seen and performed.
#pragma once
#include <filesystem>
#include <optional>
#include <string>

#include "show/finding.hpp"

namespace mien::editor {

struct Options {
  std::filesystem::path show;     ///< opened at the start; empty: none
  std::string port;               ///< connected at the start (never armed by itself); empty: none
  std::string theme;              ///< dark, light or system, for this session; empty: as the settings say
  bool mute = false;              ///< no sound device is touched
  float scale = 0;                ///< 0: the monitor's content scale
  int width = 0, height = 0;      ///< design pixels; 0: as fits the monitor
  std::filesystem::path journal;  ///< one line for each command and change of state is appended there; empty: none.
                                  ///< FILE.places beside it then says where every widget stands: a name and its edges a line
};

/// Runs the window until the person closes it, or SIGTERM or SIGINT arrives (no question asked then). Nothing where all went well;
/// a finding where no window could be opened. Where the display goes away the process ends by itself: at once with exit code 1 where no head was driven, else with 0 when
/// the performance that goes on without it is over and the head at rest, or a signal came. Call from the main thread, once.
std::optional<show::Finding> run(const Options& options);

}  // namespace mien::editor
