// Preloaded under the unmodified program, so that it performs in lock step with emulated boards: `LD_PRELOAD=libmien_lockstep.so
// MIEN_LOCKSTEP=PORT mien play SHOW --mute --port tcp:...`, where PORT is bridge.mjs's. What the program takes for the time, its steady clock and
// whatever sleeps or waits by it, is the boards' time: it stands still while any thread of the program runs, and passes on the emulated
// boards while all of them wait. So neither side can fall behind the other, however slow or loaded the computer is.
//
// It knows the calls that the program waits by: poll, ppoll, clock_nanosleep, pthread_join, and conditions without a time. A thread that waits any
// other way counts as running, and time would stand still for ever; sound does (hence --mute). MIEN_LOCKSTEP_LATE_US=N lets each clock_nanosleep oversleep by up
// to so much, as on a computer that is loaded.
#include <arpa/inet.h>
#include <dlfcn.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <pthread.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <cstdarg>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <list>
#include <mutex>
#include <random>

namespace {

constexpr std::int64_t kNever = INT64_MAX;
// What a wait takes at least, or a thread that waits for what is due already would stop the time: as long as Linux lets timers be late.
constexpr std::int64_t kLeast_ns = 50'000;

template <class Call>
Call real(Call, const char* name) {
  return reinterpret_cast<Call>(::dlsym(RTLD_NEXT, name));
}
#define REAL(call) real(&::call, #call)

[[noreturn]] void give_up(const char* what) {
  std::fprintf(stderr, "lock step: %s\n", what);
  ::_exit(70);
}

struct Waiting {
  std::int64_t until_ns;
  pollfd* entries;
  nfds_t count;
  std::atomic<int> woken{0};
};

int ready(const Waiting& w) {
  static const auto poll_now = REAL(poll);
  return w.count == 0 ? 0 : poll_now(w.entries, w.count, 0);
}

/// All threads of the program meet here. Time passes when none runs; then they are woken one at a time, in the order in which they began to wait.
class Meeting {
 public:
  Meeting() {
    const char* port = std::getenv("MIEN_LOCKSTEP");
    if (!port) return;
    line_ = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    sockaddr_in at{};
    at.sin_family = AF_INET, at.sin_port = htons(static_cast<std::uint16_t>(std::atoi(port))), at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    if (::connect(line_, reinterpret_cast<sockaddr*>(&at), sizeof at) != 0) give_up("no boards at MIEN_LOCKSTEP");
    const int on = 1;
    ::setsockopt(line_, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    if (const char* late = std::getenv("MIEN_LOCKSTEP_LATE_US")) late_ = std::uniform_int_distribution<std::int64_t>(0, std::atoll(late) * 1000);
    now_ns_ = ask(0);
  }

  bool on() const { return line_ >= 0; }
  std::int64_t now_ns() const { return now_ns_; }
  std::int64_t oversleep_ns() {
    const std::lock_guard lock(mutex_);
    return late_(random_);
  }

  /// As poll(), by the boards' time.
  int wait(std::int64_t until_ns, pollfd* entries, nfds_t count) {
    Waiting me{std::max(until_ns, now_ns_ + kLeast_ns), entries, count};
    {
      const std::lock_guard lock(mutex_);
      waiting_.push_back(&me);
      leave();
    }
    me.woken.wait(0);
    return ready(me);
  }
  void born() {
    const std::lock_guard lock(mutex_);
    ++running_;
  }
  void gone() {
    const std::lock_guard lock(mutex_);
    leave();
  }

  void sent(int handle, long count) {
    port_ = handle;
    if (count > 0) sent_ += count;
  }
  void received(int handle, long count) {
    port_ = handle;
    if (count > 0) received_ += count;
  }
  bool is_port(int handle) const { return on() && handle == port_; }
  void closed() { port_ = -1; }

 private:
  /// One fewer runs; the last one lets time pass until another can.
  void leave() {
    if (--running_ > 0) return;
    while (!waiting_.empty()) {
      const auto next = std::find_if(waiting_.begin(), waiting_.end(), [&](Waiting* w) { return w->until_ns <= now_ns_ || ready(*w) > 0; });
      if (next != waiting_.end()) {
        Waiting& first = **next;
        waiting_.erase(next);
        ++running_;
        first.woken = 1;
        first.woken.notify_one();
        return;
      }
      std::int64_t first_ns = kNever;
      for (const Waiting* w : waiting_) first_ns = std::min(first_ns, w->until_ns);
      if (first_ns == kNever) give_up("every thread waits for ever");
      now_ns_ = ask(first_ns);
    }
  }

  /// Lets the boards go on until then, or until they have said something to the program. Returns when all they said can be read.
  std::int64_t ask(std::int64_t until_ns) {
    char text[128];
    const int size = std::snprintf(text, sizeof text, "run %lld %lld\n", static_cast<long long>(until_ns), static_cast<long long>(sent_.load()));
    if (::write(line_, text, static_cast<std::size_t>(size)) != size) give_up("the boards ended");
    int count = 0;
    while (count == 0 || text[count - 1] != '\n') {
      if (::read(line_, text + count, 1) != 1 || ++count == static_cast<int>(sizeof text) - 1) give_up("the boards ended");
    }
    text[count] = 0;
    long long at_ns = 0, said = 0;
    if (std::sscanf(text, "at %lld %lld", &at_ns, &said) != 2) give_up("no answer of boards");
    for (int there = 0; port_ >= 0; ::usleep(20)) {
      if (REAL(ioctl)(port_, FIONREAD, &there) != 0 || received_ + there >= said) break;
    }
    return at_ns;
  }

  std::mutex mutex_;
  std::list<Waiting*> waiting_;
  int running_ = 1, line_ = -1;
  std::atomic<int> port_{-1};
  std::atomic<std::int64_t> now_ns_{0}, sent_{0}, received_{0};
  std::mt19937 random_{5};
  std::uniform_int_distribution<std::int64_t> late_{0, 0};
};

/// Never destroyed: threads may outlive main().
Meeting& meeting() {
  static Meeting* const instance = new Meeting;
  return *instance;
}

struct Start {
  void* (*call)(void*);
  void* argument;
};

void* begin(void* start) {
  const Start s = *static_cast<Start*>(start);
  delete static_cast<Start*>(start);
  void* const result = s.call(s.argument);
  meeting().gone();
  return result;
}

std::int64_t ns_of(const timespec& t) { return t.tv_sec * std::int64_t{1'000'000'000} + t.tv_nsec; }

int wait_for(pollfd* entries, nfds_t count, std::int64_t timeout_ns) {
  const std::int64_t now = meeting().now_ns();
  return meeting().wait(timeout_ns < 0 || timeout_ns > kNever - now ? kNever : now + timeout_ns, entries, count);
}

/// A connection that comes about takes none of the boards' time.
bool connecting(const pollfd* entries, nfds_t count) {
  return std::any_of(entries, entries + count, [](const pollfd& e) { return (e.events & POLLOUT) != 0; });
}

}  // namespace

extern "C" {

int clock_gettime(clockid_t clock, timespec* time) noexcept {
  static const auto call = REAL(clock_gettime);
  if (clock != CLOCK_MONOTONIC || !meeting().on()) return call(clock, time);
  const std::int64_t now = meeting().now_ns();
  *time = {static_cast<time_t>(now / 1'000'000'000), static_cast<long>(now % 1'000'000'000)};
  return 0;
}

int clock_nanosleep(clockid_t clock, int flags, const timespec* time, timespec* left) {
  static const auto call = REAL(clock_nanosleep);
  if (clock != CLOCK_MONOTONIC || !meeting().on()) return call(clock, flags, time, left);
  const std::int64_t from = (flags & TIMER_ABSTIME) != 0 ? 0 : meeting().now_ns();
  meeting().wait(from + ns_of(*time) + meeting().oversleep_ns(), nullptr, 0);
  return 0;
}

int poll(pollfd* entries, nfds_t count, int timeout_ms) {
  static const auto call = REAL(poll);
  if (timeout_ms == 0 || !meeting().on() || connecting(entries, count)) return call(entries, count, timeout_ms);
  return wait_for(entries, count, timeout_ms < 0 ? -1 : std::int64_t{timeout_ms} * 1'000'000);
}

int ppoll(pollfd* entries, nfds_t count, const timespec* timeout, const sigset_t* mask) {
  static const auto call = REAL(ppoll);
  if (!meeting().on() || connecting(entries, count)) return call(entries, count, timeout, mask);
  return wait_for(entries, count, timeout ? ns_of(*timeout) : -1);
}

int pthread_create(pthread_t* thread, const pthread_attr_t* attributes, void* (*call)(void*), void* argument) noexcept {
  static const auto create = REAL(pthread_create);
  if (!meeting().on()) return create(thread, attributes, call, argument);
  meeting().born();
  auto* start = new Start{call, argument};
  const int error = create(thread, attributes, &begin, start);
  if (error != 0) {
    delete start;
    meeting().gone();
  }
  return error;
}

int pthread_join(pthread_t thread, void** result) {
  static const auto join = REAL(pthread_join);
  if (!meeting().on()) return join(thread, result);
  meeting().gone();
  const int error = join(thread, result);
  meeting().born();
  return error;
}

int pthread_cond_wait(pthread_cond_t* condition, pthread_mutex_t* mutex) {
  // On some machines the C library keeps an older one of the same name, which a bare look-up would find.
  static void* const newer = ::dlvsym(RTLD_NEXT, "pthread_cond_wait", "GLIBC_2.3.2");
  static const auto call = newer ? reinterpret_cast<decltype(&::pthread_cond_wait)>(newer) : REAL(pthread_cond_wait);
  if (!meeting().on()) return call(condition, mutex);
  meeting().gone();
  const int error = call(condition, mutex);
  meeting().born();
  return error;
}

// The port is the one socket that the program sends and receives by.
ssize_t send(int handle, const void* bytes, size_t size, int flags) {
  static const auto call = REAL(send);
  const ssize_t count = call(handle, bytes, size, flags);
  if (meeting().on()) meeting().sent(handle, count);
  return count;
}

ssize_t recv(int handle, void* bytes, size_t size, int flags) {
  static const auto call = REAL(recv);
  const ssize_t count = call(handle, bytes, size, flags);
  if (meeting().on()) meeting().received(handle, count);
  return count;
}

int close(int handle) {
  static const auto call = REAL(close);
  if (meeting().is_port(handle)) meeting().closed();
  return call(handle);
}

/// Nothing waits in the system's buffers: the boards take it in before time passes.
int ioctl(int handle, unsigned long request, ...) noexcept {
  static const auto call = REAL(ioctl);
  va_list arguments;
  va_start(arguments, request);
  void* argument = va_arg(arguments, void*);
  va_end(arguments);
  if (request != TIOCOUTQ || !meeting().is_port(handle)) return call(handle, request, argument);
  *static_cast<int*>(argument) = 0;
  return 0;
}

}  // extern "C"
