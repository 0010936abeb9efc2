#include "store/scan.hpp"

#include <algorithm>
#include <cstring>

#include "show/text.hpp"
#include "store/key_row.hpp"

namespace mien::store {
namespace {

using show::Finding;
using show::Keyframe;

constexpr const char* kRepair = "Mend the line, or take the file from a backup.";

constexpr int kMostDigits = 19;  ///< that a 64-bit significand holds whatever they are

bool is_digit(char c) noexcept { return c >= '0' && c <= '9'; }
bool is_space(char c) noexcept { return c == ' ' || c == '\n' || c == '\r' || c == '\t'; }

// Length of the UTF-8 sequence at the front (RFC 3629: shortest forms only, no surrogates); 0 where there is none.
std::size_t utf8_length(std::string_view s) noexcept {
  const auto byte = [&](std::size_t i) { return i < s.size() ? static_cast<unsigned char>(s[i]) : 0u; };
  const auto follows = [&](std::size_t i) { return (byte(i) & 0xC0) == 0x80; };
  const unsigned lead = byte(0);
  if (lead < 0x80) return 1;
  if (lead >= 0xC2 && lead <= 0xDF) return follows(1) ? 2 : 0;
  if (lead >= 0xE0 && lead <= 0xEF) {
    const bool shortest = lead != 0xE0 || byte(1) >= 0xA0;
    const bool no_surrogate = lead != 0xED || byte(1) <= 0x9F;
    return follows(1) && follows(2) && shortest && no_surrogate ? 3 : 0;
  }
  if (lead >= 0xF0 && lead <= 0xF4) {
    const bool in_range = (lead != 0xF0 || byte(1) >= 0x90) && (lead != 0xF4 || byte(1) <= 0x8F);
    return follows(1) && follows(2) && follows(3) && in_range ? 4 : 0;
  }
  return 0;
}

// A recursive-descent reader of JSON that keeps nothing but the key rows. Every function leaves at_ after what it read.
class Scan {
 public:
  Scan(std::string_view text, const std::string& file) : text_(text), file_(file) {}

  show::Result<Scanned> run() {
    try {
      skip_spaces();
      if (peek() != '{')
        fail("the file does not begin with '{', so it is neither a show nor a rig",
             "Check that it is the file you meant.");
      value(0);
      skip_spaces();
      if (at_ != text_.size()) fail("there is something after the end", "Delete what follows the last '}'.");
    } catch (Finding& problem) { return std::move(problem); }
    copy_up_to(at_);
    return std::move(out_);
  }

 private:
  [[noreturn]] void fail(std::string what, std::string cure = kRepair) const {
    const auto line =
        1 + std::count(text_.begin(), text_.begin() + static_cast<std::ptrdiff_t>(std::min(at_, text_.size())), '\n');
    if (at_ >= text_.size())
      what = "the file ends too early: it was cut off, or never completely written", cure = "Take it from a backup.";
    throw Finding{show::Severity::error, file_, "line " + std::to_string(line), std::move(what), std::move(cure)};
  }

  char peek() const noexcept { return at_ < text_.size() ? text_[at_] : '\0'; }
  void skip_spaces() noexcept {
    while (at_ < text_.size() && is_space(text_[at_])) ++at_;
  }

  void expect(char c, const char* where) {
    skip_spaces();
    if (peek() != c) fail(std::string("there is no '") + c + "' " + where);
    ++at_;
  }

  // After an element: true where another follows, false at the end.
  bool another(char end) {
    skip_spaces();
    if (peek() != ',' && peek() != end) fail(std::string("there is no ',' or '") + end + "' where one is due");
    return text_[at_++] == ',';
  }

  void value(int depth) {
    if (depth > kMostNested)
      fail("lists or groups are nested more than " + std::to_string(kMostNested) + " deep",
           "Check that it is the file you meant.");
    if (++values_ > kMostValues)
      fail("there are more than " + std::to_string(kMostValues) + " values", "Check that it is the file you meant.");
    skip_spaces();
    const char c = peek();
    if (c == '{') object(depth);
    else if (c == '[') array(depth);
    else if (c == '"') string();
    else if (c == '-' || is_digit(c)) number();
    else word();
  }

