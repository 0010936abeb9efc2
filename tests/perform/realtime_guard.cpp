#include "realtime_guard.hpp"

#include <gtest/gtest.h>

#include "threads/realtime.hpp"

#if defined(__linux__) && defined(__x86_64__) && defined(__GLIBC__) && !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define MIEN_CAN_GUARD 1
#include <dlfcn.h>
#include <execinfo.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <pthread.h>
#include <semaphore.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <time.h>
#include <ucontext.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cerrno>
#include <cstddef>
#include <cstdlib>
#include <cstring>
#endif

namespace mien::perform::testing {

#ifdef MIEN_CAN_GUARD
namespace {

constexpr int kMostPlaces = 64, kDeepest = 24;

struct Deed {
  const char* what = nullptr;
  long call = -1;  // of the system; -1 for others
  int depth = 0;
  std::array<void*, kDeepest> from{};
  std::uint64_t times = 0;
};

thread_local bool watched = false;  // the program's own TLS: reaching it calls nobody
std::array<Deed, kMostPlaces> deeds;
std::atomic<int> places{0};
std::atomic<bool> writing{false};
std::atomic<std::uint64_t> entered{0}, slept{0}, missed{0};
std::atomic<bool> filter_refused{false};

// By the watched thread, and by its signal handler: allocates nothing, and waits only for another watched thread that is here, too.
void put_down(const char* what, long call) noexcept {
  watched = false;
  while (writing.exchange(true, std::memory_order_acquire)) {}
  Deed deed;
  deed.what = what, deed.call = call, deed.times = 1;
  deed.depth = backtrace(deed.from.data(), kDeepest);
  const int known = places.load(std::memory_order_relaxed);
  int n = 0;
  while (n < known && !(deeds[static_cast<std::size_t>(n)].what == what && deeds[static_cast<std::size_t>(n)].call == call && deeds[static_cast<std::size_t>(n)].from == deed.from)) ++n;
  if (n < known) ++deeds[static_cast<std::size_t>(n)].times;
  else if (n < kMostPlaces) deeds[static_cast<std::size_t>(n)] = deed, places.store(n + 1, std::memory_order_release);
  else ++missed;
  writing.store(false, std::memory_order_release);
  watched = true;
}

inline void deed(const char* what) noexcept {
  if (watched) put_down(what, -1);
}

}  // namespace

// The one place from which the filter lets every call pass.
extern "C" long mien_guard_call(long number, long a, long b, long c, long d, long e, long f) noexcept;
extern "C" const char mien_guard_called[];
asm(R"(
  .text
  .type mien_guard_call, @function
mien_guard_call:
  mov %rdi, %rax
  mov %rsi, %rdi
  mov %rdx, %rsi
  mov %rcx, %rdx
  mov %r8, %r10
  mov %r9, %r8
  mov 8(%rsp), %r9
  syscall
mien_guard_called:
  ret
  .size mien_guard_call, .-mien_guard_call
)");

namespace {

// A thread that ends masks its signals; this filter's stays, or the kernel would end the program at the call after.
long change_mask(ucontext_t& context, long how, const std::uint64_t* fresh, std::uint64_t* old) noexcept {
  std::uint64_t mask = 0;
  std::memcpy(&mask, &context.uc_sigmask, sizeof mask);
  if (old) std::memcpy(old, &mask, sizeof mask);
  if (fresh) {
    std::uint64_t set = 0;
    std::memcpy(&set, fresh, sizeof set);
    mask = how == SIG_BLOCK ? mask | set : how == SIG_UNBLOCK ? mask & ~set : set;
    mask &= ~(std::uint64_t{1} << (SIGSYS - 1));
    std::memcpy(&context.uc_sigmask, &mask, sizeof mask);
  }
  return 0;
}

void on_call(int, siginfo_t* info, void* raw) noexcept {
  auto& context = *static_cast<ucontext_t*>(raw);
  auto& r = context.uc_mcontext.gregs;
  const long call = info->si_syscall;
  if (watched) put_down("system call", call);
  r[REG_RAX] = call == SYS_rt_sigprocmask
                   ? change_mask(context, r[REG_RDI], reinterpret_cast<const std::uint64_t*>(r[REG_RSI]), reinterpret_cast<std::uint64_t*>(r[REG_RDX]))
                   : mien_guard_call(call, r[REG_RDI], r[REG_RSI], r[REG_RDX], r[REG_R10], r[REG_R8], r[REG_R9]);
}

bool filter_this_thread() noexcept {
  const auto gate = reinterpret_cast<std::uintptr_t>(mien_guard_called);
  const auto field = [](std::size_t at) { return sock_filter BPF_STMT(BPF_LD | BPF_W | BPF_ABS, static_cast<std::uint32_t>(at)); };
  const auto unless = [](std::uint32_t value, std::uint8_t skip) { return sock_filter BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, value, 0, skip); };
  const auto then = [](std::uint32_t value, std::uint8_t skip) { return sock_filter BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, value, skip, 0); };
  std::array program{
      field(offsetof(seccomp_data, arch)), unless(AUDIT_ARCH_X86_64, 8),  // another way into the kernel is stopped, too
      field(offsetof(seccomp_data, instruction_pointer)), unless(static_cast<std::uint32_t>(gate), 2),
      field(offsetof(seccomp_data, instruction_pointer) + 4), then(static_cast<std::uint32_t>(gate >> 32), 5),
      field(offsetof(seccomp_data, nr)), then(SYS_clock_nanosleep, 3), then(SYS_clock_gettime, 2), then(SYS_rt_sigreturn, 1),
      sock_filter BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_TRAP), sock_filter BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW)};
  const sock_fprog whole{static_cast<unsigned short>(program.size()), program.data()};
  return prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 && prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &whole) == 0;
}

