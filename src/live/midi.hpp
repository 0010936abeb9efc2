// MIDI's bytes as messages. A pure parser: bytes in any portions, messages out; no library, no clock.
//
// Source: MIDI 1.0 Detailed Specification 4.2, tables I to VII (channel voice, system common, system real time, universal system exclusive).
#pragma once
#include <array>
#include <cstdint>
#include <optional>

namespace mien::live {

struct MidiMessage {
  enum class Kind : std::uint8_t {
    note_off, note_on, key_pressure, controller, program, channel_pressure, bend,      // channel voice
    quarter_frame, song_position, song_select, tune_request,                           // system common
    clock, start, resume, stop, sensing, reset,                                        // system real time; `resume` is the standard's "continue"
    full_time,                                                                         // universal system exclusive 7F xx 01 01: a time code as a whole
  };
  Kind kind = Kind::note_off;
  std::uint8_t channel = 0;          ///< 0..15; 0 for system messages
  std::uint8_t number = 0;           ///< of the note or controller, 0..127
  std::uint16_t value = 0;           ///< velocity, pressure, controller, program, song or quarter frame 0..127; bend and song position 0..16383
  std::array<std::uint8_t, 4> time{};  ///< of a full_time: 0rrhhhhh, minutes, seconds, frames, as they stand on the wire
  friend bool operator==(const MidiMessage&, const MidiMessage&) = default;
};

/// Time code, clock, start, continue, stop and song position.
constexpr bool tells_time(MidiMessage::Kind kind) noexcept {
  using K = MidiMessage::Kind;
  return kind == K::quarter_frame || kind == K::full_time || kind == K::clock || kind == K::start || kind == K::resume || kind == K::stop || kind == K::song_position;
}

inline constexpr int kBendCentre = 8192, kMost14Bit = 16383;

/// One for each device, since running status is the device's. A value. Bytes that belong to nothing (data without a status, undefined statuses,
/// other system exclusive messages, halves cut off by the next status) are skipped; nothing that comes in can do harm.
class MidiParser {
 public:
  /// The message that this byte completes. A note on with velocity 0 comes out as the note off that it means.
  std::optional<MidiMessage> feed(std::uint8_t byte) noexcept;

 private:
  std::optional<MidiMessage> begin(std::uint8_t status) noexcept;
  std::optional<MidiMessage> complete() noexcept;
  std::optional<MidiMessage> end_exclusive() const noexcept;

  std::uint8_t status_ = 0;  // 0: none that data could belong to
  std::uint8_t have_ = 0, need_ = 0;
  std::array<std::uint8_t, 2> data_{};
  bool exclusive_ = false;
  std::uint8_t heard_ = 0;                   // of an exclusive message, as many as fit below
  std::array<std::uint8_t, 8> exclusive_data_{};
  bool too_long_ = false;
};

/// Joins the halves of 14-bit controllers: 0..31 carry the upper seven bits, 32..63 the lower ones of the same controller. An upper half sets the lower
/// one to 0, so a device that sends upper halves only works, too.
class ControllerPairs {
 public:
  /// The value 0..16383 of the pair that the message changed, and in `number` its controller 0..31; -1 for other controllers. A lower half whose upper
  /// half was never heard counts from 0. Precondition: a controller message.
  int join(const MidiMessage& message, int& number) noexcept;

 private:
  std::array<std::array<std::uint16_t, 32>, 16> value_{};
};

}  // namespace mien::live