  void object(int depth) {
    std::vector<std::string_view> names;
    ++at_;
    skip_spaces();
    if (peek() == '}') {
      ++at_;
      return;
    }
    do {
      skip_spaces();
      if (peek() != '"') fail("there is no name of a field in quotes where one is due");
      const std::string_view name = string();
      if (std::find(names.begin(), names.end(), name) != names.end())
        fail("the field '" + shown(name) + "' is there twice", "Delete one of them.");
      if (names.size() == kMostFields)
        fail("there are more than " + std::to_string(kMostFields) + " fields together",
             "Check that it is the file you meant.");
      names.push_back(name);
      expect(':', "after the name of a field");
      skip_spaces();
      if (!(name == "keys" && key_rows())) value(depth + 1);
    } while (another('}'));
  }

  void array(int depth) {
    ++at_;
    skip_spaces();
    if (peek() == ']') {
      ++at_;
      return;
    }
    do value(depth + 1);
    while (another(']'));
  }

  // Reads a list of key rows. False, with nothing read, where the value is anything but a list of texts.
  bool key_rows() {
    const std::size_t begin = at_;
    if (peek() != '[') return false;
    ++at_;
    skip_spaces();
    if (peek() != ']' && peek() != '"') {
      at_ = begin;
      return false;
    }
    rows_.clear();
    if (peek() == ']') ++at_;
    else {
      do rows_.push_back(key_row());
      while (another(']'));
    }
    copy_up_to(begin);
    out_.document +=
        std::string("\"\\u000") + static_cast<char>('0' + kKeysMark) + std::to_string(out_.keys.size()) + '"';
    copied_ = at_;
    out_.keys.emplace_back(rows_.begin(), rows_.end());
    return true;
  }

  Keyframe key_row() {
    skip_spaces();
    if (peek() != '"') fail("there is no key in quotes where one is due");
    if (++keys_ > kMostKeys)
      fail("there are more than " + std::to_string(kMostKeys) + " keys", "Check that it is the file you meant.");
    const char* begin = text_.data() + at_ + 1;
    const char* end = static_cast<const char*>(std::memchr(begin, '"', text_.size() - at_ - 1));
    if (!end) at_ = text_.size(), fail("");
    const std::string_view row(begin, static_cast<std::size_t>(end - begin));
    const auto key = parse_key_row(row);
    if (!key)
      fail("'" + shown(row) + "' is not a key", "Write time in seconds, value and easing, as in \"1.25 0.8 smooth\".");
    at_ += row.size() + 2;
    return *key;
  }

  // Returns what stands between the quotes, as written.
  std::string_view string() {
    const std::size_t begin = ++at_;
    for (;;) {
      const auto c = static_cast<unsigned char>(peek());
      if (at_ >= text_.size()) fail("");
      if (c == '"') break;
      if (c < 0x20 || c == 0x7F)
        fail("there is a control character (byte " + std::to_string(c) + ") in a text", "Delete it.");
      if (c == '\\') escape();
      else if (const std::size_t length = utf8_length(text_.substr(at_, 4))) at_ += length;
      else fail("there is a text that is not UTF-8", "Save the file as UTF-8, or type the text again.");
    }
    return text_.substr(begin, at_++ - begin);
  }

  void escape() {
    ++at_;
    const char c = peek();
    if (c == '"' || c == '\\' || c == '/') ++at_;
    else if (c == 'u') unicode_escape();
    else if (c != '\0' && std::strchr("bfnrt", c)) fail("there is a control character in a text", "Delete it.");
    else fail("there is a '\\' in a text that means nothing");
  }

