// What stands beside the servos: switches, dimmers, fans, code lines.
#pragma once
#include <cstdint>

#include "board/verdict.hpp"
#include "wire/messages.hpp"

namespace mien::board {

/// What the board's port measures.
struct Senses {
  wire::RailReading rail[wire::kMaxRails];
  std::uint16_t inputs = 0;
  std::uint8_t faults = 0;  ///< wire::Fault; kHot is the core's own
};

/// Turns the values of channels into levels of lines. A code changes without ever showing a number that was not asked for (strobe) or
/// lies between (Gray); a fan follows heat by itself. Times are the board's microseconds, wrapping at 2^32.
class Channels {
 public:
  /// lines: 0..wire::kMaxLines; more count as that many.
  explicit Channels(int lines) noexcept;

  /// Refuses what makes no sense, a line that the board lacks, and a line or channel that is taken.
  Verdict add(const wire::ChannelSetup& setup) noexcept;
  /// All lines off, nothing known.
  void forget() noexcept;
  std::uint8_t configured_mask() const noexcept;
  const wire::ChannelSetup& setup(int channel) const noexcept { return channel_[channel].setup; }

  void set(int channel, std::uint8_t value) noexcept;
  void rest() noexcept;  ///< every channel to its value at rest
  /// Moves codes and fans on. `moved` has a bit for each servo output that moved since the last call.
  void tick(std::uint32_t now_us, const Senses& senses, std::uint16_t moved) noexcept;

  /// 0 off .. 255 on; 0 for a line that the board lacks.
  std::uint8_t level(int line) const noexcept { return line >= 0 && line < lines_ ? level_[line] : std::uint8_t{0}; }
  /// Whether a channel has the line.
  bool takes(int line) const noexcept { return line >= 0 && line < lines_ && (taken_ >> line & 1u) != 0; }
  bool hot() const noexcept;  ///< a fan runs for heat

 private:
  enum class Step : std::uint8_t { steady, closing, opening };
  struct Channel {
    wire::ChannelSetup setup;
    bool configured = false, hot = false;
    std::uint8_t value = 0;
    std::uint8_t shown = 0;          // code: the number on its lines
    Step step = Step::opening;       // code: what the settle time is running for
    std::uint32_t since_us = 0;      // code: since when
    std::int64_t smooth = 0;         // fan: mA, 16 fractional bits
  };
  void walk(Channel& c, std::uint32_t now_us) noexcept;
  void strobe(Channel& c, std::uint32_t now_us) noexcept;
  void show(Channel& c, std::uint8_t number, std::uint32_t now_us) noexcept;
  void sample_heat(const Senses& senses) noexcept;

  Channel channel_[wire::kMaxChannels];
  std::uint8_t level_[wire::kMaxLines] = {};
  int lines_;
  std::uint32_t taken_ = 0;      // lines, a bit each
  std::uint16_t moved_ = 0;      // since the last sample of heat
  std::uint32_t sampled_us_ = 0;
};

}  // namespace mien::board
