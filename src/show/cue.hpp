// Cues: what a head can be asked for at any moment, by a hand, a visitor, a clock or another machine, on top of the show and of idle life.
#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "show/time.hpp"

namespace mien::show {

/// Bounds, so that a broken file asks for nothing absurd.
inline constexpr std::size_t kMaxCues = 128, kMostChoices = 64;
inline constexpr int kMostPriority = 100;
inline constexpr Time kLongestFade{60'000'000'000}, kLongestWait{86'400'000'000'000};  ///< a minute; a day
inline constexpr Time kDay{86'400'000'000'000};

/// A clip, once or round and round.
struct CueClip {
  std::string clip;
  bool loops = false;
  friend bool operator==(const CueClip&, const CueClip&) = default;
};

/// A pose, by a weight from rest, as poses are keyed.
struct CuePose {
  std::string pose;
  double weight = 1;
  friend bool operator==(const CuePose&, const CuePose&) = default;
};

/// The show from one marker to another, with its sound; then the show goes back to where it stood. The show has one playhead, so that two of these never
/// are at once.
struct CueStretch {
  std::string from, until;  ///< names of markers; an empty one is the show's beginning or end. Of markers of a name the first counts
  friend bool operator==(const CueStretch&, const CueStretch&) = default;
};

/// Something beside the servos: the name of a state where its control has states, "on" or "off", or a value of its control.
struct CueState {
  std::string auxiliary;
  std::string state;
  friend bool operator==(const CueState&, const CueState&) = default;
};

/// One of several cues, by chance, and not the one before where there is another. It lasts as long as the one that it chose.
struct CueChoice {
  std::vector<std::string> cues;
  std::uint32_t seed = 1;  ///< the same seed and the same starts give the same choices
  friend bool operator==(const CueChoice&, const CueChoice&) = default;
};

/// Ends all that runs and has no higher priority.
struct CueStop {
  friend bool operator==(const CueStop&, const CueStop&) = default;
};

using CueDeed = std::variant<CueClip, CuePose, CueStretch, CueState, CueChoice, CueStop>;

/// A cue begins, fading in while it plays; where what it plays is over it stands for `hold`, then it ends, fading out. A pose, a state and a clip that loops are
/// never over by themselves: they last for `hold`, and until they are released where it is 0.
///
/// Two cues meet where they move the same control, or both the show. The one that begins ends the other, unless that has a higher priority: then it doesn't begin.
struct Cue {
  std::string name;
  CueDeed deed{};
  Time fade_in{200'000'000}, fade_out{400'000'000};
  Time hold{0};
  std::string follow{};    ///< the cue that begins as this one ends, unless this one was released; it waits until nobody is in its way. Empty: none
  int priority = 0;
  Time pause{0};           ///< at least so long from its end to its next beginning. Whoever asks in between is not heard; one that follows waits

  // What starts it besides its name, a board's input (show/input.hpp), a map's trigger (live/hand_map.hpp) and a cue before it:
  std::string key{};                 ///< a letter or digit, at the window's cue board; empty: none
  std::optional<Time> at_time{};     ///< the show plays past this time, whether by itself or because it follows a time code
  std::optional<Time> at_clock{};    ///< local time of day, each day
  friend bool operator==(const Cue&, const Cue&) = default;
};

/// "clip", "pose", "stretch", "state", "choice", "stop".
const char* kind_name(const CueDeed& deed) noexcept;
/// For people: "clip nod, round and round", "stretch hello to goodbye", "one of a, b, c".
std::string to_text(const CueDeed& deed);
/// -1 where there is none of that name.
int cue_index(const std::vector<Cue>& cues, std::string_view name) noexcept;

/// "HH:MM" or "HH:MM:SS", to the second; nothing for what is no time of day.
std::optional<Time> parse_clock(std::string_view text) noexcept;
std::string clock_text(Time time_of_day);  ///< "08:05:00"

}  // namespace mien::show
