// A baked show as it lies in a board's flash: BAKED.md beside this file has the bytes. Reads them in place, copies nothing, and trusts
// nothing: whatever the bytes are, no read leaves them.
#pragma once
#include <cstddef>
#include <cstdint>

#include "wire/baked.hpp"

namespace mien::board {

inline constexpr std::uint8_t kBakedMark[4] = {'M', 'B', 'K', '2'};
inline constexpr int kMaxTracks = 16;              ///< the show and 15 clips of idle life
inline constexpr std::uint32_t kBlockTicks = 64;   ///< a block stands alone: playback may begin at any
inline constexpr int kMaxBakedHz = 400;
inline constexpr int kMaxGridShift = 4;            ///< pulses are multiples of 1/16 us shifted left by this: 1 us at the coarsest
inline constexpr int kMaxOrder = 3, kMaxRice = 15;
inline constexpr int kEscape = 20;                 ///< so many ones say that the residual follows in plain,
inline constexpr int kPlainBits = 20;              ///< which takes so many bits

using wire::BakeFault;

enum class Role : std::uint8_t {
  alone = 0,    ///< starts by itself and tells nobody
  leads = 1,    ///< starts by itself and takes the rest of the chain with it
  follows = 2,  ///< starts and keeps step as the board that leads tells it
};

struct BakedOutput {
  std::uint8_t output = 0;
  std::uint8_t shift = 0;
  std::uint16_t base = 0;  ///< pulse on the show's first tick, where everything begins and ends
};

/// A channel for an auxiliary.
struct BakedValue {
  std::uint8_t channel = 0;
  std::uint8_t base = 0;  ///< value on the show's first tick
};

struct BakedTrack {
  std::uint32_t offset = 0;  ///< of the first block, from the image's beginning
  std::uint32_t ticks = 0;
};

/// The head of an image. Track 0 is the show, the others are idle life.
struct Baked {
  wire::Bytes image;
  std::uint8_t address = 0;
  Role role = Role::alone;
  std::uint16_t tick_hz = 100;
  bool loop = false;
  std::uint16_t start_mask = 0, start_value = 0;        ///< starts when inputs & mask become value; mask 0: at power-on
  std::uint32_t pause_min_ms = 0, pause_max_ms = 0;     ///< between two performances
  std::uint32_t gap_min_ms = 0, gap_max_ms = 0;         ///< between two clips of idle life
  std::uint32_t number = 0;  ///< of this baked show, the same on all boards of a head; not 0. Chance starts from it, too
  std::uint32_t loop_from = 0;  ///< tick of the show at which it goes on after its last, where it loops without a pause
  int outputs = 0, values = 0, tracks = 0;
  BakedOutput output[wire::kMaxOutputs];
  BakedValue value[wire::kMaxChannels];
  BakedTrack track[kMaxTracks];
  wire::Bytes configure;  ///< the board's limits: packets as on the line
};

/// Reads the head and checks its CRC and every value; `out` is whole only where the answer is none. Bytes behind the image are ignored, as
/// flash has no end.
BakeFault read(wire::Bytes bytes, Baked& out) noexcept;

/// Walks every block, so many bytes at a time: its CRC, and that the tracks fill the image. A board has more to do meanwhile.
class Check {
 public:
  /// `baked` must outlive it.
  void start(const Baked& baked) noexcept;
  /// Looks at so many bytes more, at least one; nothing once it is over.
  void go_on(std::size_t bytes) noexcept;
  bool over() const noexcept { return over_; }
  BakeFault fault() const noexcept { return fault_; }  ///< none until something is found

 private:
  void next_block() noexcept;
  void end(BakeFault fault) noexcept { fault_ = fault, over_ = true; }

  const Baked* baked_ = nullptr;
  int track_ = 0;
  std::uint32_t tick_ = 0;                     // that the block begins with
  std::size_t block_ = 0, size_ = 0, done_ = 0;  // the block's place and size, and how much of it went into the CRC
  std::uint16_t crc_ = 0;
  bool over_ = true;
  BakeFault fault_ = BakeFault::none;
};

/// All of it at once.
BakeFault check(const Baked& baked) noexcept;

/// Where a line through the last `order` values (1..3, newest first) goes next: the same value, the same step, the same change of step.
constexpr std::int32_t predict(const std::int32_t* at, int order) noexcept {
  return order == 1 ? at[0] : order == 2 ? 2 * at[0] - at[1] : 3 * (at[0] - at[1]) + at[2];
}

/// One track, tick by tick. `baked` must outlive it.
class TrackReader {
 public:
  /// Goes to a tick; false for a track or tick that there isn't, and for a damaged block.
  bool start(const Baked& baked, int track, std::uint32_t tick) noexcept;
  /// The next tick's pulses and values, in the order of Baked::output and Baked::value; false, and nothing written, at the end and in a
  /// damaged block.
  bool next(std::uint16_t* pulse, std::uint8_t* value) noexcept;
  std::uint32_t tick() const noexcept { return tick_; }  ///< that next() gives
  bool at_end() const noexcept { return baked_ == nullptr || tick_ >= baked_->track[track_].ticks; }

 private:
  struct Line {
    int order = 0, rice = 0;  // order 0: stands still
    std::int32_t at[3] = {};  // newest first, in steps of the grid
    std::int32_t most = 0;
  };
  bool open_block() noexcept;
  bool decode() noexcept;
  bool advance(Line& line, int known) noexcept;
  std::uint32_t bits(int count) noexcept;

  const Baked* baked_ = nullptr;
  int track_ = 0;
  std::uint32_t tick_ = 0;
  std::size_t block_ = 0;     // offset of the block that comes next
  std::size_t bit_ = 0, end_ = 0;  // of the block's residuals: next bit, and the first beyond
  bool good_ = false;
  int lines() const noexcept { return baked_->outputs + baked_->values; }
  int shift_of(int line) const noexcept { return line < baked_->outputs ? baked_->output[line].shift : 0; }
  Line line_[wire::kMaxOutputs + wire::kMaxChannels];  // the outputs', then the values'
};

}  // namespace mien::board
