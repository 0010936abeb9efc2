// MIDI Time Code of a show that plays, for machines that follow it: which bytes are due when. Pure; whoever sends them has the port and the clock (live/mtc_sender.hpp).
//
// Source: as live/follower.hpp. A full frame where the show begins to play, stops or is somewhere else; quarter frames while it plays, four a frame, the first of each eight on a
// frame of even number.
#pragma once
#include <array>
#include <cstdint>

#include "live/timecode.hpp"
#include "show/time.hpp"

namespace mien::live {

/// Where the show is: at `at_ns` (steady) it is at `time`, and goes on at its own speed while it plays.
struct ShowLine {
  std::int64_t at_ns = 0;
  show::Time time{0};
  bool playing = false;
};

struct MtcBytes {
  std::array<std::uint8_t, 10> byte{};
  std::uint8_t count = 0;  ///< 0: nothing is due
};

/// A value.
class MtcOut {
 public:
  /// `zero`: the code at which the show begins.
  explicit MtcOut(TimeCodeRate rate = TimeCodeRate::fps_25, show::Time zero = show::Time{0}) noexcept : rate_(rate), zero_(zero) {}
  /// The newest of where the show is. Lines that say what was to be expected, to a quarter frame, change nothing.
  void follow(const ShowLine& line) noexcept;
  /// What is due by `now_ns`; ask again until there is nothing. Quarter frames that are more than two frames late are left out, and the code begins anew with a full frame.
  MtcBytes due(std::int64_t now_ns) noexcept;
  /// Whoever listens is new: a full frame is due, then the next group. Before anything is known it does nothing.
  void begin_anew(std::int64_t now_ns) noexcept { if (known_) begin(now_ns); }
  /// When the next quarter frame is due; INT64_MAX while the show stands.
  std::int64_t next_ns() const noexcept;

 private:
  show::Time quarter_time(std::int64_t quarter) const noexcept;
  void begin(std::int64_t at_ns) noexcept;

  TimeCodeRate rate_;
  show::Time zero_;
  ShowLine line_;
  bool known_ = false, full_due_ = false;
  std::int64_t quarter_ = 0;  // the next, counted from code 0
};

}  // namespace mien::live
