// Bytes of MIDI, in any portions: the parser, time code and clock, and hands on a head. The first byte says what is followed, each byte after it a third of a millisecond on.
#include <cmath>

#include "fuzz/text.hpp"
#include "live/follower.hpp"
#include "live/hand_rig.hpp"

namespace mien {
namespace {

using fuzz::demand;

live::HandProgramPtr program() {
  using S = live::Source::Kind;
  live::HandMap map;
  map.banks = {"one", "two"};
  map.knobs = {{.source = {"", 0, S::controller, 1}, .control = "jaw", .smoothing_ms = 20}, {.source = {"", 0, S::controller_14, 2}, .control = "smile", .takeover = live::Takeover::scaled, .bank = 2},
               {.source = {"", 0, S::bend, 0}, .control = "gaze_yaw", .low = -30, .high = 30, .dead_zone = 0.1, .spring_back_s = 0.3}, {.source = {"", 0, S::pressure, 0}, .control = "jaw", .takeover = live::Takeover::glide}};
  map.triggers = {{.source = {"", 0, S::note, 60}, .name = "glad"}, {.source = {"", 0, S::note, 61}, .what = live::Trigger::What::clip, .name = "glance"},
                  {.source = {"", 0, S::note, 62}, .what = live::Trigger::What::bank, .name = "two"}, {.source = {"", 0, S::controller, 5}, .what = live::Trigger::What::panic}};
  return live::compile(map, live::hand_rig(), live::hand_show(), {});
}

void run(std::span<const std::uint8_t> bytes) {
  static const live::HandProgramPtr hands = program();
  if (bytes.empty()) return;
  live::Follower follower;
  follower.set({.source = static_cast<live::FollowSettings::Source>(bytes[0] % 3)});
  live::MidiParser parser;
  live::HandState state;
  load(state, hands.get());
  std::int64_t now = 1'000'000'000;
  show::Time last{0};
  for (const auto byte : bytes.subspan(1)) {
    now += 320'000;
    const auto message = parser.feed(byte);
    if (!message) continue;
    demand(message->channel < 16 && message->number < 128 && message->value <= live::kMost14Bit, "a message's numbers are MIDI's");
    follower.hear(*message, now);
    const auto f = follower.advance(now);
    demand(f.located || f.time >= last, "the show never runs backward");
    demand(std::isfinite(f.rate), "a rate is a number");
    last = f.time;
    live::Touch touch;
    touch.midi = *message;
    hear(*hands, state, touch);
    double control[] = {0, 0.2, 0.1, 0};
    play(*hands, state, 0.01, control);
    for (std::size_t c = 0; c < 4; ++c) demand(control[c] >= hands->min[c] - 1e-9 && control[c] <= hands->max[c] + 1e-9, "hands stay within a control's range");
  }
}

}  // namespace
}  // namespace mien

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  mien::run({data, size});
  return 0;
}
