// Time code: labels of frames, and MIDI Time Code's bytes for them.
//
// Sources: SMPTE ST 12-1 (labels, drop-frame counting); MIDI Time Code (MMA 1987, RP-004/008): quarter frames F1 0nnndddd, and the full frame
// F0 7F 7F 01 01 hh mm ss ff F7.
#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>

#include "show/time.hpp"

namespace mien::live {

/// In the order of MIDI Time Code's two bits.
enum class TimeCodeRate : std::uint8_t { fps_24, fps_25, fps_30_drop /* 29.97, labels 0 and 1 left out each minute but each tenth */, fps_30 };

struct TimeCode {
  TimeCodeRate rate = TimeCodeRate::fps_25;
  int hours = 0, minutes = 0, seconds = 0, frames = 0;
  friend bool operator==(const TimeCode&, const TimeCode&) = default;
};

/// Frames a second that labels count: 24, 25 or 30.
int labels_per_second(TimeCodeRate rate) noexcept;
/// False for numbers out of range and for labels that drop-frame counting leaves out.
bool valid(const TimeCode& code) noexcept;
/// Frames since 00:00:00:00; and the frame's label, round the day. Preconditions: valid(code).
std::int64_t frame_of(const TimeCode& code) noexcept;
TimeCode label_of(TimeCodeRate rate, std::int64_t frame) noexcept;
/// Frames of a day: 2,589,408 with drop-frame counting.
std::int64_t frames_per_day(TimeCodeRate rate) noexcept;
/// When a frame begins, in real time: exact to the nanosecond, rounded to the nearest (a drop-frame's frame lasts 1001/30000 s). And the frame that is on at a time.
show::Time time_of(TimeCodeRate rate, std::int64_t frame) noexcept;
std::int64_t frame_at(TimeCodeRate rate, show::Time time) noexcept;

/// "01:37:52:16"; with drop-frame counting "01:37:52;16".
std::string to_text(const TimeCode& code);

inline constexpr int kPieces = 8;  ///< quarter frames that together say a time
/// The data byte, after F1, of piece 0..7 of a code; precondition: valid(code).
std::uint8_t quarter_frame(const TimeCode& code, int piece) noexcept;
/// hh mm ss ff of a full frame; and back, nothing where they are not valid.
std::array<std::uint8_t, 4> full_frame(const TimeCode& code) noexcept;
std::optional<TimeCode> parse_full_frame(const std::array<std::uint8_t, 4>& bytes) noexcept;

/// Gathers quarter frames. A value.
class QuarterFrames {
 public:
  /// The time code that is on at the moment of this piece, where it completes eight in order: piece 7 gives the code that they carried and two frames more,
  /// which it took to send them. Pieces out of order begin anew; running backward gives nothing.
  std::optional<TimeCode> feed(std::uint8_t data) noexcept;

 private:
  std::array<std::uint8_t, 8> piece_{};
  int next_ = 0;
};

}  // namespace mien::live
