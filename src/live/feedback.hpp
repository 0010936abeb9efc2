// What lights and motor faders of a device are told: the current value of what their knobs lead, and which of their keys are on. Pure: knows no device and no clock.
//
// A knob's value comes back as the message that would have set it: controllers (both halves of a 14-bit one), notes, pressure and bend as in the MIDI 1.0 Detailed
// Specification, on the channel of the map's line (1 where it hears any).
#pragma once
#include <array>
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "live/hands.hpp"

namespace mien::live {

inline constexpr std::int64_t kFeedbackEvery_ns = 33'000'000;     ///< of one line: motor faders follow thirty times a second
inline constexpr std::int64_t kHandOff_ns = 500'000'000;          ///< for so long after a knob was touched nothing moves it
inline constexpr std::size_t kMostTold = 64;                      ///< messages of one call; the rest is told by the next

struct FeedbackMessage {
  int device = -1;                     ///< -1: of the line that hears any device: all of them
  std::array<std::uint8_t, 6> bytes{};
  int count = 0;
};

/// What was told last; a value. Starts with nothing told, so that the first call tells everything.
class Feedback {
 public:
  explicit Feedback(HandProgramPtr program);
  /// A touch that came in: while a hand is on a knob, nothing is sent to it. What it told is where the device knows that it stands.
  void touched(const Touch& touch, std::int64_t now_ns);
  /// What is to be sent now. `control`: current values, by control index; `running`: by cue of the show, whether it plays (may be shorter); `lit`: by trigger of the program, whether its
  /// pose or clip is on (likewise). A value that no map
  /// line could have set (beyond its low and high) is held at the nearer end.
  std::vector<FeedbackMessage> tell(std::span<const double> control, std::span<const char> running, int bank, std::int64_t now_ns, std::span<const char> lit = {});
  /// All is to be told again, as after a device was plugged in.
  void forget();

 private:
  struct Line { int told = -1; std::int64_t told_ns = INT64_MIN / 2, touched_ns = INT64_MIN / 2; };
  HandProgramPtr program_;
  std::vector<Line> knobs_, triggers_;
  std::size_t next_ = 0;  // where the last call stopped for want of room
};

}  // namespace mien::live
