// Where a program keeps what is a person's own and no show: the XDG Base Directory Specification (freedesktop.org, version 0.8).
#pragma once
#include <filesystem>
#include <functional>
#include <string>

namespace mien::store {

/// Absolute; empty where the environment tells none (no HOME): then nothing is kept.
struct Places {
  std::filesystem::path config;  ///< what the person chose: `settings`, `keys`
  std::filesystem::path state;   ///< what happened: `recent`, `recovery/`
};

/// $XDG_CONFIG_HOME/mien and $XDG_STATE_HOME/mien; where one is unset, empty or relative (which the specification says to ignore)
/// $HOME/.config/mien and $HOME/.local/state/mien. `look_up` gives an environment variable, nullptr where there is none.
Places places_of(const std::function<const char*(const char*)>& look_up);
Places user_places();

}  // namespace mien::store
