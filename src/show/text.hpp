// Numbers, times and names as a person and a file read them. Numbers are in the shortest form that reads back the same
// (std::to_chars); times are seconds, exact to the nanosecond.
#pragma once
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "show/time.hpp"

namespace mien::show {

/// Room enough for what put_number or put_seconds writes.
inline constexpr int kNumberRoom = 32;

/// Write at `out` and return one past the last character; there must be kNumberRoom characters of room.
char* put_number(char* out, double value) noexcept;
char* put_number(char* out, float value) noexcept;
/// "1.25": as many of the nine decimals as are needed, a point only where there are any.
char* put_seconds(char* out, Time time) noexcept;

std::string number_text(double value);
std::string seconds_text(Time time);

/// The whole text as a finite number; nothing where it is anything else (NaN, infinity, trailing characters, empty).
std::optional<double> parse_number(std::string_view text) noexcept;
/// Seconds to the nearest nanosecond, exact for up to nine decimals; nothing where the text is not a finite number or the
/// time lies beyond +-9e9 s.
std::optional<Time> parse_seconds(std::string_view text) noexcept;

/// ASCII's capitals made small; all else as it is.
std::string small_letters(std::string_view text);

/// "Did you mean 'x'?" for the candidate that the name was most likely meant to be, else "Known: 'a', 'b', ...", and
/// `where_none` where there are no candidates. Likely: no more than a third of its letters changed, added, left out or swapped with a
/// neighbour (optimal string alignment distance), capitals aside.
std::string suggestion(std::string_view name, std::span<const std::string> candidates, const char* where_none = "");

}  // namespace mien::show
