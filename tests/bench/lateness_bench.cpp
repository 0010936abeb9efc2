// How late ticks begin while every core is busy, beside a bare loop on clock_nanosleep that does nothing else, at the same time, for as long, at the same pace and in the
// same scheduling class: what the program adds to what the machine does to anyone.
#include <benchmark/benchmark.h>
#include <sched.h>
#include <sys/prctl.h>
#include <time.h>

#include <algorithm>
#include <atomic>
#include <thread>

#include "perform/performer.hpp"
#include "store/store.hpp"
#include "threads/steady.hpp"

using namespace mien;

namespace {

constexpr std::int64_t kTick_ns = 10'000'000;
constexpr int kSeconds = 10;  ///< as long as the performer's percentiles reach back

// Threads that never sleep, one for each core, in the ordinary class.
class Load {
 public:
  Load() {
    for (unsigned i = std::max(1u, std::thread::hardware_concurrency()); i > 0; --i)
      threads_.emplace_back([this] { while (!over_.load(std::memory_order_relaxed)) {} });
  }
  ~Load() {
    over_ = true;
    for (auto& t : threads_) t.join();
  }

 private:
  std::atomic<bool> over_{false};
  std::vector<std::thread> threads_;
};

// Beats until told to end, half a tick from the performer's, so that the two don't wait for each other.
void beat(std::int64_t first_ns, bool realtime, const std::atomic<bool>& over, perform::Lateness& result) {
  prctl(PR_SET_TIMERSLACK, 1);
  const sched_param priority{.sched_priority = 10};
  const bool got = realtime && pthread_setschedparam(pthread_self(), SCHED_FIFO, &priority) == 0;
  perform::LatenessMeter meter;
  for (std::int64_t due = first_ns, n = 1; !over; due += kTick_ns, ++n) {
    const timespec at{static_cast<time_t>(due / 1'000'000'000), static_cast<long>(due % 1'000'000'000)};
    while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &at, nullptr) == EINTR) {}
    const std::int64_t late_ns = threads::steady_ns() - due;
    meter.add(static_cast<double>(late_ns) * 1e-3, late_ns >= kTick_ns);
    if (late_ns >= kTick_ns) due += late_ns / kTick_ns * kTick_ns;
    if (n % 100 == 0) meter.next_second();
  }
  result = meter.result(got);
}

void lateness_under_load(benchmark::State& state) {
  const auto demo = store::load_show(std::string(MIEN_SOURCE_DIR) + "/shows/keeper.show.json");
  if (!demo) return state.SkipWithError("the demo can't be read");
  perform::Lateness ours, bare;
  for (auto _ : state) {
    perform::Performer performer(nullptr, nullptr);
    performer.publish(perform::compile(demo->rig, demo->show));
    performer.set_loop({show::Time{0}, demo->show->length});
    performer.play();
    const Load load;
    perform::Report first;
    while ((first = performer.latest()).lateness.ticks < 5) std::this_thread::sleep_for(std::chrono::milliseconds(5));
    if (1'000'000'000 != kTick_ns * demo->rig->tick_hz) return state.SkipWithError("the demo's tick is not the bare loop's");
    // A report's moment is that of a latch: on the performer's grid, but for the lead.
    const std::int64_t grid_ns = first.at_ns - static_cast<std::int64_t>(demo->rig->latch_lead_ms * 1e6);
    std::atomic<bool> over{false};
    std::thread other(beat, grid_ns + 20 * kTick_ns + kTick_ns / 2, first.lateness.realtime, std::cref(over), std::ref(bare));
    for (int i = 0; i < kSeconds * 100; ++i) {
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
      benchmark::DoNotOptimize(performer.latest().playing);
    }
    ours = performer.latest().lateness;
    over = true;
    other.join();
  }
  if (ours.realtime != bare.realtime) return state.SkipWithError("the two were not in the same scheduling class");
  state.SetLabel(ours.realtime ? "SCHED_FIFO" : "the ordinary class");
  state.counters["tick_lateness_p50_us"] = ours.p50_us;
  state.counters["tick_lateness_p99_us"] = ours.p99_us;
  state.counters["tick_missed"] = static_cast<double>(ours.missed);
  state.counters["bare_lateness_p50_us"] = bare.p50_us;
  state.counters["bare_lateness_p99_us"] = bare.p99_us;
  state.counters["bare_missed"] = static_cast<double>(bare.missed);
}
BENCHMARK(lateness_under_load)->Iterations(1)->UseRealTime()->Unit(benchmark::kMillisecond);

}  // namespace