  void unicode_escape() {
    const unsigned code = four_hex();
    if (code < 0x20 || code == 0x7F) fail("there is a control character in a text", "Delete it.");
    const bool lead = code >= 0xD800 && code <= 0xDBFF;
    if (code >= 0xDC00 && code <= 0xDFFF) fail("there is half a character (a lone surrogate) in a text");
    if (!lead) return;
    if (text_.substr(at_, 2) != "\\u") fail("there is half a character (a lone surrogate) in a text");
    ++at_;
    const unsigned trail = four_hex();
    if (trail < 0xDC00 || trail > 0xDFFF) fail("there is half a character (a lone surrogate) in a text");
  }

  unsigned four_hex() {
    ++at_;
    unsigned code = 0;
    for (int i = 0; i < 4; ++i, ++at_) {
      const char c = peek();
      const char lower = static_cast<char>(c | 0x20);
      if (is_digit(c)) code = code * 16 + static_cast<unsigned>(c - '0');
      else if (lower >= 'a' && lower <= 'f') code = code * 16 + static_cast<unsigned>(lower - 'a' + 10);
      else fail("there is a '\\u' in a text without four hexadecimal digits");
    }
    return code;
  }

  void digits() {
    if (!is_digit(peek())) fail("there is a number that is not complete");
    while (is_digit(peek())) ++at_;
  }

  void number() {
    const std::size_t begin = at_;
    if (peek() == '-') ++at_;
    const bool leading_zero = peek() == '0';
    const std::size_t first = at_;
    digits();
    if (leading_zero && at_ - first > 1) fail("there is a number that begins with 0");
    if (peek() == '.') ++at_, digits();
    if (peek() == 'e' || peek() == 'E') {
      ++at_;
      if (peek() == '+' || peek() == '-') ++at_;
      digits();
    }
    const std::string_view written = text_.substr(begin, at_ - begin);
    const auto read = show::parse_number(written);
    if (!read) fail("the number " + shown(written) + " is too large, or too small, for a number");
    if (*read == 0 && written.find_first_of(".eE") != written.npos) say_instead(begin, written[0] == '-' ? "-0.0" : "0.0");
    else if (std::count_if(written.begin(), written.end(), is_digit) > kMostDigits) say_instead(begin, show::number_text(*read));
  }

  // Leaves the same number in the document, but shorter: the JSON library inside cereal has a step without a defined result (it normalizes a significand of 0) for zeros
  // of more than 22 places, as 0e300, and for what it rounds to 20 digits that are 2^64.
  void say_instead(std::size_t begin, std::string_view number) {
    copy_up_to(begin);
    out_.document += number;
    copied_ = at_;
  }

  void word() {
    for (const std::string_view known : {"true", "false", "null"}) {
      if (text_.substr(at_, known.size()) == known) {
        at_ += known.size();
        return;
      }
    }
    std::size_t end = at_;
    while (end < text_.size() && !is_space(text_[end]) && !std::strchr(",]}", text_[end])) ++end;
    if (end == at_) fail("there is no value where one is due");
    if (end == text_.size()) at_ = end;
    fail("'" + shown(text_.substr(at_, end - at_)) + "' is not a value", "Give a number, or a text in quotes.");
  }

  void copy_up_to(std::size_t end) {
    out_.document.append(text_, copied_, end - copied_);
    copied_ = end;
  }

  std::string_view text_;
  std::string file_;
  std::size_t at_ = 0;
  std::size_t copied_ = 0;  // how much of the text is in the document, or left out of it on purpose
  std::size_t values_ = 0, keys_ = 0;
  std::vector<Keyframe> rows_;  // reused, so that a list is allocated once and at its size
  Scanned out_;
};

}  // namespace

show::Result<Scanned> scan(std::string_view text, const std::string& file) { return Scan(text, file).run(); }

std::string shown(std::string_view text) {
  constexpr std::size_t kLongest = 40;
  std::string printable(text.substr(0, kLongest));
  for (char& c : printable) {
    if (c < 0x20 || c > 0x7E) c = '?';
  }
  return text.size() > kLongest ? printable + "..." : printable;
}

}  // namespace mien::store
