// What boards' digital inputs do at the host: a button at the bench, a mat in front of the head, a contact that a larger machine closes.
#pragma once
#include <string>
#include <variant>

namespace mien::show {

inline constexpr int kMaxInputs = 32;
inline constexpr int kMaxInputsPerBoard = 16;

/// Plays from where the show stands, or from its beginning where it stands at its end. A show that plays goes on.
struct PlayShow {
  friend bool operator==(const PlayShow&, const PlayShow&) = default;
};

/// Ends the show: it goes back to its beginning and stands. Outputs stay driven, so this is no emergency stop.
struct StopShow {
  friend bool operator==(const StopShow&, const StopShow&) = default;
};

/// Goes to a marker of whatever show is on and plays from there, whether or not it played. A show without that marker stays as it is.
struct PlayFrom {
  std::string marker;
  friend bool operator==(const PlayFrom&, const PlayFrom&) = default;
};

/// Tells an auxiliary of the kind code a state of its control, instead of what the show says, until another input tells it one or the show
/// is started or stopped.
struct SetState {
  std::string auxiliary;
  std::string state;
  friend bool operator==(const SetState&, const SetState&) = default;
};

/// Starts a cue of whatever show is on (show/cue.hpp). A show without that cue stays as it is.
struct StartCue {
  std::string cue;
  friend bool operator==(const StartCue&, const StartCue&) = default;
};

using InputAction = std::variant<PlayShow, StopShow, PlayFrom, SetState, StartCue>;

/// Does its action each time its line comes to the level that counts and stays there for a while; the level that it has when the board is
/// first heard is no coming.
struct Input {
  std::string name;
  std::string board;
  int line = 0;             ///< digital input of the board
  bool active_low = false;  ///< the level that counts is low, as with a contact to ground
  double settle_ms = 20;    ///< how long it must stand at a level for that to count: contacts bounce
  InputAction action{};
  friend bool operator==(const Input&, const Input&) = default;
};

}  // namespace mien::show
