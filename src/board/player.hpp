// A board's show without a host: when it starts, what comes between, and how several boards keep step. It gives the drive frames as a host
// would, so that every limit and the watchdog hold as ever. BAKED.md tells the rules.
#pragma once
#include "board/baked.hpp"
#include "board/drive.hpp"

namespace mien::board {

using wire::Phase;

/// Times are the board's microseconds, wrapping at 2^32.
class Player {
 public:
  /// Takes up an image, which must stay where it is, for a board of that address (kNoAddress: any). Every byte of it is looked at before
  /// anything is played, half a kilobyte now and with each tick; then the drive is told its limits.
  void load(wire::Bytes image, std::uint8_t address, Drive& drive, std::uint32_t now_us) noexcept;
  /// Whether all of it was looked at. What is not good is not played, and fault() then says why.
  bool looked_over() const noexcept { return looked_over_; }
  BakeFault fault() const noexcept { return fault_; }
  const Baked& baked() const noexcept { return baked_; }

  /// Before the drive's own tick, at least 1,000 times a second. While a rail is too low nothing is played: no frames come any more, and the
  /// drive's watchdog brings the outputs to rest. A show that loops, or starts at power-on, begins anew when the rail is well again.
  void tick(std::uint32_t now_us, const Senses& senses, Drive& drive) noexcept;

  /// The host is there: nothing is played until the next load(). Outputs stay where they are; the host has them from here, or the drive's
  /// watchdog. Within a second of power-on nothing has moved, and the drive forgets the limits: the host sees a board that has restarted.
  void yield(Drive& drive) noexcept;

  /// What the rest of the chain is to hear, when it is time for that (ten times a second, and at every beginning); asked after tick().
  bool tell(wire::Lead& out) noexcept;
  /// What the board that leads told.
  void follow(const wire::Lead& lead, std::uint32_t now_us, Drive& drive) noexcept;

  Phase phase() const noexcept { return phase_; }
  int track() const noexcept { return track_; }
  std::uint32_t position() const noexcept { return playing() ? reader_.tick() : 0; }  ///< tick of the track that comes next

 private:
  bool playing() const noexcept { return phase_ == Phase::clip || phase_ == Phase::show; }
  bool silent() const noexcept { return phase_ == Phase::off || phase_ == Phase::waiting; }
  bool follows() const noexcept { return baked_.role == Role::follows; }
  bool lively() const noexcept { return baked_.tracks > 1; }
  bool pauses() const noexcept { return lively() || baked_.pause_max_ms > 0; }

  void look_over(Drive& drive) noexcept;
  BakeFault take(Drive& drive) const noexcept;
  bool configure(Drive& drive) const noexcept;
  void look(std::uint16_t inputs, std::uint32_t now_us) noexcept;
  void starve() noexcept;
  void come(Phase phase, std::uint32_t now_us, Drive& drive) noexcept;
  void play(Phase phase, int track, std::uint32_t tick) noexcept;
  void live(std::uint32_t show_in) noexcept;
  void decide(std::uint32_t now_us, Drive& drive) noexcept;
  void end_show(std::uint32_t now_us, Drive& drive) noexcept;
  void step(std::uint32_t now_us, Drive& drive) noexcept;
  void stand() noexcept;
  void approach(const Drive& drive) noexcept;
  void offer(std::uint32_t now_us, Drive& drive) noexcept;
  bool join(const wire::Lead& lead) noexcept;
  void next_is(std::uint32_t us) noexcept { next_us_ = us, remainder_ = 0; }
  std::uint32_t draw_ticks(std::uint32_t least_ms, std::uint32_t most_ms) noexcept;
  std::uint32_t random() noexcept;

  Baked baked_;
  BakeFault fault_ = BakeFault::empty;
  Check check_;
  TrackReader reader_;
  Phase phase_ = Phase::off;
  int track_ = 0;
  std::uint16_t sequence_ = 0;
  std::uint16_t want_[wire::kMaxOutputs] = {}, sent_[wire::kMaxOutputs] = {};  // by place in Baked::output
  std::uint8_t value_[wire::kMaxChannels] = {};     // by place in Baked::value; auxiliaries have no way to go, only a state to be in
  std::uint32_t next_us_ = 0, remainder_ = 0;       // when the next tick is due; what whole microseconds leave over
  std::uint32_t gentle_ = 0;                        // ticks that the way to what is wanted may still be a creep
  std::uint32_t together_ = 0;                      // ticks that the others still get to come as well
  std::uint32_t untold_ = 0;                        // ticks since the others were told
  std::uint32_t clip_in_ = 0, show_in_ = 0;         // ticks
  std::uint32_t random_ = 1;
  std::uint32_t changed_us_ = 0, heard_us_ = 0, loaded_us_ = 0;     // when the inputs changed; when the leader was heard
  bool looked_over_ = false;
  bool matched_ = false, counted_ = false;          // the inputs say start; and did so long enough
  bool wanted_ = false, tell_ = false, listening_ = false;
  bool starved_ = false;                            // a rail is too low
};

}  // namespace mien::board
