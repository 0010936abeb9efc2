#include "speech/spelled.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdint>
#include <cstdlib>
#include <optional>
#include <utility>

namespace mien::speech {
namespace {

constexpr std::array<const char*, 20> kOnes{"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
                                            "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"};
constexpr std::array<const char*, 10> kTens{"", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"};
constexpr std::array<std::pair<long long, const char*>, 4> kGreat{{{1'000'000'000'000, "trillion"}, {1'000'000'000, "billion"}, {1'000'000, "million"}, {1000, "thousand"}}};
constexpr long long kMost = 999'999'999'999'999;

constexpr std::array<std::pair<std::string_view, std::string_view>, 24> kAbbreviations{{
    {"mr", "mister"}, {"mrs", "missus"}, {"ms", "miz"}, {"dr", "doctor"}, {"prof", "professor"}, {"st", "saint"}, {"rev", "reverend"},
    {"capt", "captain"}, {"sgt", "sergeant"}, {"lt", "lieutenant"}, {"gen", "general"}, {"col", "colonel"}, {"jr", "junior"}, {"sr", "senior"},
    {"vs", "versus"}, {"etc", "et cetera"}, {"approx", "approximately"}, {"dept", "department"}, {"no", "number"}, {"mt", "mount"},
    {"ave", "avenue"}, {"e.g", "for example"}, {"i.e", "that is"}, {"ft", "feet"}}};
// These are words of their own, too; they are abbreviations only with a full stop and something after it that fits.
constexpr std::array<std::string_view, 3> kOnlyBeforeMore{"no", "col", "gen"};

struct Letter { std::uint32_t code; std::size_t bytes; };

Letter letter_at(std::string_view text, std::size_t at) {
  const auto byte = [&](std::size_t n) { return at + n < text.size() ? static_cast<unsigned char>(text[at + n]) : 0u; };
  const unsigned first = byte(0);
  const auto more = [&](std::size_t n) { return (byte(n) & 0xC0u) == 0x80u; };
  if (first >= 0xF0 && more(1) && more(2) && more(3)) return {(first & 7u) << 18 | (byte(1) & 63u) << 12 | (byte(2) & 63u) << 6 | (byte(3) & 63u), 4};
  if (first >= 0xE0 && more(1) && more(2)) return {(first & 15u) << 12 | (byte(1) & 63u) << 6 | (byte(2) & 63u), 3};
  if (first >= 0xC0 && more(1)) return {(first & 31u) << 6 | (byte(1) & 63u), 2};
  return {first, 1};
}

// Latin-1 letters without their accents; nullptr for what is no Latin letter. Both cases give lower case.
const char* without_accent(std::uint32_t code) {
  if (code >= 0xC0 && code <= 0xDE && code != 0xD7) code += 0x20;
  if (code >= 0xE0 && code <= 0xE5) return "a";
  if (code == 0xE6) return "ae";
  if (code == 0xE7) return "c";
  if (code >= 0xE8 && code <= 0xEB) return "e";
  if (code >= 0xEC && code <= 0xEF) return "i";
  if (code == 0xF1) return "n";
  if ((code >= 0xF2 && code <= 0xF6) || code == 0xF8) return "o";
  if (code >= 0xF9 && code <= 0xFC) return "u";
  if (code == 0xFD || code == 0xFF) return "y";
  if (code == 0xDF) return "ss";
  if (code == 0x153 || code == 0x152) return "oe";
  return nullptr;
}

bool is_letter(std::uint32_t code) { return (code < 128 && std::isalpha(static_cast<int>(code))) || without_accent(code) || (code >= 0x100 && !(code >= 0x2000 && code < 0x2C00) && code != 0xFEFF && code < 0x1F000 && !(code >= 0x3000 && code <= 0x3004)); }
bool is_apostrophe(std::uint32_t code) { return code == '\'' || code == 0x2019 || code == 0x2BC; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }

class Speller {
 public:
  explicit Speller(std::string_view text) : text_(text) {}

  std::vector<SpokenWord> words() {
    while (at_ < text_.size()) {
      const auto [code, bytes] = letter_at(text_, at_);
      if (is_digit(text_[at_])) number();
      else if (code == '$' || code == 0xA3 || code == 0x20AC) currency(code, bytes);
      else if (is_letter(code)) word();
      else { symbol(code); at_ += bytes; }
    }
    return std::move(words_);
  }

 private:
  void say(std::string_view several, std::size_t from) {
    for (std::size_t a = 0; a < several.size();) {
      const std::size_t b = std::min(several.find(' ', a), several.size());
      if (b > a) words_.push_back({std::string(several.substr(a, b - a)), from});
      a = b + 1;
    }
  }

  void symbol(std::uint32_t code) {
    if (code == '&') say("and", at_);
    if (code == '+') say("plus", at_);
    if (code == '@') say("at", at_);
    if (code == '=') say("equals", at_);
    if (code == 0xB0) say("degrees", at_);
  }

  std::string digits() {
    std::string found;
    while (at_ < text_.size()) {
      const bool grouped = text_[at_] == ',' && !found.empty() && at_ + 3 < text_.size() && is_digit(text_[at_ + 1]) && is_digit(text_[at_ + 2]) && is_digit(text_[at_ + 3]) &&
                           !(at_ + 4 < text_.size() && is_digit(text_[at_ + 4]));
      if (grouped) grouped_ = true;
      else if (is_digit(text_[at_])) found += text_[at_];
      else break;
      ++at_;
    }
    return found;
  }

  std::string suffix() const {
    std::string found;
    for (std::size_t n = at_; n < text_.size() && std::isalpha(static_cast<unsigned char>(text_[n])); ++n) found += static_cast<char>(std::tolower(static_cast<unsigned char>(text_[n])));
    return found;
  }

  static std::string one_by_one(std::string_view figures) {
    std::string said;
    for (const char c : figures) said += std::string(said.empty() ? "" : " ") + kOnes[static_cast<std::size_t>(c - '0')];
    return said;
  }

  static std::string year(long long n) {
    const long long century = n / 100, rest = n % 100;
    const std::string first = spell_number(century);
    if (rest == 0) return first + " hundred";
    return rest < 10 ? first + " oh " + spell_number(rest) : first + " " + spell_number(rest);
  }

  // Digits from here; says them. Returns whether there was just one of them, "1".
  bool number() {
    const std::size_t from = at_;
    const bool minus = from > 0 && text_[from - 1] == '-' && (from == 1 || std::isspace(static_cast<unsigned char>(text_[from - 2])));
    grouped_ = false;
    const std::string figures = digits();
    const auto value = figures.size() <= 15 ? std::atoll(figures.c_str()) : -1;
    if (minus) say("minus", from - 1);
    if (at_ + 1 < text_.size() && text_[at_] == '.' && is_digit(text_[at_ + 1])) {
      ++at_;
      const std::string decimals = digits();
      say((value < 0 ? one_by_one(figures) : spell_number(value)) + " point " + one_by_one(decimals), from);
    } else if (at_ + 2 < text_.size() && text_[at_] == ':' && is_digit(text_[at_ + 1]) && is_digit(text_[at_ + 2]) && value >= 0 && value < 25) {
      ++at_;
      const std::string minutes = digits();
      const long long m = std::atoll(minutes.c_str());
      say(spell_number(value) + (m == 0 ? (value > 12 ? " hundred" : " o'clock") : m < 10 ? " oh " + spell_number(m) : " " + spell_number(m)), from);
    } else if (const auto ending = suffix(); value >= 0 && (ending == "st" || ending == "nd" || ending == "rd" || ending == "th")) {
      at_ += 2;
      say(spell_ordinal(value), from);
    } else if (ending == "s" && figures.size() == 4 && value % 10 == 0) {  // 1980s
      ++at_;
      std::string said = year(value);
      said = said.ends_with("y") ? said.substr(0, said.size() - 1) + "ies" : said + "s";
      say(said, from);
    } else if (value < 0 || (figures.size() > 1 && figures[0] == '0')) {
      say(one_by_one(figures), from);
    } else if (figures.size() == 4 && !grouped_ && ((value >= 1100 && value < 2000) || (value >= 2010 && value < 2100))) {
      say(year(value), from);
    } else {
      say(spell_number(value), from);
    }
    if (at_ < text_.size() && text_[at_] == '%') say("percent", at_++);
    return figures == "1";
  }

  void currency(std::uint32_t code, std::size_t bytes) {
    const std::size_t from = at_;
    at_ += bytes;
    if (at_ >= text_.size() || !is_digit(text_[at_])) return;
    const bool one = number();
    const char* name = code == '$' ? "dollar" : code == 0xA3 ? "pound" : "euro";
    say(one ? name : std::string(name) + "s", from);
  }

  void word() {
    SpokenWord found{{}, at_};
    bool lower = false;
    int letters = 0;
    while (at_ < text_.size()) {
      const auto [code, bytes] = letter_at(text_, at_);
      const auto next = letter_at(text_, at_ + bytes).code;
      const bool inner = (is_apostrophe(code) && letters > 0 && is_letter(next)) || (code == '.' && letters == 1 && found.text.size() == 1 && is_letter(next));
      if (!is_letter(code) && !inner) break;
      if (is_apostrophe(code)) found.text += '\'';
      else if (code == '.') found.text += '.';
      else if (code < 128) found.text += static_cast<char>(std::tolower(static_cast<int>(code)));
      else if (const char* plain = without_accent(code)) found.text += plain;
      else found.text.append(text_.substr(at_, bytes)), found.foreign = true;
      lower = lower || (code < 128 ? std::islower(static_cast<int>(code)) != 0 : true);
      if (is_letter(code)) ++letters;
      at_ += bytes;
    }
    found.capitals = !lower && letters > 1;
    if (const auto full = abbreviation(found)) return say(*full, found.at);
    std::erase(found.text, '.');
    words_.push_back(std::move(found));
  }

  std::optional<std::string_view> abbreviation(const SpokenWord& found) {
    if (found.capitals) return {};
    const auto* entry = std::find_if(kAbbreviations.begin(), kAbbreviations.end(), [&](const auto& a) { return a.first == found.text; });
    if (entry == kAbbreviations.end()) return {};
    const bool stop = at_ < text_.size() && text_[at_] == '.';
    const bool more = stop && at_ + 2 < text_.size() && text_[at_ + 1] == ' ' && !std::islower(static_cast<unsigned char>(text_[at_ + 2]));
    const bool title = std::isupper(static_cast<unsigned char>(text_[found.at])) != 0;
    if (std::find(kOnlyBeforeMore.begin(), kOnlyBeforeMore.end(), found.text) != kOnlyBeforeMore.end())
      return more && (found.text != "no" || is_digit(text_[at_ + 2])) && title ? std::optional(entry->second) : std::nullopt;
    if (found.text == "st") return more || !stop ? entry->second : std::string_view("street");
    return stop || title || found.text == "etc" || found.text == "vs" ? std::optional(entry->second) : std::nullopt;
  }

  std::string_view text_;
  std::size_t at_ = 0;
  bool grouped_ = false;
  std::vector<SpokenWord> words_;
};

}  // namespace

std::string spell_number(long long n) {
  if (n < 0) return "minus " + spell_number(-std::max(n, -kMost));
  if (n > kMost) n = kMost;
  if (n < 20) return kOnes[static_cast<std::size_t>(n)];
  if (n < 100) return kTens[static_cast<std::size_t>(n / 10)] + (n % 10 ? std::string(" ") + kOnes[static_cast<std::size_t>(n % 10)] : "");
  const auto with_rest = [&](long long unit, const char* name) { return spell_number(n / unit) + " " + name + (n % unit ? " " + spell_number(n % unit) : ""); };
  if (n < 1000) return with_rest(100, "hundred");
  for (const auto& [unit, name] : kGreat)
    if (n >= unit) return with_rest(unit, name);
  return {};
}

std::string spell_ordinal(long long n) {
  std::string said = spell_number(n);
  const std::size_t last = said.rfind(' ') == std::string::npos ? 0 : said.rfind(' ') + 1;
  const std::string tail = said.substr(last);
  constexpr std::array<std::pair<std::string_view, std::string_view>, 7> kOdd{{{"one", "first"}, {"two", "second"}, {"three", "third"}, {"five", "fifth"}, {"eight", "eighth"}, {"nine", "ninth"}, {"twelve", "twelfth"}}};
  for (const auto& [cardinal, ordinal] : kOdd)
    if (tail == cardinal) return said.substr(0, last) + std::string(ordinal);
  return said.back() == 'y' ? said.substr(0, said.size() - 1) + "ieth" : said + "th";
}

std::vector<SpokenWord> spoken_words(std::string_view text) { return Speller(text).words(); }

}  // namespace mien::speech
