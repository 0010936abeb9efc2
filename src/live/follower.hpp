// Show time from another machine: MIDI Time Code or MIDI clock. Bytes' moments in, a show time for each moment out. Pure and a value: no clock and no device, so that tests feed it
// any source and any stutter.
//
// Sources: MIDI Time Code (MMA 1987, RP-004/008): eight quarter frames carry a label, which is that of the first of them; a full frame is a locate. MIDI 1.0 Detailed
// Specification 4.2: 24 clocks a quarter note, a song position counts sixteenths (6 clocks), start begins at 0 with the next clock, continue goes on. The line through the moments
// is a delay-locked loop of second order, as in sound/clock.hpp.
//
// How it behaves
//  - locks with the eighth quarter frame in order, or with the first clock after start or continue;
//  - goes on by itself ("freewheels") for as long as settings say when the source falls silent, then stands;
//  - while it plays, differences up to kFarthestSlew are made up by running at most kMostSlew faster or slower: the show never runs backward and never leaps for them. What is farther is
//    a locate: the show time is another one at once, as when a person seeks, and the limiter leads the servos there;
//  - a code that runs backward stops the show where it is (a head can't be rewound); it is taken up where the code runs forward again.
#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

#include "live/midi.hpp"
#include "live/timecode.hpp"
#include "show/time.hpp"

namespace mien::live {

inline constexpr show::Time kFarthestSlew{500'000'000};
inline constexpr double kMostSlew = 0.1;
inline constexpr std::int64_t kOneDevice_ns = 2'000'000'000;
inline constexpr std::int64_t kQuiet_ns = 100'000'000;  ///< without a word for so long it freewheels

struct FollowSettings {
  enum class Source : std::uint8_t { none, mtc, clock };
  Source source = Source::none;
  show::Time zero{0};              ///< the time code at which the show begins
  double tempo_bpm = 120;          ///< of a clock: the tempo at which the show runs at its own speed
  std::int64_t freewheel_ns = 1'000'000'000;
  friend bool operator==(const FollowSettings&, const FollowSettings&) = default;
};
inline constexpr double kLeastTempo_bpm = 20, kMostTempo_bpm = 300, kMostFreewheel_s = 10;
std::optional<FollowSettings::Source> parse_follow(std::string_view text) noexcept;  ///< "none", "mtc", "clock"
const char* name(FollowSettings::Source source) noexcept;

/// What the follower says at a moment.
struct Followed {
  enum class State : std::uint8_t { off, waiting /* nothing to follow yet, or the source stands */, locking, locked, freewheeling };
  State state = State::off;
  bool running = false;             ///< the show is to play
  bool located = false;             ///< `time` is no continuation of what was said before
  show::Time time{0};               ///< may lie before 0 or beyond the show
  double rate = 1;                  ///< show seconds a second that the source runs at
  std::int64_t behind_ns = 0;       ///< what is still to be made up: the source's time less `time`
  TimeCodeRate code_rate = TimeCodeRate::fps_25;  ///< of time code that was heard
  std::uint64_t locates = 0, dropouts = 0;
};
const char* name(Followed::State state) noexcept;  ///< "off", "waiting", "locking", "locked", "freewheeling"

/// Allocates nothing. Moments may not fall, from call to call.
class Follower {
 public:
  void set(const FollowSettings& settings) noexcept;
  const FollowSettings& settings() const noexcept { return settings_; }
  /// What is no time code or clock is left alone.
  /// Where several devices send time, the first is followed until it was silent for kOneDevice_ns.
  void hear(const MidiMessage& message, std::int64_t at_ns, int device = 0) noexcept;
  Followed advance(std::int64_t steady_ns) noexcept;

 private:
  void quarter(std::uint8_t data, std::int64_t at_ns) noexcept;
  void full(const MidiMessage& message) noexcept;
  void clock(std::int64_t at_ns) noexcept;
  void sample(show::Time at, std::int64_t at_ns, double period_s, double least, double most) noexcept;
  void begin_line(show::Time at, std::int64_t at_ns, double rate) noexcept;
  void halt(show::Time at) noexcept;
  void stand() noexcept;
  void listen_anew() noexcept { next_ = 0, gathered_ = false; }
  show::Time line_at(std::int64_t at_ns) const noexcept;
  show::Time song(std::int64_t clocks) const noexcept;

  FollowSettings settings_;
  // The source: its pieces or clocks, and the line through their moments.
  std::array<std::uint8_t, 8> piece_{};
  int next_ = 0, last_piece_ = -1, backward_ = 0;
  bool gathered_ = false;                // the code before these pieces is known: each of them tells a time
  TimeCodeRate code_rate_ = TimeCodeRate::fps_25;
  std::int64_t frame_ = 0;               // that this group's first piece marks
  std::int64_t heard_ns_ = 0, clock_ns_ = 0;  // the newest piece, the newest clock
  int device_ = -1, tempo_clocks_ = 0, since_start_ = 0;
  std::int64_t device_ns_ = 0;
  double tempo_rate_ = 1;                // from the clocks' intervals alone
  std::int64_t clocks_ = 0;              // since the song's beginning, of the next clock
  bool started_ = false;                 // start or continue was heard
  bool running_ = false;
  std::int64_t word_ns_ = 0, line_ns_ = 0, line_show_ns_ = 0;
  double line_rest_ns_ = 0, rate_ = 1;
  bool standing_news_ = false;           // a locate while it stands
  // What was said last.
  bool said_running_ = false, freewheeling_ = false;
  std::int64_t said_ns_ = 0;
  double said_show_ns_ = 0;
  std::uint64_t locates_ = 0, dropouts_ = 0;
};

}  // namespace mien::live
