#include "show/cue.hpp"

#include <array>
#include <cstdio>

#include "show/text.hpp"

namespace mien::show {
namespace {

constexpr std::array<const char*, std::variant_size_v<CueDeed>> kKinds{"clip", "pose", "stretch", "state", "choice", "stop"};

std::string text_of(const CueClip& d) { return "clip " + d.clip + (d.loops ? ", round and round" : ""); }
std::string text_of(const CuePose& d) { return "pose " + d.pose + (d.weight == 1 ? "" : ", weight " + number_text(d.weight)); }
std::string text_of(const CueStretch& d) {
  return "the show from " + (d.from.empty() ? "its beginning" : d.from) + " to " + (d.until.empty() ? "its end" : d.until);
}
std::string text_of(const CueState& d) { return d.auxiliary + " " + d.state; }
std::string text_of(const CueChoice& d) {
  std::string all;
  for (const auto& name : d.cues) all += (all.empty() ? "" : ", ") + name;
  return "one of " + (all.empty() ? "none" : all);
}
std::string text_of(const CueStop&) { return "ends what runs"; }

}  // namespace

const char* kind_name(const CueDeed& deed) noexcept { return kKinds[deed.index()]; }
std::string to_text(const CueDeed& deed) {
  return std::visit([](const auto& d) { return text_of(d); }, deed);
}

int cue_index(const std::vector<Cue>& cues, std::string_view name) noexcept {
  for (std::size_t n = 0; n < cues.size(); ++n)
    if (cues[n].name == name) return static_cast<int>(n);
  return -1;
}

std::optional<Time> parse_clock(std::string_view text) noexcept {
  if (text.size() != 5 && text.size() != 8) return std::nullopt;
  std::array<int, 3> part{};
  for (std::size_t n = 0; n < text.size(); ++n) {
    const bool colon = n % 3 == 2;
    if (colon ? text[n] != ':' : text[n] < '0' || text[n] > '9') return std::nullopt;
    if (!colon) part[n / 3] = part[n / 3] * 10 + (text[n] - '0');
  }
  if (part[0] > 23 || part[1] > 59 || part[2] > 59) return std::nullopt;
  return Time{std::int64_t{(part[0] * 60 + part[1]) * 60 + part[2]} * 1'000'000'000};
}

std::string clock_text(Time time_of_day) {
  const long long s = time_of_day.count() / 1'000'000'000;
  char text[48];
  std::snprintf(text, sizeof text, "%02lld:%02lld:%02lld", s / 3600, s / 60 % 60, s % 60);
  return text;
}

}  // namespace mien::show
