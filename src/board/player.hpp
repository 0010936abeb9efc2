// A board's show without a host: when it starts, what comes between, and how several boards keep step. It gives the drive frames as a host
// would, so that every limit and the watchdog hold as ever. BAKED.md tells the rules.
#pragma once
#include "board/baked.hpp"
#include "board/drive.hpp"

namespace mien::board {

enum class Phase : std::uint8_t {
  off = 0,      ///< nothing to play, or the host is there
  waiting = 1,  ///< silent, until it is started
  coming = 2,   ///< creeps to where everything begins
  living = 3,   ///< stands there; idle life comes up now and then
  clip = 4,     ///< a clip of idle life
  show = 5,
};
const char* name(Phase phase) noexcept;

/// What the board that leads tells the others: I have just played this tick. In phase off: be silent.
struct Step {
  Phase phase = Phase::off;
  std::uint8_t track = 0;   ///< clip and show
  std::uint32_t tick = 0;
};

/// Times are the board's microseconds, wrapping at 2^32.
class Player {
 public:
  /// Takes up an image (which must stay where it is) for a board of so many outputs, and tells the drive its limits. What is not good is
  /// not played, and fault() says why.
  void load(wire::Bytes image, Drive& drive, std::uint32_t now_us) noexcept;
  BakeFault fault() const noexcept { return fault_; }
  const Baked& baked() const noexcept { return baked_; }

  /// Before the drive's own tick, at least 1,000 times a second. `inputs`: levels of the board's digital inputs.
  void tick(std::uint32_t now_us, std::uint16_t inputs, Drive& drive) noexcept;

  /// The host is there: nothing is played from now until the next load(). Outputs stay as they are; the drive's watchdog, or the host,
  /// has them from here.
  void yield() noexcept { phase_ = Phase::off, yielded_ = true; }
  bool yielded() const noexcept { return yielded_; }

  /// Where the others should be, when it is time to tell them (ten times a second, and at every beginning): asked after tick().
  bool tell(Step& out) noexcept;
  /// What the board that leads told.
  void follow(const Step& step, std::uint32_t now_us, Drive& drive) noexcept;

  Phase phase() const noexcept { return phase_; }
  int track() const noexcept { return track_; }
  std::uint32_t position() const noexcept { return reader_.tick(); }  ///< tick of the track that comes next

 private:
  bool leads() const noexcept { return baked_.role != Role::follows; }
  bool lively() const noexcept { return baked_.tracks > 1 || (baked_.loop && pausing()); }
  bool pausing() const noexcept { return baked_.pause_max_ms > 0 || baked_.tracks > 1; }
  bool asked_to_start(std::uint32_t now_us, std::uint16_t inputs) noexcept;
  bool configure(Drive& drive) noexcept;
  void come(std::uint32_t now_us, Drive& drive) noexcept;
  void begin(Phase phase, int track, std::uint32_t tick) noexcept;
  void live(bool first, std::uint32_t now_us) noexcept;
  void decide(std::uint32_t now_us, bool asked, Drive& drive) noexcept;
  void step(std::uint32_t now_us, Drive& drive) noexcept;
  void finish(std::uint32_t now_us, Drive& drive) noexcept;
  void give_up(BakeFault why) noexcept { phase_ = Phase::off, fault_ = why; }
  bool offer(std::uint32_t now_us, Drive& drive) noexcept;
  std::uint32_t draw(std::uint32_t least, std::uint32_t most) noexcept;

  Baked baked_;
  BakeFault fault_ = BakeFault::empty;
  TrackReader reader_;
  Phase phase_ = Phase::off;
  bool yielded_ = false, wanted_ = false, tell_ = false, gentle_ = false;
  int track_ = 0;
  std::uint16_t sequence_ = 0;
  std::uint16_t want_[wire::kMaxOutputs] = {}, sent_[wire::kMaxOutputs] = {};  // by place in Baked::output
  std::uint32_t next_us_ = 0, remainder_ = 0;  // of the next tick; what whole microseconds leave over
  std::uint32_t ticks_ = 0;                    // since told
  std::uint32_t gentle_ticks_ = 0;
  std::uint32_t clip_in_ = 0, show_in_ = 0;    // ticks until; kNever
  std::uint32_t random_ = 1;
  std::uint32_t input_since_us_ = 0, heard_us_ = 0;
  bool input_was_ = false, input_counted_ = true;
};

}  // namespace mien::board
