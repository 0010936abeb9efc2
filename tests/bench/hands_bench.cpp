// From the last byte of a MIDI message to the last byte of the frame that obeys it, at the boards' end of the line: the real path, with the parser, the
// performing thread, the limiter and the link.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <random>
#include <thread>

#include "bench/wire_end.hpp"
#include "live/devices.hpp"
#include "perform/performer.hpp"

namespace {

using namespace mien;
using bench::until;

std::shared_ptr<const show::Rig> one_jaw() {
  show::Rig rig;
  rig.name = "bench";
  rig.groups = {{"mouth"}};
  rig.boards = {{"one", 0, 16, {{"servos", 5}}}, {"two", 1, 16, {{"servos", 5}}}, {"three", 2, 16, {{"servos", 5}}}};
  show::Actuator jaw;
  jaw.name = "jaw", jaw.group = "mouth", jaw.board = "one", jaw.rail = "servos";
  rig.actuators = {jaw};
  rig.controls = {{"open", "mouth", "1", 0, 1, 0}};
  rig.mappings = {{{{"jaw_open", 0, {{"open", 30}}}}, show::Straight{}, {"jaw"}}};
  return std::make_shared<const show::Rig>(rig);
}

// Range 0: a move within the velocity limit, as hands make them. Range 1: a leap beyond it, whose way begins a tick later by the limiter's law (motion/limiter.hpp).
void MidiToTheWire(benchmark::State& state) {
  const bool leaps = state.range(0) == 1;
  std::vector<double> late_ms;
  bench::Boards boards;
  {
    const auto rig = one_jaw();
    const auto show = std::make_shared<show::Show>();
    show->length = show::Time{1'000'000'000};
    live::HandMap map;
    map.knobs = {{.source = {"", 0, live::Source::Kind::controller, 7}, .control = "open", .high = leaps ? 0.2 : 0.02, .takeover = live::Takeover::scaled}};
    live::Inlet inlet;
    live::MidiEar ear(inlet, 0);
    link::Session session(*rig);
    perform::Performer performer(&session, nullptr, &inlet);
    performer.publish(perform::compile(rig, show, nullptr, live::compile(map, rig, show, {})));
    session.open(boards.port);
    until([&] { return session.status().state == link::State::ready; });
    session.arm();
    until([&] { return performer.latest().mode == perform::Mode::live; });
    const auto say = [&](std::uint8_t value) {
      const std::uint8_t bytes[] = {0xB0, 7, value};
      const auto now_ns = threads::steady_ns();
      ear.hear(bytes, 3, now_ns);
      return now_ns;
    };
    say(0);
    std::mt19937 random(1);
    std::uint8_t value = 0;
    for (auto _ : state) {
      std::this_thread::sleep_for(std::chrono::microseconds((leaps ? 200'000 : 70'000) + random() % 10'000));  // the jaw stands still again, and any moment of the tick
      const auto before = boards.moved_ns.load();
      const auto said_ns = say(value = value ? 0 : 127);
      while (boards.moved_ns == before) {
        std::this_thread::sleep_for(std::chrono::microseconds(100));
        if (threads::steady_ns() - said_ns > 2'000'000'000) return state.SkipWithError("a move did not come");
      }
      late_ms.push_back(static_cast<double>(boards.moved_ns - said_ns) * 1e-6);
      state.SetIterationTime(late_ms.back() * 1e-3);
    }
  }
  std::sort(late_ms.begin(), late_ms.end());
  state.counters[leaps ? "leap_to_wire_p50_ms" : "midi_to_wire_p50_ms"] = late_ms[late_ms.size() / 2];
  state.counters[leaps ? "leap_to_wire_p99_ms" : "midi_to_wire_p99_ms"] = late_ms[late_ms.size() * 99 / 100];
}
BENCHMARK(MidiToTheWire)->Arg(0)->Arg(1)->UseManualTime()->Iterations(600)->Unit(benchmark::kMillisecond);
BENCHMARK(MidiToTheWire)->Arg(0)->UseManualTime()->Iterations(100)->Unit(benchmark::kMillisecond);

/// What a tick costs with 64 knobs held, 8 poses and 100 touches to hear.
void TickOfHands(benchmark::State& state) {
  const auto rig = one_jaw();
  const auto show = std::make_shared<show::Show>();
  show->poses = {std::make_shared<const show::Pose>(show::Pose{"wide", {}, "", {{"open", 1}}})};
  live::HandMap map;
  for (int n = 0; n < 64; ++n) map.knobs.push_back({.source = {"", 0, live::Source::Kind::controller, n}, .control = "open", .smoothing_ms = 20});
  for (int n = 0; n < 8; ++n) map.triggers.push_back({.source = {"", 0, live::Source::Kind::note, n}, .name = "wide"});
  const auto program = live::compile(map, rig, show, {});
  live::HandState hands;
  live::load(hands, program.get());
  live::Touch touch;
  touch.midi.kind = live::MidiMessage::Kind::note_on, touch.midi.value = 100;
  for (int n = 0; n < 8; ++n) touch.midi.number = static_cast<std::uint8_t>(n), live::hear(*program, hands, touch);
  touch.midi.kind = live::MidiMessage::Kind::controller;
  std::mt19937 random(1);
  std::vector<double> control{0};
  for (auto _ : state) {
    for (int n = 0; n < 100; ++n) {
      touch.midi.number = static_cast<std::uint8_t>(random() % 64), touch.midi.value = static_cast<std::uint16_t>(random() % 128);
      live::hear(*program, hands, touch);
    }
    control[0] = 0;
    live::play(*program, hands, 0.01, control);
    benchmark::ClobberMemory();
  }
}
BENCHMARK(TickOfHands)->Unit(benchmark::kMicrosecond);

}  // namespace
