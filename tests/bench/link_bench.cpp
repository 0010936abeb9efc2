// How long a frame takes from the performing thread's push() to the boards' end of the line, at the pace of a performance.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <thread>

#include "bench/wire_end.hpp"
#include "link/session.hpp"
#include "threads/steady.hpp"

namespace {

using namespace mien;
using bench::Boards;
using bench::until;

show::Rig talking_head() {
  show::Rig rig;
  rig.boards = {{"mouth", 0, 16, {}}, {"eyes", 1, 16, {}}, {"brows", 2, 16, {}}};
  for (int i = 0; i < 21; ++i) {
    show::Actuator a;
    a.name = "a" + std::to_string(i);
    a.board = rig.boards[static_cast<std::size_t>(i < 11 ? 0 : i < 17 ? 1 : 2)].name;
    a.output = i < 11 ? i : i < 17 ? i - 11 : i - 17;
    rig.actuators.push_back(a);
  }
  return rig;
}

void FrameToTheWire(benchmark::State& state) {
  std::vector<double> late_us;
  {
    Boards boards;
    link::Session session(talking_head());
    session.open(boards.port);
    until([&] { return session.status().state == link::State::ready; });
    session.arm();
    until([&] { return session.armed().epoch != 0; });
    link::Frame frame;
    frame.epoch = session.armed().epoch;
    frame.count = 21;
    frame.pulse.fill(1500 * 16);
    for (auto _ : state) {
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
      ++frame.sequence;
      const auto before = boards.arrived_ns.load();
      const auto pushed_ns = threads::steady_ns();
      frame.latch_ns = pushed_ns + 20'000'000;
      if (!session.push(frame)) return state.SkipWithError("the link was lost");
      while (boards.arrived_ns == before) {
        // A machine that stood still for so long that the boards let go gives up that frame, too.
        if (threads::steady_ns() - pushed_ns > 5'000'000'000) return state.SkipWithError("the frame was given up");
        std::this_thread::sleep_for(std::chrono::microseconds(100));
      }
      late_us.push_back(static_cast<double>(boards.arrived_ns - pushed_ns) * 1e-3);
      state.SetIterationTime(late_us.back() * 1e-6);
    }
  }
  std::sort(late_us.begin(), late_us.end());
  state.counters["p50_us"] = late_us[late_us.size() / 2];
  state.counters["p99_us"] = late_us[late_us.size() * 99 / 100];
}
BENCHMARK(FrameToTheWire)->UseManualTime()->Iterations(500)->Unit(benchmark::kMicrosecond);

/// What push() itself costs the performing thread.
void PushAFrame(benchmark::State& state) {
  link::Session session(talking_head());
  session.open("sim:");
  until([&] { return session.status().state == link::State::ready; });
  session.arm();
  until([&] { return session.armed().epoch != 0; });
  link::Frame frame;
  frame.epoch = session.armed().epoch;
  frame.count = 21;
  frame.pulse.fill(1500 * 16);
  for (auto _ : state) {
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
    frame.latch_ns = threads::steady_ns() + 20'000'000;
    ++frame.sequence;
    const auto begin_ns = threads::steady_ns();
    benchmark::DoNotOptimize(session.push(frame));
    state.SetIterationTime(static_cast<double>(threads::steady_ns() - begin_ns) * 1e-9);
  }
}
BENCHMARK(PushAFrame)->UseManualTime()->Iterations(1000)->Unit(benchmark::kMicrosecond);

}  // namespace
