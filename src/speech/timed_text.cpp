#include "speech/timed_text.hpp"

#include <algorithm>
#include <charconv>
#include <cctype>

namespace mien::speech {
namespace {

using show::Finding;
using show::Severity;

bool is_utf8(std::string_view text) noexcept {
  for (std::size_t n = 0; n < text.size();) {
    const auto c = static_cast<unsigned char>(text[n]);
    const int more = c < 0x80 ? 0 : c >= 0xF0 && c < 0xF8 ? 3 : c >= 0xE0 ? 2 : c >= 0xC2 ? 1 : -1;
    if (more < 0 || c >= 0xF8 || n + static_cast<std::size_t>(more) >= text.size()) return false;
    for (int k = 1; k <= more; ++k)
      if ((static_cast<unsigned char>(text[n + static_cast<std::size_t>(k)]) & 0xC0) != 0x80) return false;
    n += static_cast<std::size_t>(more) + 1;
  }
  return true;
}

std::vector<std::string_view> lines_of(std::string_view text) {
  std::vector<std::string_view> lines;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find_first_of("\r\n"), text.size());
    lines.push_back(text.substr(0, end));
    const bool pair = end + 1 < text.size() && text[end] == '\r' && text[end + 1] == '\n';
    text.remove_prefix(std::min(end + (pair ? 2 : 1), text.size()));
  }
  return lines;
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && std::isspace(static_cast<unsigned char>(text.front()))) text.remove_prefix(1);
  while (!text.empty() && std::isspace(static_cast<unsigned char>(text.back()))) text.remove_suffix(1);
  return text;
}

// "01:02:03.456", "02:03.456", with a comma in SubRip.
std::optional<show::Time> time_of(std::string_view text) {
  long long parts[3] = {0, 0, 0};
  int count = 0;
  const std::size_t point = text.find_first_of(".,");
  if (point == std::string_view::npos || text.size() - point != 4) return {};
  std::string_view rest = text.substr(0, point);
  while (true) {
    const std::size_t colon = std::min(rest.find(':'), rest.size());
    if (count == 3) return {};
    const auto [end, wrong] = std::from_chars(rest.data(), rest.data() + colon, parts[count]);
    if (wrong != std::errc{} || end != rest.data() + colon || parts[count] < 0 || parts[count] > 99'999) return {};
    ++count;
    if (colon == rest.size()) break;
    rest.remove_prefix(colon + 1);
  }
  long long ms = 0;
  const auto [end, wrong] = std::from_chars(text.data() + point + 1, text.data() + text.size(), ms);
  if (wrong != std::errc{} || end != text.data() + text.size() || count < 2 || ms < 0) return {};
  const long long seconds = count == 3 ? parts[0] * 3600 + parts[1] * 60 + parts[2] : parts[0] * 60 + parts[1];
  return std::chrono::milliseconds(seconds * 1000 + ms);
}

void append_plain(std::string& out, std::string_view line) {  // without <tags> and {codes}, entities as their signs
  if (!out.empty()) out += ' ';
  for (std::size_t n = 0; n < line.size(); ++n) {
    const char c = line[n];
    const std::size_t close = c == '<' ? line.find('>', n) : c == '{' ? line.find('}', n) : std::string_view::npos;
    if (close != std::string_view::npos) { n = close; continue; }
    if (c == '&') {
      const auto is = [&](std::string_view name) { return line.substr(n, name.size()) == name; };
      if (is("&amp;")) { out += '&', n += 4; continue; }
      if (is("&lt;")) { out += '<', n += 3; continue; }
      if (is("&gt;")) { out += '>', n += 3; continue; }
      if (is("&nbsp;")) { out += ' ', n += 5; continue; }
    }
    out += c;
  }
}

}  // namespace

show::Result<std::vector<Line>> read_text(std::string_view text, const std::string& file) {
  const auto wrong = [&](std::string place, std::string what, std::string cure) { return Finding{Severity::error, file, std::move(place), std::move(what), std::move(cure)}; };
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  if (!is_utf8(text)) return wrong("text", "it is not UTF-8", "Save it as UTF-8 text.");
  if (trimmed(text).empty()) return wrong("text", "it is empty", "Write what is said, or leave the text out: the mouth then follows the sound alone.");
  const auto lines = lines_of(text);
  const auto is_times = [&](std::size_t n) { return n < lines.size() && lines[n].find("-->") != std::string_view::npos; };
  const bool vtt = lines[0].starts_with("WEBVTT");
  std::size_t first = 0;
  while (first < lines.size() && trimmed(lines[first]).empty()) ++first;
  if (!vtt && !is_times(first) && !is_times(first + 1)) return std::vector<Line>{{std::string(text), {}}};

  std::vector<Line> cues;
  for (std::size_t n = 0; n < lines.size(); ++n) {
    if (!is_times(n)) continue;  // a header, a note, a cue's name or number
    const std::string place = "line " + std::to_string(n + 1);
    const std::size_t arrow = lines[n].find("-->");
    const auto begin = time_of(trimmed(lines[n].substr(0, arrow)));
    std::string_view after = trimmed(lines[n].substr(arrow + 3));
    const auto end = time_of(after.substr(0, std::min(after.find_first_of(" \t"), after.size())));
    if (!begin || !end) return wrong(place, "its times can't be read", "Write them as 00:01:02.500 --> 00:01:04.000.");
    if (*end <= *begin) return wrong(place, "it ends before it begins", "Correct its times.");
    Line cue{{}, show::Range{*begin, *end}};
    while (n + 1 < lines.size() && !trimmed(lines[n + 1]).empty() && !is_times(n + 1)) append_plain(cue.text, trimmed(lines[++n]));
    if (!trimmed(cue.text).empty()) cues.push_back(std::move(cue));
  }
  if (cues.empty()) return wrong("text", "none of its cues has any words", "Write what is said into the cues.");
  std::stable_sort(cues.begin(), cues.end(), [](const Line& a, const Line& b) { return a.when->begin < b.when->begin; });
  return cues;
}

}  // namespace mien::speech
