#include "live/osc_ear.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <utility>

#include "live/hands.hpp"

namespace mien::live {
namespace {

using std::string_view_literals::operator""sv;

constexpr auto kControl = "/mien/control/"sv, kCue = "cue/"sv;
constexpr std::size_t kMostNewAskers = 64, kMostOrders = 256;

const OscArgument* first(const OscMessage& m, bool (OscArgument::*is)() const noexcept) noexcept {
  for (std::size_t n = 0; n < m.count; ++n)
    if ((m.argument[n].*is)()) return &m.argument[n];
  return nullptr;
}
const OscArgument* number_in(const OscMessage& m) noexcept {
  const auto* a = first(m, &OscArgument::is_number);
  return a && std::isfinite(a->number) ? a : nullptr;
}
std::string text_in(const OscMessage& m) {
  const auto* a = first(m, &OscArgument::is_text);
  return a ? std::string(a->text) : std::string();
}

}  // namespace

std::string to_text(const NetworkOrder& order) {
  using K = NetworkOrder::Kind;
  char text[40];
  std::snprintf(text, sizeof text, "locate %.3f s", show::to_seconds(order.time));
  switch (order.what) {
    case K::play: return "play";
    case K::stop: return "stop";
    case K::locate: return text;
    case K::marker: return "marker " + order.name;
    case K::cue: return "cue " + order.name;
  }
  return "";
}

show::Result<OscMay> parse_may(std::string_view text, const std::string& place) {
  OscMay may{false, false, false};
  for (;;) {
    const auto word = text.substr(0, text.find(','));
    if (word == "control") may.control = true;
    else if (word == "cue") may.cue = true;
    else if (word == "transport") may.transport = true;
    else return show::Finding{show::Severity::error, "", place, "'" + std::string(word) + "' is nothing that OSC may touch", "Choose among control, cue and transport, with commas between, as in control,cue."};
    if (word.size() == text.size()) return may;
    text.remove_prefix(word.size() + 1);
  }
}

std::string to_text(const OscMay& may) {
  std::string text;
  for (const auto& [is, word] : {std::pair{may.control, "control"}, {may.cue, "cue"}, {may.transport, "transport"}})
    if (is) text += (text.empty() ? "" : ",") + std::string(word);
  return text.empty() ? "nothing" : text;
}

void OscEar::know(const std::vector<std::string>& addresses) {
  number_.clear();
  own_.clear();
  name_ = addresses;
  for (std::size_t n = 0; n < std::min<std::size_t>(addresses.size(), kEveryAddress); ++n) {
    number_.emplace(addresses[n], static_cast<std::uint16_t>(n));
    own_.push_back(addresses[n].starts_with(kControl));
  }
}

void OscEar::hear(std::span<const std::uint8_t> packet, const NetAddress& from, std::int64_t at_ns, std::int64_t unix_ns) {
  ++counts_.packets;
  if (!read_osc(packet, heard_)) return void(++counts_.broken);
  for (const OscMessage& message : heard_) {
    // What comes late is obeyed at once, as the standard has it by default.
    const std::int64_t due = message.time_tag == kOscAtOnce ? unix_ns : unix_ns_of(message.time_tag);
    if (due <= unix_ns) obey(message, from, at_ns);
    else if (due - unix_ns > kMostAhead_ns || later_.size() == kMostWaiting) ++counts_.far_off;
    else later_.push_back({due, {message.bytes.begin(), message.bytes.end()}, from});
  }
}

void OscEar::catch_up(std::int64_t at_ns, std::int64_t unix_ns) {
  for (auto unsaid = std::exchange(unsaid_, {}); const auto& [number, value] : unsaid) say(number, value, at_ns);
  std::stable_sort(later_.begin(), later_.end(), [](const Later& a, const Later& b) { return a.unix_ns < b.unix_ns; });
  std::vector<OscMessage> one;
  while (!later_.empty() && later_.front().unix_ns <= unix_ns) {
    const Later due = std::move(later_.front());
    later_.erase(later_.begin());
    if (read_osc(due.bytes, one)) obey(one.front(), due.from, at_ns);
  }
}

void OscEar::obey(const OscMessage& message, const NetAddress& from, std::int64_t at_ns) {
  const std::string_view address = message.address;
  // A pattern may mean several addresses that hold an amount; none of them starts, stops or asks for anything.
  if (address.find_first_of("?*[{") != address.npos) {
    bool any = false;
    for (std::size_t n = 0; n < own_.size(); ++n) {
      if (!osc_match(address, name_[n])) continue;
      any = true;
      touch(static_cast<std::uint16_t>(n), message, at_ns);
    }
    counts_.unknown += !any;
    return;
  }
  if (const auto known = number_.find(std::string(address)); known != number_.end()) return touch(known->second, message, at_ns);
  if (address.starts_with(kOscOwn)) return obey_own(message, address.substr(kOscOwn.size()), from, at_ns);
  ++counts_.unknown;
}

void OscEar::obey_own(const OscMessage& message, std::string_view word, const NetAddress& from, std::int64_t at_ns) {
  using K = NetworkOrder::Kind;
  const auto* number = number_in(message);
  const std::string text = text_in(message);
  if (word == "state") {
    if (askers_.size() < kMostNewAskers) askers_.push_back(from);
  } else if (word == "play") {
    order(may_.transport, {K::play});
  } else if (word == "stop") {
    order(may_.transport, {K::stop});
  } else if (word == "locate" && number) {
    order(may_.transport, {K::locate, std::max(show::Time{0}, show::from_seconds(number->number))});
  } else if (word == "marker" && !text.empty()) {
    order(may_.transport, {K::marker, show::Time{0}, text});
  } else if (word == "cue" && !text.empty()) {
    order(may_.cue, {K::cue, show::Time{0}, text});
  } else if (word.starts_with(kCue) && word.size() > kCue.size()) {
    order(may_.cue, {K::cue, show::Time{0}, std::string(word.substr(kCue.size()))});
  } else if (word == "release") {
    if (!may_.control) return void(++counts_.forbidden);
    std::uint16_t which = kEveryAddress;
    if (!text.empty()) {
      const auto known = number_.find(control_address(text));
      if (known == number_.end()) return void(++counts_.unknown);
      which = known->second;
    }
    // What found no room yet is about to be let go, too.
    std::erase_if(unsaid_, [&](const auto& u) { return controls(u.first) && (which == kEveryAddress || u.first == which); });
    counts_.touches += inlet_.push({.at_ns = at_ns, .device = device_, .kind = Touch::Kind::let_go, .number = which});
  } else {
    ++counts_.unknown;
  }
}

void OscEar::order(bool may, NetworkOrder order) {
  if (!may || orders_.size() == kMostOrders) return void(++counts_.forbidden);
  ++counts_.orders;
  orders_.push_back(std::move(order));
}

void OscEar::touch(std::uint16_t number, const OscMessage& message, std::int64_t at_ns) {
  if (!may_.control) return void(++counts_.forbidden);
  if (const auto* value = number_in(message)) return say(number, static_cast<float>(value->number), at_ns);
  if (message.count > 0 || controls(number)) return void(++counts_.unknown);
  say(number, 1, at_ns);  // a message without arguments is a tap
  say(number, 0, at_ns);
}

void OscEar::say(std::uint16_t number, float value, std::int64_t at_ns) {
  if (!std::isfinite(value)) return void(++counts_.unknown);
  const auto waits = std::find_if(unsaid_.begin(), unsaid_.end(), [&](const auto& u) { return u.first == number; });
  if (waits != unsaid_.end()) return void(waits->second = value);  // in its turn
  if (inlet_.push({.at_ns = at_ns, .device = device_, .kind = Touch::Kind::osc, .number = number, .value = value})) ++counts_.touches;
  else unsaid_.emplace_back(number, value);
}

}  // namespace mien::live