void enter() noexcept {
  thread_local bool filtered = false;  // a filter stays with its thread
  if (!filtered && !filter_this_thread()) filter_refused = true;
  filtered = true;
  ++entered;
  watched = true;
}

void leave() noexcept { watched = false; }

constexpr threads::RealtimeWatch kWatch{enter, leave};

template <class F>
F* theirs(const char* name) noexcept {
  return reinterpret_cast<F*>(dlsym(RTLD_NEXT, name));
}

}  // namespace

RealtimeGuard::RealtimeGuard() {
  void* warm[2];
  backtrace(warm, 2);  // these load what they need before anybody is watched
  const timespec none{};
  clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &none, nullptr);
  places = 0, entered = 0, slept = 0, missed = 0, filter_refused = false;
  deeds.fill({});
  struct sigaction action{};
  action.sa_sigaction = on_call;
  action.sa_flags = SA_SIGINFO | SA_NODEFER;
  sigaction(SIGSYS, &action, nullptr);  // stays: threads that were filtered may live on
  threads::realtime_watch.store(&kWatch, std::memory_order_release);
}

RealtimeGuard::~RealtimeGuard() { threads::realtime_watch.store(nullptr, std::memory_order_release); }

std::string RealtimeGuard::unable() { return {}; }
std::uint64_t RealtimeGuard::threads() const { return entered; }
std::uint64_t RealtimeGuard::sleeps() const { return slept; }

std::vector<std::string> RealtimeGuard::caught() const {
  std::vector<std::string> all;
  if (filter_refused) all.push_back("the kernel refused the filter: system calls were not watched");
  for (int n = 0; n < places.load(std::memory_order_acquire); ++n) {
    const Deed& d = deeds[static_cast<std::size_t>(n)];
    std::string text = d.what;
    if (d.call >= 0) text += " " + std::to_string(d.call);
    text += ", " + std::to_string(d.times) + (d.times == 1 ? " time, from" : " times, from");
    char** names = backtrace_symbols(d.from.data(), d.depth);
    for (int k = 1; names && k < d.depth; ++k) text += std::string("\n    ") + names[k];
    std::free(names);
    all.push_back(text);
  }
  if (missed) all.push_back(std::to_string(missed) + " more from other places");
  return all;
}

#else

RealtimeGuard::RealtimeGuard() = default;
RealtimeGuard::~RealtimeGuard() = default;
std::string RealtimeGuard::unable() { return "the guard takes the C library's place, which a sanitizer has here, or which is none that it knows"; }
std::uint64_t RealtimeGuard::threads() const { return 0; }
std::uint64_t RealtimeGuard::sleeps() const { return 0; }
std::vector<std::string> RealtimeGuard::caught() const { return {}; }

