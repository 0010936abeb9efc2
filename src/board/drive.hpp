// What a board does with its outputs: the state machine of PROTOCOL.md ("What a board does"), without the talking.
#pragma once
#include <cstdint>

#include "board/channels.hpp"
#include "board/frame_queue.hpp"
#include "board/output.hpp"
#include "board/shared_clock.hpp"
#include "board/verdict.hpp"
#include "wire/messages.hpp"

namespace mien::board {

/// What a board has that can be driven.
struct Fittings {
  int outputs = 0;            ///< 0..wire::kMaxOutputs; more count as that many
  int lines = 0;              ///< 0..wire::kMaxLines; likewise
  int outputs_per_timer = 1;  ///< 2: outputs 0 and 1, 2 and 3, ... have one period and phase
};

/// Told what to do by the host's messages and what time it is by tick(); drives its outputs by itself, watchdog included.
/// Times are the board's microseconds, wrapping at 2^32.
class Drive {
 public:
  explicit Drive(const Fittings& fittings) noexcept;
  /// Called for every frame that takes effect, in order; null for nobody.
  void on_latch(void (*call)(void* context, std::uint16_t sequence), void* context) noexcept {
    latched_ = call, latched_context_ = context;
  }

  Verdict configure(const wire::Configure& part) noexcept;
  void forget() noexcept;  ///< as after power-on; while outputs are silent
  Verdict arm(std::uint32_t now_us) noexcept;
  void disarm(std::uint32_t now_us) noexcept;
  void stop() noexcept;
  void set_clock(const wire::Clock& clock) noexcept { clock_.set(clock); }
  const SharedClock& clock() const noexcept { return clock_; }

  /// A frame that the board heard. `mine` is its block, nullptr where the frame has none for this board: that frame moves
  /// nothing but tells the watchdog that the host is there.
  Verdict offer(std::uint16_t sequence, std::uint32_t latch_us, const wire::Block* mine, std::uint32_t now_us) noexcept;

  void tick(std::uint32_t now_us, const Senses& senses) noexcept;

  wire::State state() const noexcept { return state_; }
  int outputs() const noexcept { return outputs_; }
  const Output& output(int n) const noexcept { return output_[n]; }
  const Channels& channels() const noexcept { return channels_; }
  std::uint16_t configuration() const noexcept { return configuration_; }  ///< wire::checksum, 0 while unconfigured
  std::uint16_t sequence() const noexcept { return latched_sequence_; }
  const wire::Counters& counters() const noexcept { return counters_; }  ///< latched, late, stale, clamped, slewed

 private:
  Verdict take(const wire::Configure& part) noexcept;
  Verdict timers_agree() const noexcept;
  std::uint16_t configured_mask() const noexcept;
  std::uint16_t compute_checksum() const noexcept;
  void enter(wire::State state, std::uint32_t now_us) noexcept;
  void hold(std::uint32_t now_us) noexcept;
  void creep_to_rest(wire::State as, std::uint32_t now_us) noexcept;
  void go_silent() noexcept;
  void accrue_until(std::uint32_t now_us) noexcept;
  void latch_due(std::uint32_t now_us) noexcept;
  void latch(const Setpoints& frame, std::uint32_t now_us) noexcept;
  void watch(std::uint32_t now_us) noexcept;
  bool all_arrived() const noexcept;

  Output output_[wire::kMaxOutputs];
  Channels channels_;
  int outputs_, outputs_per_timer_;
  SharedClock clock_;
  FrameQueue queue_;
  wire::Watchdog watchdog_;
  wire::Counters counters_;
  void (*latched_)(void* context, std::uint16_t sequence) = nullptr;
  void* latched_context_ = nullptr;
  wire::State state_ = wire::State::unconfigured;
  std::uint32_t since_us_ = 0;  // when state_ began, or a frame was last heard in it
  std::uint32_t accrued_us_ = 0;
  std::uint16_t configuration_ = 0;
  std::uint16_t heard_sequence_ = 0, latched_sequence_ = 0;
  bool begun_ = false;  // a configuration's first part came
  bool sequence_known_ = false, accrued_ = false;
};

}  // namespace mien::board
