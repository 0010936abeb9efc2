// A keyframe as one compact text, "1.25 0.8 smooth": time in seconds, value, easing, a space between. So a moved key is one
// changed line of the file.
#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "show/show.hpp"

namespace mien::store {

/// Adds the row to the text.
void append_key_row(std::string& text, const show::Keyframe& key);
/// Nothing where the text is not such a row: a number that is not finite, an unknown easing, anything missing or left over.
std::optional<show::Keyframe> parse_key_row(std::string_view row);

}  // namespace mien::store
