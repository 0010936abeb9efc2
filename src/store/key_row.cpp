#include "store/key_row.hpp"

#include <algorithm>

#include "show/text.hpp"

namespace mien::store {
namespace {

// Takes the text up to the next space, and the spaces after it, off the front.
std::string_view take_word(std::string_view& text) noexcept {
  const std::size_t end = std::min(text.find(' '), text.size());
  const std::string_view word = text.substr(0, end);
  text.remove_prefix(std::min(text.find_first_not_of(' ', end), text.size()));
  return word;
}

}  // namespace

void append_key_row(std::string& text, const show::Keyframe& key) {
  char numbers[2 * show::kNumberRoom + 2];
  char* end = show::put_seconds(numbers, key.time);
  *end++ = ' ';
  end = show::put_number(end, key.value);
  *end++ = ' ';
  text.append(numbers, end);
  text += show::to_text(key.easing);
}

std::optional<show::Keyframe> parse_key_row(std::string_view row) {
  const auto time = show::parse_seconds(take_word(row));
  if (!time) return std::nullopt;
  const auto value = show::parse_number(take_word(row));
  if (!value) return std::nullopt;
  const auto easing = show::parse_easing(row);
  if (!easing) return std::nullopt;
  return show::Keyframe{*time, *value, *easing};
}

}  // namespace mien::store
