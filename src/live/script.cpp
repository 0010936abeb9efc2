#include "live/script.hpp"

#include <algorithm>
#include <charconv>
#include <sstream>

#include "show/text.hpp"

namespace mien::live {
namespace {

using show::Finding;

std::optional<std::uint8_t> byte_of(const std::string& word) {
  unsigned value = 0;
  const auto read = std::from_chars(word.data(), word.data() + word.size(), value, 16);
  if (word.size() > 2 || word.empty() || read.ec != std::errc{} || read.ptr != word.data() + word.size()) return std::nullopt;
  return static_cast<std::uint8_t>(value);
}

class Script {
 public:
  Script(const std::string& file, int device, std::span<const std::string> addresses) : file_(file), device_(static_cast<std::uint8_t>(device)), addresses_(addresses) {}

  show::Result<std::vector<Touch>> parse(std::string_view text) {
    std::istringstream lines{std::string(text)};
    for (std::string line; std::getline(lines, line);) {
      ++line_;
      std::istringstream words(line.substr(0, line.find('#')));
      std::string time;
      if (!(words >> time)) continue;
      if (const auto wrong = read(time, words)) return *wrong;
    }
    return std::move(touches_);
  }

 private:
  Finding wrong(const std::string& what, const std::string& cure) const { return {show::Severity::error, file_, "line " + std::to_string(line_), what, cure}; }

  std::optional<Finding> read(const std::string& time, std::istringstream& words) {
    const auto at = show::parse_seconds(time);
    if (!at || at->count() < at_ns_) return wrong("'" + time + "' is not a time at or after the one before", "Begin each line with seconds since the performance began, as in 0.5.");
    at_ns_ = at->count();
    std::string word;
    if (!(words >> word)) return wrong("says nothing besides its time", "Write bytes, as in B0 07 40, or an axis or button.");
    if (word == "axis" || word == "button") return pad(word, words);
    if (word == "osc" || word == "slot") return network(word == "osc", words);
    do {
      const auto byte = byte_of(word);
      if (!byte) return wrong("'" + word + "' is no byte", "Write bytes as two hexadecimal digits each, as in B0 07 40.");
      if (const auto message = parser_.feed(*byte)) touches_.push_back({.at_ns = at_ns_, .device = device_, .kind = Touch::Kind::midi, .midi = *message});
    } while (words >> word);
    return std::nullopt;
  }

  std::optional<Finding> pad(const std::string& what, std::istringstream& words) {
    std::string number, value;
    words >> number >> value;
    const auto n = show::parse_number(number), v = show::parse_number(value);
    const bool axis = what == "axis";
    if (!n || !v || *n < 0 || *n > 127 || *n != static_cast<int>(*n) || *v < (axis ? -1 : 0) || *v > 1)
      return wrong("'" + what + " " + number + " " + value + "' is not a touch of a gamepad", "Write axis NUMBER VALUE with a value from -1 to 1, or button NUMBER with 0 or 1.");
    touches_.push_back({.at_ns = at_ns_, .device = device_, .kind = axis ? Touch::Kind::axis : Touch::Kind::button, .number = static_cast<std::uint16_t>(*n), .value = static_cast<float>(*v)});
    return std::nullopt;
  }

  std::optional<Finding> network(bool osc, std::istringstream& words) {
    std::string to, value;
    words >> to >> value;
    const auto v = show::parse_number(value);
    const auto known = std::find(addresses_.begin(), addresses_.end(), to);
    const auto number = osc ? std::optional(double(known - addresses_.begin())) : show::parse_number(to);
    if (osc && known == addresses_.end()) return wrong("'" + to + "' is no address that anything listens to", "Use one of the map's, or /mien/control/ and the name of a control.");
    if (!v || !number || (!osc && (*number < 1 || *number > 512 || *number != static_cast<int>(*number) || *v < 0 || *v > 1)))
      return wrong("'" + to + " " + value + "' is no message", osc ? "Write osc ADDRESS NUMBER." : "Write slot NUMBER LEVEL: 1 to 512, and 0 to 1.");
    touches_.push_back({.at_ns = at_ns_, .device = device_, .kind = osc ? Touch::Kind::osc : Touch::Kind::slot, .number = static_cast<std::uint16_t>(*number), .value = static_cast<float>(*v)});
    return std::nullopt;
  }

  const std::string& file_;
  std::uint8_t device_;
  std::span<const std::string> addresses_;
  MidiParser parser_;
  std::vector<Touch> touches_;
  std::int64_t at_ns_ = 0;
  int line_ = 0;
};

}  // namespace

show::Result<std::vector<Touch>> parse_script(std::string_view text, const std::string& file, int device, std::span<const std::string> addresses) { return Script(file, device, addresses).parse(text); }

}  // namespace mien::live
