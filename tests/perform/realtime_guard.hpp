// Catches a performing thread in the act: whatever it allocates or frees, each lock that it takes, each system call that it makes but its sleep.
#pragma once
#include <cstdint>
#include <string>
#include <vector>

namespace mien::perform::testing {

/// While one lives, every thread that enters threads::Realtime is watched until it leaves. What it does is put down and then done as if nobody looked, so that a performance goes on.
///
/// - Memory: the whole program's malloc, calloc, realloc, free and aligned forms are this guard's, and so is what `new` calls.
/// - Locks: so are pthread's mutexes, read-write locks, condition variables and semaphores, which std::mutex and its kin are made of; a lock is caught although nobody contends for it.
/// - System calls: a seccomp filter of the thread's own stops every one but those below, whoever makes it, the C library included.
///
/// Allowed: clock_nanosleep, which is the sleep; clock_gettime, which is no system call where the kernel lends its clock to programs (vDSO), and on other machines neither waits nor blocks;
/// rt_sigreturn, which ends the guard's own signal. futex is not: waiting on one is a lock by another name, and waking somebody is work that the kernel does on the performing thread's time.
/// Faults of pages are no calls and are not seen.
class RealtimeGuard {
 public:
  RealtimeGuard();
  ~RealtimeGuard();  ///< after the performing threads have ended
  RealtimeGuard(const RealtimeGuard&) = delete;
  RealtimeGuard& operator=(const RealtimeGuard&) = delete;

  /// Why nothing could be caught here; empty where it can.
  static std::string unable();

  std::uint64_t threads() const;            ///< that entered since this guard was made
  std::uint64_t sleeps() const;             ///< that they made: proof that they were watched
  std::vector<std::string> caught() const;  ///< each kind of deed once for each place: what, how often, and from where
  void expect_nothing() const;              ///< fails the running test for each of them
};

}  // namespace mien::perform::testing
