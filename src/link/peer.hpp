// One board of the rig as the host knows it: what it must be told, what it said, and what to ask it next.
#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "link/clock_estimate.hpp"
#include "link/session.hpp"
#include "show/finding.hpp"
#include "show/rig.hpp"
#include "wire/codec.hpp"

namespace mien::link {

/// What the person wants of the boards. stop and disarm both end in silence: at once, or by way of rest.
enum class Goal : std::uint8_t { stop, disarm, arm };

/// A counter that may begin again at zero when its board restarts, added up over all its lives. The first value seen is where
/// counting starts.
class RunningTotal {
 public:
  void see(std::uint32_t value) noexcept {
    if (seen_) total_ += value >= last_ ? value - last_ : value;
    last_ = value;
    seen_ = true;
  }
  std::uint64_t total() const noexcept { return total_; }

 private:
  bool seen_ = false;
  std::uint32_t last_ = 0;
  std::uint64_t total_ = 0;
};

struct Peer {
  // From the rig.
  std::string name;
  int address = 0;
  wire::Configure limits;       ///< the whole configuration; address and token are left to whoever sends it
  std::uint16_t checksum = 0;   ///< of the limits, as the board computes it
  std::array<int, wire::kMaxOutputs> actuator{};        ///< by output; -1 where the rig uses none
  std::array<std::string, wire::kMaxOutputs> actuator_name;
  std::vector<std::string> rail_name;                   ///< by the number of its reading in a report
  std::array<int, wire::kMaxChannels> auxiliary{};      ///< by channel; -1 where the rig uses none
  std::optional<std::uint64_t> identity;                ///< the rig's, or else of the board that answered first
  std::optional<show::Finding> misfit_in_rig;           ///< what no board could be told

  // As the board says; forgotten with forget().
  bool described = false;
  wire::Description description;
  std::optional<show::Finding> misfit;                  ///< why this board can't serve this rig
  Standing standing = Standing::expected;
  std::string stands_there;     ///< swapped: the name of the rig's board that answers
  bool astray = false;          ///< of which: its identity is another board's; it is asked once to give up its address
  bool released = false;
  std::uint8_t release_token = 0;  ///< of that request; what answers it is about to be another board's concern
  wire::State state = wire::State::unconfigured;
  bool armed_by_us = false, reported = false;
  wire::StateReport report;      ///< the newest
  bool report_came = false;      ///< since it was forgotten
  std::int64_t report_at_us = 0;
  wire::Counters counters;
  ClockEstimate clock;
  std::optional<wire::Clock> clock_told;
  std::int64_t clock_told_at_us = 0;

  // The talk itself.
  std::optional<wire::Type> asked;  ///< the request that waits for its answer
  std::uint8_t token = 0;
  std::int64_t asked_at_us = 0, next_heartbeat_us = 0, next_report_us = 0, quiet_until_us = 0;
  int unanswered = 0;  ///< heartbeats in a row
  std::int64_t heard_at_us = 0;
  std::optional<show::Finding> refusal;  ///< the newest
  std::int64_t refused_at_us = 0;
  RunningTotal latched, refused;  ///< over the whole session

  // The head's side of it.
  bool absent = false;          ///< the head does without it, until it is configured (and armed, where the others are)
  std::uint32_t joined = 0;     ///< Armed::joins of its last return; frames computed with less are not for it
  std::uint32_t restarts = 0;
  std::int64_t missed_since_us = 0;  ///< since when it was waited for; 0: it is there

  bool fits() const noexcept { return described && !misfit && !misfit_in_rig; }
  bool configured() const noexcept { return fits() && description.configuration == checksum && state != wire::State::unconfigured; }
  bool silent() const noexcept { return state == wire::State::unconfigured || state == wire::State::ready; }
  bool armed() const noexcept { return configured() && armed_by_us && reported && wire::armed(state); }

  /// A new port, or a new board behind it: everything that a board said is unknown again.
  void forget();
  /// What the board would make of the clock it was told, less what is true, in microseconds.
  double clock_error_us(std::int64_t now_us) const;
  /// What a description says, held against the rig: sets misfit or clears it.
  void take(const wire::Description& said);
  /// The next request, if there is one to be made now. Never a heartbeat; those go by time.
  std::optional<wire::Type> want(Goal goal, std::int64_t now_us) const;
};

/// One for each board of the rig, in rising address.
std::vector<Peer> peers_of(const show::Rig& rig);

/// The slew limit in units per second that no setpoint within the velocity limit runs into, even when one frame latches late by
/// the board's own step and the next on time; not much more than that.
std::uint32_t slew_for(const show::Actuator& actuator, int tick_hz) noexcept;

}  // namespace mien::link
