// The 39 phones of CMUdict (ARPABET without stress), and what kind of sound each is.
#pragma once
#include <array>
#include <string>
#include <string_view>

namespace mien::speech {

inline constexpr std::array<std::string_view, 39> kPhones{
    "AA", "AE", "AH", "AO", "AW", "AY", "B", "CH", "D", "DH", "EH", "ER", "EY", "F",  "G",  "HH", "IH", "IY", "JH", "K",
    "L",  "M",  "N",  "NG", "OW", "OY", "P", "R",  "S", "SH", "T",  "TH", "UH", "UW", "V", "W",  "Y",  "Z",  "ZH"};

/// Index in kPhones; -1 where it is none. Capitals do not matter and a digit of stress at the end is passed over.
int phone_index(std::string_view label) noexcept;
/// "AA" for "aa1"; empty where it is no phone.
std::string plain_phone(std::string_view label);

bool is_vowel(std::string_view phone) noexcept;
/// P T K B D G CH JH: a silence of the mouth comes before their noise, and belongs to them.
bool is_stop(std::string_view phone) noexcept;
/// P B M: the lips meet.
bool closes_lips(std::string_view phone) noexcept;
/// F V: the lower lip meets the upper teeth.
bool touches_teeth(std::string_view phone) noexcept;

}  // namespace mien::speech
