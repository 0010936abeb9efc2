#include "live/midi.hpp"

namespace mien::live {
namespace {

using MidiKind = MidiMessage::Kind;

constexpr std::uint8_t kExclusive = 0xF0, kQuarterFrame = 0xF1, kSongPosition = 0xF2, kSongSelect = 0xF3, kTuneRequest = 0xF6, kEndExclusive = 0xF7;

bool is_status(std::uint8_t byte) noexcept { return byte >= 0x80; }
bool is_real_time(std::uint8_t byte) noexcept { return byte >= 0xF8; }

// How many data bytes follow; 0 for what has none or is not defined.
std::uint8_t data_after(std::uint8_t status) noexcept {
  if (status < 0xF0) return (status & 0xE0) == 0xC0 ? 1 : 2;  // Cn and Dn have one
  if (status == kQuarterFrame || status == kSongSelect) return 1;
  return status == kSongPosition ? 2 : 0;
}

std::optional<MidiMessage> real_time(std::uint8_t byte) noexcept {
  switch (byte) {
    case 0xF8: return MidiMessage{.kind = MidiKind::clock};
    case 0xFA: return MidiMessage{.kind = MidiKind::start};
    case 0xFB: return MidiMessage{.kind = MidiKind::resume};
    case 0xFC: return MidiMessage{.kind = MidiKind::stop};
    case 0xFE: return MidiMessage{.kind = MidiKind::sensing};
    case 0xFF: return MidiMessage{.kind = MidiKind::reset};
    default: return std::nullopt;  // F9 and FD are undefined
  }
}

std::uint16_t joined(std::uint8_t low, std::uint8_t high) noexcept { return static_cast<std::uint16_t>(high << 7 | low); }

MidiMessage voice(std::uint8_t status, std::uint8_t first, std::uint8_t second) noexcept {
  MidiMessage m{.kind = MidiKind::note_off, .channel = static_cast<std::uint8_t>(status & 0x0F), .number = first, .value = second};
  switch (status & 0xF0) {
    case 0x80: break;
    case 0x90: m.kind = second ? MidiKind::note_on : MidiKind::note_off; break;
    case 0xA0: m.kind = MidiKind::key_pressure; break;
    case 0xB0: m.kind = MidiKind::controller; break;
    case 0xC0: m.kind = MidiKind::program, m.number = 0, m.value = first; break;
    case 0xD0: m.kind = MidiKind::channel_pressure, m.number = 0, m.value = first; break;
    default: m.kind = MidiKind::bend, m.number = 0, m.value = joined(first, second); break;
  }
  return m;
}

}  // namespace

std::optional<MidiMessage> MidiParser::feed(std::uint8_t byte) noexcept {
  if (is_real_time(byte)) return real_time(byte);  // may stand inside any other message and changes nothing about it
  if (is_status(byte)) return begin(byte);
  if (exclusive_) {
    if (heard_ < exclusive_data_.size()) exclusive_data_[heard_++] = byte;
    else too_long_ = true;
    return std::nullopt;
  }
  if (!status_) return std::nullopt;
  data_[have_++] = byte;
  return have_ == need_ ? complete() : std::nullopt;
}

std::optional<MidiMessage> MidiParser::begin(std::uint8_t status) noexcept {
  const bool was_exclusive = exclusive_;
  exclusive_ = false;
  have_ = 0;
  need_ = data_after(status);
  status_ = need_ ? status : std::uint8_t{0};  // a system common message ends running status, whatever it is
  if (status == kEndExclusive) return was_exclusive ? end_exclusive() : std::nullopt;
  if (status == kTuneRequest) return MidiMessage{.kind = MidiKind::tune_request};
  if (status == kExclusive) exclusive_ = true, heard_ = 0, too_long_ = false;
  return std::nullopt;
}

std::optional<MidiMessage> MidiParser::complete() noexcept {
  have_ = 0;
  const std::uint8_t status = status_;
  if (status < 0xF0) return voice(status, data_[0], need_ == 2 ? data_[1] : std::uint8_t{0});
  status_ = 0;
  MidiMessage m;
  m.kind = status == kQuarterFrame ? MidiKind::quarter_frame : status == kSongSelect ? MidiKind::song_select : MidiKind::song_position;
  m.value = need_ == 2 ? joined(data_[0], data_[1]) : data_[0];
  return m;
}

std::optional<MidiMessage> MidiParser::end_exclusive() const noexcept {
  const auto& d = exclusive_data_;  // 7F, device, 01 time code, 01 full, hours, minutes, seconds, frames
  if (too_long_ || heard_ != 8 || d[0] != 0x7F || d[2] != 0x01 || d[3] != 0x01) return std::nullopt;
  MidiMessage m{.kind = MidiKind::full_time};
  m.time = {d[4], d[5], d[6], d[7]};
  return m;
}

int ControllerPairs::join(const MidiMessage& message, int& number) noexcept {
  if (message.number >= 64) return -1;
  number = message.number & 31;
  std::uint16_t& value = value_[message.channel & 15u][static_cast<std::size_t>(number)];
  value = message.number < 32 ? static_cast<std::uint16_t>(message.value << 7) : static_cast<std::uint16_t>((value & 0x3F80) | (message.value & 0x7F));
  return value;
}

}  // namespace mien::live
