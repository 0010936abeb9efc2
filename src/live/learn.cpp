#include "live/learn.hpp"

#include <cmath>

namespace mien::live {
namespace {

using Kind = Source::Kind;

constexpr std::int64_t kPairWithin_ns = 20'000'000;
constexpr float kMeant = 0.5f;  // of a stick's way; less may be noise
constexpr double kSpringBack_s = 0.3;

bool is_pair(const Touch& a, const Touch& b) noexcept {
  using K = MidiMessage::Kind;
  return a.kind == Touch::Kind::midi && b.kind == Touch::Kind::midi && a.device == b.device && a.midi.kind == K::controller && b.midi.kind == K::controller &&
         a.midi.channel == b.midi.channel && std::abs(a.midi.number - b.midi.number) == 32 && std::min(a.midi.number, b.midi.number) < 32 && std::abs(a.at_ns - b.at_ns) <= kPairWithin_ns;
}

std::optional<Source> source_of(const Touch& last, const Touch& before) {
  using K = MidiMessage::Kind;
  using S = Source::Kind;
  const MidiMessage& m = last.midi;
  Source source;
  if (last.kind == Touch::Kind::axis) {
    source.kind = S::axis, source.number = last.number;
    return std::abs(last.value) >= kMeant ? std::optional(source) : std::nullopt;
  }
  if (last.kind == Touch::Kind::slot) {
    source.kind = S::slot, source.number = last.number;
    return source;
  }
  if (last.kind != Touch::Kind::midi) return std::nullopt;
  source.channel = m.channel + 1, source.number = m.number;
  switch (m.kind) {
    case K::controller:
      source.kind = is_pair(last, before) ? S::controller_14 : S::controller;
      if (source.kind == S::controller_14) source.number &= 31;
      return source;
    case K::bend: return source.kind = S::bend, source.number = 0, source;
    case K::channel_pressure: return source.kind = S::pressure, source.number = 0, source;
    case K::key_pressure: return source.kind = S::key_pressure, source;
    default: return std::nullopt;
  }
}

}  // namespace

std::optional<Knob> learned(const Touch& last, const Touch& before, const std::string& device, const show::Control& control) {
  auto source = source_of(last, before);
  if (!source) return std::nullopt;
  const bool slot = source->kind == Source::Kind::slot;  // a universe comes from wherever it comes
  if (!slot) source->device = device;
  Knob knob{.source = *source, .control = control.name, .low = control.min, .high = control.max};
  if (slot) knob.takeover = Takeover::glide;
  const bool rests = source->kind == Source::Kind::axis || source->kind == Source::Kind::bend || source->kind == Source::Kind::pressure || source->kind == Source::Kind::key_pressure;
  if (rests) knob.spring_back_s = kSpringBack_s;
  if (source->kind == Source::Kind::axis) knob.dead_zone = kStickDeadZone;
  return knob;
}

std::optional<Source> pressed(const Touch& last, const std::string& device) {
  Source source;
  source.device = device;
  if (last.kind == Touch::Kind::button && last.value > 0.5f) {
    source.kind = Kind::button, source.number = last.number;
    return source;
  }
  if (last.kind != Touch::Kind::midi) return std::nullopt;
  const bool note = last.midi.kind == MidiMessage::Kind::note_on, switched = last.midi.kind == MidiMessage::Kind::controller && last.midi.value == 127;
  if (!note && !switched) return std::nullopt;
  source.kind = note ? Kind::note : Kind::controller, source.number = last.midi.number, source.channel = last.midi.channel + 1;
  return source;
}

}  // namespace mien::live
