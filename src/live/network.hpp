// Other machines that play the head: OSC and sACN over UDP, each off until it is opened. A thread of its own listens, lets through who may speak, and puts touches into the inlet
// beside those of hands; what asks for play, stop, locate and cues waits for whoever runs the show. Nothing here can arm anything.
#pragma once
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "live/osc_ear.hpp"
#include "live/sacn.hpp"

namespace mien::live {

inline constexpr int kMostAskers = 8;          ///< who are told at once
inline constexpr int kMostReports_hz = 25;
inline constexpr std::int64_t kToldFor_ns = 10'000'000'000;  ///< after /mien/state, until it has to be asked again
inline const std::string kOscDevice = "OSC", kSacnDevice = "sACN";  ///< their names among the devices

struct NetworkSettings {
  bool osc = false;
  std::uint16_t osc_port = 0;             ///< 0 takes a free one
  std::uint32_t osc_ip = kLoopback;       ///< of this machine, to listen on; 0: all that it has
  OscMay may{};
  bool sacn = false;
  int universe = 1;
  std::uint32_t sacn_ip = kLoopback;      ///< likewise, and the interface by which the universe's group is joined
  std::uint16_t sacn_port = kSacnPort;    ///< the standard's; another one for tests
  std::vector<AddressRange> allow{};        ///< whose packets are heard; empty: everybody's
  friend bool operator==(const NetworkSettings&, const NetworkSettings&) = default;
};

/// A caution for each input that other machines can reach without being on a list.
show::Findings cautions(const NetworkSettings& settings);

/// What is told to whoever asks by /mien/state: /mien/state ,fiisi with time_s, playing, armed, cue, link_well.
struct ShowState {
  double time_s = 0;
  bool playing = false, armed = false, link_well = false;
  std::string cue;
};

struct NetworkStatus {
  bool osc = false, sacn = false;        ///< open
  NetAddress osc_at, sacn_at;            ///< where, with the port that was taken
  OscCounts osc_counts;
  SacnCounts sacn_counts;
  std::uint64_t refused = 0;             ///< packets from addresses that are not on the list
  int askers = 0;
  struct Source { std::string name; int priority = 0; };
  std::vector<Source> sources;           ///< of the universe
};

/// Every call is for one thread, not the performing one, and returns within a millisecond or so.
class Network {
 public:
  /// The inlet outlives this; the devices are the numbers that touches carry.
  Network(Inlet& inlet, int osc_device, int sacn_device);
  ~Network();
  Network(const Network&) = delete;
  Network& operator=(const Network&) = delete;

  /// Opens what the settings switch on, in place of what was open; where one can't be, nothing is open afterwards.
  std::optional<show::Finding> open(const NetworkSettings& settings);
  /// What was held is given back to the show.
  void close();
  /// Addresses by number (know_addresses, know_controls); the list may only grow.
  void know(std::vector<std::string> addresses);
  /// The next thing that was asked for.
  std::optional<NetworkOrder> order();
  /// Call it often; those who asked are told at most kMostReports_hz times a second.
  void tell(const ShowState& state);
  NetworkStatus status() const;

 private:
  struct Core;
  std::unique_ptr<Core> core_;
};

}  // namespace mien::live
