// Show time in frames and as timecode: hours, minutes, seconds and frames. Rates as in SMPTE ST 12-1: 24, 25, 30, and 30000/1001 counted with drop
// frame, which leaves out the labels ;00 and ;01 of each minute that no ten divides, so that labels keep to the clock within 86.4 ms a day.
#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "show/time.hpp"

namespace mien::show {

enum class FrameRate : std::uint8_t { f24, f25, f2997_drop, f30 };

/// "24", "25", "29.97 drop" or "30".
const char* name(FrameRate rate) noexcept;

/// When a frame begins, to the nearest nanosecond; frames before 0 are there, too.
Time frame_time(FrameRate rate, std::int64_t frame) noexcept;
/// The frame that a time lies in: the last that begins at or before it.
std::int64_t frame_at(FrameRate rate, Time time) noexcept;
/// When the frame nearest to a time begins.
Time snapped_to_frame(FrameRate rate, Time time) noexcept;

/// "01:02:03:04", with drop frame "01:02:03;04"; beyond 99 hours more digits, before 0 with a minus sign.
std::string timecode(FrameRate rate, std::int64_t frame);
/// The inverse. Leading parts may be left out ("2:03" is two seconds and three frames), ':' and ';' both serve. Nothing where it is no timecode, a
/// part is beyond what it counts (60 s, 24 frames at 24), or the label is one that drop frame leaves out.
std::optional<std::int64_t> parse_timecode(FrameRate rate, std::string_view text);

}  // namespace mien::show
