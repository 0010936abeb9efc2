// The local time of day.
#pragma once
#include <cstdint>
#include <ctime>

namespace mien::threads {

/// In ns since midnight. Asks the system for its time zone: not for the performing thread.
inline std::int64_t time_of_day_ns() noexcept {
  timespec now{};
  clock_gettime(CLOCK_REALTIME, &now);
  tm local{};
  localtime_r(&now.tv_sec, &local);
  return ((local.tm_hour * 60LL + local.tm_min) * 60 + local.tm_sec) * 1'000'000'000 + now.tv_nsec;
}

}  // namespace mien::threads
