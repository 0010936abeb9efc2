#include "app/network.hpp"

#include <algorithm>
#include <cstdio>
#include <utility>

#include "perform/orders.hpp"
#include "show/timecode.hpp"

namespace mien::app {
namespace {

using show::Finding;

Finding wrong(const char* option, const std::string& what, const std::string& cure) { return {show::Severity::error, "", option, what, cure}; }

std::optional<Finding> read_ip(const char* option, const std::string& text, std::uint32_t& ip) {
  const auto read = live::parse_ip(text);
  if (!read) return wrong(option, "'" + text + "' is no address", "Write four numbers with dots: 127.0.0.1 for this machine alone, one of this machine's own addresses, or 0.0.0.0 for all of them.");
  ip = *read;
  return std::nullopt;
}

// The rate by its name on the command line; both enumerations have the four in one order.
std::pair<live::TimeCodeRate, show::FrameRate> rate_of(const std::string& text) {
  const int n = text == "24" ? 0 : text == "25" ? 1 : text == "29.97" ? 2 : 3;
  return {static_cast<live::TimeCodeRate>(n), static_cast<show::FrameRate>(n)};
}

}  // namespace

std::optional<Finding> Others::read() {
  if (words_.osc < 0 && words_.sacn == 0 && !words_.allow.empty()) return wrong("--allow", "says who may speak, but nobody is listened to", "Switch OSC on with --osc PORT, or sACN with --sacn UNIVERSE.");
  settings_.osc = words_.osc >= 0, settings_.osc_port = static_cast<std::uint16_t>(std::max(0, words_.osc));
  settings_.sacn = words_.sacn > 0, settings_.universe = std::max(1, words_.sacn);
  if (auto problem = read_ip("--osc-bind", words_.osc_bind, settings_.osc_ip)) return problem;
  if (auto problem = read_ip("--sacn-bind", words_.sacn_bind, settings_.sacn_ip)) return problem;
  const auto may = live::parse_may(words_.osc_may, "--osc-may");
  if (!may) return may.problem();
  settings_.may = *may;
  auto allow = live::parse_ranges(words_.allow, "--allow");
  if (!allow) return allow.problem();
  settings_.allow = std::move(*allow);

  const auto [code_rate, frame_rate] = rate_of(words_.code_rate);
  const auto zero = show::parse_timecode(frame_rate, words_.code_zero);
  if (!zero || *zero < 0) return wrong("--code-zero", "'" + words_.code_zero + "' is no time code at " + words_.code_rate, "Write hours, minutes, seconds and frames, as in 01:00:00:00.");
  const show::Time begins = show::frame_time(frame_rate, *zero);
  if (follows()) follow_ = {*live::parse_follow(words_.follow), begins, words_.tempo_bpm, show::from_seconds(words_.freewheel_s).count()};
  code_rate_ = code_rate, begins_ = begins;

  if (settings_.osc) osc_device_ = devices_.number_of(live::kOscDevice);
  if (settings_.sacn) sacn_device_ = devices_.number_of(live::kSacnDevice);
  if (osc_device_ < 0 || sacn_device_ < 0) return wrong("--hands", "names more devices than can be heard at once", "Name fewer: OSC and sACN count as one each.");
  return std::nullopt;
}

std::optional<Finding> Others::open(std::vector<std::string> addresses, show::Findings& notes) {
  if (settings_.osc || settings_.sacn) {
    network_ = std::make_unique<live::Network>(inlet_, osc_device_, sacn_device_);
    network_->know(std::move(addresses));
    for (auto& caution : live::cautions(settings_)) notes.push_back(std::move(caution));
    if (auto problem = network_->open(settings_)) return problem;
  }
  if (!words_.send_mtc.empty()) {
    auto sender = live::MtcSender::open({words_.send_mtc, code_rate_, begins_});
    if (!sender) return sender.problem();
    sender_ = std::move(*sender);
  }
  return std::nullopt;
}

std::vector<std::string> Others::look(perform::Performer& performer, const show::Show& show, const Now& now) {
  std::vector<std::string> lines;
  const perform::Report& report = performer.latest();
  if (sender_ && report.at_ns) sender_->follow({report.at_ns, report.time, report.playing});
  if (sender_)
    if (std::string now_sent = live::to_text(sender_->status()); now_sent != said_of_code_) lines.push_back(said_of_code_ = std::move(now_sent));
  if (!network_) return lines;
  // What was asked before the head was live was asked of another show, or of none.
  if (!std::exchange(begun_, true))
    while (network_->order()) {}
  network_->tell({show::to_seconds(report.time), report.playing, now.armed, now.link_well, perform::cue_on(report.cues, show)});
  const perform::Runner runner{[&] { performer.play(); }, [&] { performer.stop(); }, [&](show::Time at) { performer.seek(at); }, [&](int cue) { performer.start_cue(cue); }, follows()};
  while (const auto order = network_->order()) lines.push_back("OSC " + perform::obey(*order, show, runner));
  return lines;
}

std::string Others::line(const perform::Report& report) const {
  std::string text;
  char part[160];
  if (follows()) {
    std::snprintf(part, sizeof part, "follows %s: %s, %.1f ms to make up, %llu dropouts", words_.follow.c_str(), name(report.followed.state), static_cast<double>(report.followed.behind_ns) * 1e-6,
                  static_cast<unsigned long long>(report.followed.dropouts));
    text += part;
  }
  const live::NetworkStatus now = status();
  if (now.osc) {
    std::snprintf(part, sizeof part, "%sOSC %s: %llu touches, %llu orders, %llu broken, %llu not allowed", text.empty() ? "" : "; ", live::to_text(now.osc_at).c_str(),
                  static_cast<unsigned long long>(now.osc_counts.touches), static_cast<unsigned long long>(now.osc_counts.orders), static_cast<unsigned long long>(now.osc_counts.broken),
                  static_cast<unsigned long long>(now.osc_counts.forbidden) + now.refused);
    text += part;
  }
  if (now.sacn) {
    std::snprintf(part, sizeof part, "%ssACN universe %d at %s: %zu sources, %llu touches", text.empty() ? "" : "; ", settings_.universe, live::to_text(now.sacn_at).c_str(), now.sources.size(),
                  static_cast<unsigned long long>(now.sacn_counts.touches));
    text += part;
  }
  if (sender_) text += (text.empty() ? "" : "; ") + live::to_text(sender_->status());
  return text;
}

}  // namespace mien::app
