// What OSC may say to a head, and what becomes of it: messages to the map's addresses and to /mien/control/NAME become touches, like those of any hand; the rest become
// orders for whoever runs the show. No socket and no clock of its own, so that tests speak to it directly.
//
//   /mien/control/NAME f   sets a control, in its unit; it is let go after kDirectHold_s without another word, or by
//   /mien/release [s]      which lets go of the control named, or of all
//   /mien/play  /mien/stop   /mien/locate f (seconds)   /mien/marker s (plays from there)   /mien/cue/NAME or /mien/cue s
//   /mien/state            asks for reports (live/network.hpp)
// Nothing here arms anything, jogs a servo or takes boards over, and nothing can be added that does: an order is one of NetworkOrder's.
#pragma once
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "live/address.hpp"
#include "live/osc.hpp"
#include "live/touch.hpp"
#include "show/time.hpp"

namespace mien::live {

/// What another machine asks of the show.
struct NetworkOrder {
  enum class Kind : std::uint8_t { play, stop, locate, marker, cue };
  Kind what = Kind::stop;
  show::Time time{0};   ///< where to locate; not before 0
  std::string name{};   ///< of the marker or cue
  friend bool operator==(const NetworkOrder&, const NetworkOrder&) = default;
};
std::string to_text(const NetworkOrder& order);  ///< "play", "locate 1.500 s", "cue wake up"

/// What OSC is let touch.
struct OscMay {
  bool control = true;    ///< the map's addresses, /mien/control and /mien/release
  bool cue = true;
  bool transport = true;  ///< play, stop, locate, marker
  friend bool operator==(const OscMay&, const OscMay&) = default;
};
/// "control,cue,transport", or fewer of them. `place` names it in the finding.
show::Result<OscMay> parse_may(std::string_view text, const std::string& place);
std::string to_text(const OscMay& may);

/// What came of what was heard.
struct OscCounts {
  std::uint64_t packets = 0, touches = 0, orders = 0;
  std::uint64_t broken = 0;     ///< packets that are none
  std::uint64_t forbidden = 0;  ///< messages that OscMay leaves out
  std::uint64_t unknown = 0;    ///< to addresses that nobody listens to, or without what they need
  std::uint64_t far_off = 0;    ///< with a time tag farther ahead than kMostAhead_ns, or more of them than fit
  friend bool operator==(const OscCounts&, const OscCounts&) = default;
};

/// For one thread. It may allocate.
class OscEar {
 public:
  static constexpr std::int64_t kMostAhead_ns = 10'000'000'000;
  static constexpr std::size_t kMostWaiting = 256;

  OscEar(Inlet& inlet, int device) : inlet_(inlet), device_(static_cast<std::uint8_t>(device)) {}
  void let(const OscMay& may) noexcept { may_ = may; }
  /// Addresses by number, as HandProgram counts them.
  void know(const std::vector<std::string>& addresses);

  /// A datagram. `at_ns`: steady, for the touches; `unix_ns`: what time tags are held against.
  void hear(std::span<const std::uint8_t> packet, const NetAddress& from, std::int64_t at_ns, std::int64_t unix_ns);
  /// Messages whose time has come, and values that found no room in the inlet, the newest of each. Call it every few milliseconds while any_waits().
  void catch_up(std::int64_t at_ns, std::int64_t unix_ns);
  bool any_waits() const noexcept { return !later_.empty() || !unsaid_.empty(); }

  std::vector<NetworkOrder> take_orders() { return std::exchange(orders_, {}); }
  std::vector<NetAddress> take_askers() { return std::exchange(askers_, {}); }  ///< of /mien/state
  const OscCounts& counts() const noexcept { return counts_; }

 private:
  struct Later { std::int64_t unix_ns; std::vector<std::uint8_t> bytes; NetAddress from; };
  void obey(const OscMessage& message, const NetAddress& from, std::int64_t at_ns);
  void obey_own(const OscMessage& message, std::string_view word, const NetAddress& from, std::int64_t at_ns);
  void touch(std::uint16_t number, const OscMessage& message, std::int64_t at_ns);
  void say(std::uint16_t number, float value, std::int64_t at_ns);
  void order(bool may, NetworkOrder order);
  bool controls(std::uint16_t number) const noexcept { return number < own_.size() && own_[number]; }

  Inlet& inlet_;
  const std::uint8_t device_;
  OscMay may_;
  std::unordered_map<std::string, std::uint16_t> number_;
  std::vector<char> own_;  // by number: /mien/control/...
  std::vector<std::string> name_;
  std::vector<OscMessage> heard_;
  std::vector<Later> later_;
  std::vector<std::pair<std::uint16_t, float>> unsaid_;
  std::vector<NetworkOrder> orders_;
  std::vector<NetAddress> askers_;
  OscCounts counts_;
};

}  // namespace mien::live