#endif

void RealtimeGuard::expect_nothing() const {
  for (const std::string& deed : caught()) ADD_FAILURE() << "A performing thread broke its promise: " << deed << "\n(addr2line -Cfpie PROGRAM +0x... names the places)";
}

}  // namespace mien::perform::testing

#ifdef MIEN_CAN_GUARD
using mien::perform::testing::deed;
using mien::perform::testing::theirs;

// In place of the C library's, for the whole test program; its own are known by these names, too.
extern "C" {
void* __libc_malloc(std::size_t);
void* __libc_calloc(std::size_t, std::size_t);
void* __libc_realloc(void*, std::size_t);
void* __libc_memalign(std::size_t, std::size_t);
void __libc_free(void*);

void* malloc(std::size_t size) { return deed("malloc"), __libc_malloc(size); }
void* calloc(std::size_t count, std::size_t size) { return deed("calloc"), __libc_calloc(count, size); }
void* realloc(void* memory, std::size_t size) { return deed("realloc"), __libc_realloc(memory, size); }
void* memalign(std::size_t alignment, std::size_t size) { return deed("memalign"), __libc_memalign(alignment, size); }
void* aligned_alloc(std::size_t alignment, std::size_t size) { return deed("aligned_alloc"), __libc_memalign(alignment, size); }
int posix_memalign(void** memory, std::size_t alignment, std::size_t size) {
  deed("posix_memalign");
  *memory = __libc_memalign(alignment, size);
  return *memory ? 0 : ENOMEM;
}
void free(void* memory) {
  if (memory) deed("free");
  __libc_free(memory);
}

#define MIEN_GUARDED(name, declared, given)                       \
  int name declared {                                             \
    static int(*const real) declared = theirs<int declared>(#name); \
    deed(#name);                                                  \
    return real given;                                            \
  }
MIEN_GUARDED(pthread_mutex_lock, (pthread_mutex_t * m), (m))
MIEN_GUARDED(pthread_mutex_trylock, (pthread_mutex_t * m), (m))
MIEN_GUARDED(pthread_mutex_timedlock, (pthread_mutex_t * m, const timespec* t), (m, t))
MIEN_GUARDED(pthread_mutex_clocklock, (pthread_mutex_t * m, clockid_t c, const timespec* t), (m, c, t))
MIEN_GUARDED(pthread_rwlock_rdlock, (pthread_rwlock_t * l), (l))
MIEN_GUARDED(pthread_rwlock_tryrdlock, (pthread_rwlock_t * l), (l))
MIEN_GUARDED(pthread_rwlock_wrlock, (pthread_rwlock_t * l), (l))
MIEN_GUARDED(pthread_rwlock_trywrlock, (pthread_rwlock_t * l), (l))
MIEN_GUARDED(pthread_spin_lock, (pthread_spinlock_t * l), (l))
MIEN_GUARDED(pthread_cond_wait, (pthread_cond_t * c, pthread_mutex_t* m), (c, m))
MIEN_GUARDED(pthread_cond_timedwait, (pthread_cond_t * c, pthread_mutex_t* m, const timespec* t), (c, m, t))
MIEN_GUARDED(pthread_cond_clockwait, (pthread_cond_t * c, pthread_mutex_t* m, clockid_t k, const timespec* t), (c, m, k, t))
MIEN_GUARDED(pthread_cond_signal, (pthread_cond_t * c), (c))
MIEN_GUARDED(pthread_cond_broadcast, (pthread_cond_t * c), (c))
MIEN_GUARDED(sem_wait, (sem_t * s), (s))
MIEN_GUARDED(sem_post, (sem_t * s), (s))
int clock_nanosleep(clockid_t clock, int flags, const timespec* until, timespec* left) {
  static const auto real = theirs<int(clockid_t, int, const timespec*, timespec*)>("clock_nanosleep");
  if (mien::perform::testing::watched) ++mien::perform::testing::slept;
  return real(clock, flags, until, left);
}
#undef MIEN_GUARDED
}
#endif
