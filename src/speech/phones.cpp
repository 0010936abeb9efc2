#include "speech/phones.hpp"

#include <algorithm>
#include <cctype>

namespace mien::speech {
namespace {
template <std::size_t N>
bool among(std::string_view phone, const std::array<std::string_view, N>& some) noexcept {
  return std::find(some.begin(), some.end(), phone) != some.end();
}
}  // namespace

int phone_index(std::string_view label) noexcept {
  if (label.size() > 1 && label.back() >= '0' && label.back() <= '2') label.remove_suffix(1);
  const auto same = [&](std::string_view phone) {
    return std::equal(phone.begin(), phone.end(), label.begin(), label.end(),
                      [](char a, char b) { return a == static_cast<char>(std::toupper(static_cast<unsigned char>(b))); });
  };
  const auto found = std::find_if(kPhones.begin(), kPhones.end(), same);
  return found == kPhones.end() ? -1 : static_cast<int>(found - kPhones.begin());
}

std::string plain_phone(std::string_view label) {
  const int index = phone_index(label);
  return index < 0 ? std::string{} : std::string(kPhones[static_cast<std::size_t>(index)]);
}

bool is_vowel(std::string_view phone) noexcept {
  return among(phone, std::array<std::string_view, 15>{"AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"});
}
bool is_stop(std::string_view phone) noexcept { return among(phone, std::array<std::string_view, 8>{"P", "T", "K", "B", "D", "G", "CH", "JH"}); }
bool closes_lips(std::string_view phone) noexcept { return phone == "P" || phone == "B" || phone == "M"; }
bool touches_teeth(std::string_view phone) noexcept { return phone == "F" || phone == "V"; }

}  // namespace mien::speech
