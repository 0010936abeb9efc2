// Preloaded under the program: the system's clock (the time of day) jumps every fifth of a second by up to years, forward and back, as when a person or the network sets it; the
// steady clock goes on. At the end it tells the file $MIEN_CLOCK_JUMPS how often it jumped and how often it was asked.
#include <sys/syscall.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>

#include <atomic>
#include <cstdio>
#include <cstdlib>

namespace {

constexpr long kEvery_ns = 200'000'000;
constexpr long kAhead_s[] = {0, 3600, -86400, 315'000'000, -30, 7, -3600, 86'400'000, 1, -315'000'000};
constexpr long kTurns = sizeof kAhead_s / sizeof *kAhead_s;

std::atomic<long> first_turn{-1}, last_turn{0}, asked{0};

long turn() {
  timespec steady{};
  ::syscall(SYS_clock_gettime, CLOCK_MONOTONIC, &steady);
  const long now = (steady.tv_sec * 1'000'000'000 + steady.tv_nsec) / kEvery_ns;
  long none = -1;
  first_turn.compare_exchange_strong(none, now);
  return now - first_turn;
}

void jumped(timespec* time) {
  const long n = turn();
  ++asked;
  for (long before = last_turn; before < n && !last_turn.compare_exchange_weak(before, n);) {}
  time->tv_sec += kAhead_s[n % kTurns];
}

struct Report {
  Report() { turn(); }
  ~Report() {
    const char* file = std::getenv("MIEN_CLOCK_JUMPS");
    std::FILE* to = file ? std::fopen(file, "w") : nullptr;
    if (!to) return;
    std::fprintf(to, "%ld %ld\n", turn(), asked.load());
    std::fclose(to);
  }
} report;

bool of_day(clockid_t clock) { return clock == CLOCK_REALTIME || clock == CLOCK_REALTIME_COARSE; }

}  // namespace

extern "C" int clock_gettime(clockid_t clock, timespec* time) {
  const long result = ::syscall(SYS_clock_gettime, clock, time);
  if (result == 0 && of_day(clock)) jumped(time);
  return static_cast<int>(result);
}

extern "C" time_t time(time_t* where) {
  timespec now{};
  clock_gettime(CLOCK_REALTIME, &now);
  if (where) *where = now.tv_sec;
  return now.tv_sec;
}

extern "C" int gettimeofday(timeval* __restrict where, void* __restrict) {
  timespec now{};
  clock_gettime(CLOCK_REALTIME, &now);
  *where = {now.tv_sec, now.tv_nsec / 1000};
  return 0;
}
