#include "live/hand_map.hpp"

#include <algorithm>
#include <array>
#include <charconv>

#include "live/osc.hpp"

namespace mien::live {
namespace {

struct KindName {
  Source::Kind kind;
  std::string_view name;
  bool numbered;
};
constexpr std::array<KindName, 9> kKinds{{{Source::Kind::controller, "controller", true},
                                          {Source::Kind::controller_14, "controller-14", true},
                                          {Source::Kind::note, "note", true},
                                          {Source::Kind::bend, "bend", false},
                                          {Source::Kind::pressure, "pressure", false},
                                          {Source::Kind::key_pressure, "key-pressure", true},
                                          {Source::Kind::axis, "axis", true},
                                          {Source::Kind::button, "button", true},
                                          {Source::Kind::slot, "slot", true}}};
constexpr std::string_view kOsc = "osc ", kPatterns = " #*,?[]{}";
constexpr std::size_t kLongestAddress = 120;
constexpr std::array<const char*, 3> kTakeovers{"pick-up", "scaled", "glide"};
constexpr std::array<const char*, 5> kWhats{"pose", "clip", "bank", "panic", "cue"};
constexpr std::array<const char*, 3> kHolds{"momentary", "latch", "once"};

template <class E, std::size_t N>
std::optional<E> parse(const std::array<const char*, N>& names, std::string_view text) noexcept {
  for (std::size_t n = 0; n < N; ++n)
    if (text == names[n]) return static_cast<E>(n);
  return std::nullopt;
}

}  // namespace

bool rests_in_the_middle(const Source& source) noexcept {
  return source.kind == Source::Kind::bend || (source.kind == Source::Kind::axis && source.number < 4);
}

std::string to_text(const Source& source) {
  if (source.kind == Source::Kind::osc) return std::string(kOsc) + source.address;
  for (const KindName& k : kKinds)
    if (k.kind == source.kind) return std::string(k.name) + (k.numbered ? " " + std::to_string(source.number) : "");
  return "";
}

std::optional<Source> parse_source(std::string_view text) {
  if (text.starts_with(kOsc)) {
    Source source;
    source.kind = Source::Kind::osc, source.address = text.substr(kOsc.size());
    return source.address.starts_with('/') ? std::optional(source) : std::nullopt;
  }
  const auto space = text.find(' ');
  const auto word = text.substr(0, space);
  for (const KindName& k : kKinds) {
    if (word != k.name) continue;
    if (k.numbered == (space == text.npos)) return std::nullopt;
    Source source;
    source.kind = k.kind;
    if (!k.numbered) return source;
    const auto digits = text.substr(space + 1);
    const auto read = std::from_chars(digits.data(), digits.data() + digits.size(), source.number);
    if (read.ec != std::errc{} || read.ptr != digits.data() + digits.size() || source.number < 0) return std::nullopt;
    return source;
  }
  return std::nullopt;
}

bool usable_address(std::string_view address) noexcept {
  if (address.size() < 2 || address.size() > kLongestAddress || address.front() != '/' || address.starts_with(kOscOwn)) return false;
  return std::all_of(address.begin(), address.end(), [](char c) { return c > ' ' && c <= '~' && kPatterns.find(c) == kPatterns.npos; });
}

void know_addresses(const HandMap& map, std::vector<std::string>& known) {
  const auto add = [&](const Source& s) {
    if (s.kind == Source::Kind::osc && std::find(known.begin(), known.end(), s.address) == known.end()) known.push_back(s.address);
  };
  for (const Knob& knob : map.knobs) add(knob.source);
  for (const Trigger& trigger : map.triggers) add(trigger.source);
}

const char* name(Takeover takeover) noexcept { return kTakeovers[static_cast<std::size_t>(takeover)]; }
const char* name(Trigger::What what) noexcept { return kWhats[static_cast<std::size_t>(what)]; }
const char* name(Trigger::Hold hold) noexcept { return kHolds[static_cast<std::size_t>(hold)]; }
std::optional<Takeover> parse_takeover(std::string_view text) noexcept { return parse<Takeover>(kTakeovers, text); }
std::optional<Trigger::What> parse_what(std::string_view text) noexcept { return parse<Trigger::What>(kWhats, text); }
std::optional<Trigger::Hold> parse_hold(std::string_view text) noexcept { return parse<Trigger::Hold>(kHolds, text); }

}  // namespace mien::live
