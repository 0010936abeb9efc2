// A sound server of the test's own, with a sink that goes nowhere and a monitor to hear what it got.
#pragma once
#include <fcntl.h>
#include <gtest/gtest.h>
#include <poll.h>
#include <sched.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <functional>
#include <limits>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "sound/made.hpp"
#include "support/eventually.hpp"
#include "threads/steady.hpp"

namespace mien::sound {

using support::eventually;

/// A process of the test's, ended and reaped whatever happens.
class Child {
 public:
  /// `out`: becomes its standard output, -1 for none.
  explicit Child(std::vector<std::string> words, int out = -1) {
    std::vector<char*> arguments;
    for (std::string& word : words) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    const pid_t parent = ::getpid();
    pid_ = ::fork();
    if (pid_ != 0) return;
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);  // a test that crashes leaves nothing behind
    if (::getppid() != parent) ::_exit(1);
    const int none = ::open("/dev/null", O_RDWR);
    ::dup2(none, 0);
    ::dup2(out >= 0 ? out : none, 1);
    ::dup2(none, 2);
    ::execvp(arguments[0], arguments.data());
    ::_exit(127);
  }
  ~Child() { end(SIGTERM); }
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;

  void send(int signal) const {
    if (pid_ > 0) ::kill(pid_, signal);
  }
  /// Sends the signal, after 3 s KILL, and reaps.
  void end(int signal) {
    if (pid_ <= 0) return;
    ::kill(pid_, signal);
    ::kill(pid_, SIGCONT);
    if (!eventually(std::chrono::seconds(3), [&] { return ::waitpid(pid_, nullptr, WNOHANG) == pid_; })) {
      ::kill(pid_, SIGKILL);
      ::waitpid(pid_, nullptr, 0);
    }
    pid_ = -1;
  }

 private:
  pid_t pid_ = -1;
};

/// Real-time priority for this thread and all that it starts, where the system allows it.
struct RealTime {
  RealTime() { set(SCHED_FIFO, 5); }
  ~RealTime() { set(SCHED_OTHER, 0); }
  static void set(int policy, int priority) {
    const sched_param parameter{priority};
    ::sched_setscheduler(0, policy, &parameter);
  }
};

inline bool have_pulseaudio() {
  return std::system("command -v pulseaudio >/dev/null 2>&1 && command -v parec >/dev/null 2>&1") == 0;
}

/// Points this process at a private runtime directory in which no server runs until start().
class PulseServer {
 public:
  PulseServer() {
    for (const char* name : {"HOME", "XDG_RUNTIME_DIR", "PULSE_RUNTIME_PATH", "PULSE_STATE_PATH"}) ::setenv(name, directory_.path.c_str(), 1);
    ::setenv("PULSE_SERVER", ("unix:" + socket()).c_str(), 1);
    // Neither may another server be found or started instead.
    ::setenv("JACK_NO_START_SERVER", "1", 1);
    ::setenv("ALSA_CONFIG_PATH", "/dev/null", 1);
    write_bytes(directory_.path / "client.conf", "autospawn = no\n");
    ::setenv("PULSE_CLIENTCONFIG", (directory_.path / "client.conf").c_str(), 1);
  }

  [[nodiscard]] bool start() {
    std::filesystem::remove(socket());
    server_ = std::make_unique<Child>(std::vector<std::string>{
        "pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--disable-shm=yes", "--use-pid-file=no", "--realtime=no", "--high-priority=no",
        "-L", "module-null-sink sink_name=head rate=48000 channels=2 norewinds=1", "-L", "module-native-protocol-unix auth-anonymous=1 socket=" + socket()});
    return eventually(std::chrono::seconds(20), [&] { return answers(); });
  }
  void kill() { server_->end(SIGKILL); }
  void freeze() const { server_->send(SIGSTOP); }
  void thaw() const { server_->send(SIGCONT); }

 private:
  bool answers() const {  // the socket's file is there a moment before anyone listens
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    socket().copy(address.sun_path, sizeof(address.sun_path) - 1);
    const int fd = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    const bool connected = ::connect(fd, reinterpret_cast<const sockaddr*>(&address), sizeof(address)) == 0;
    ::close(fd);
    return connected;
  }
  std::string socket() const { return (directory_.path / "native").string(); }

  TemporaryDirectory directory_;
  std::unique_ptr<Child> server_;
};

/// Records the sink's monitor and knows when each frame was played.
///
/// A null sink renders one block ahead of its own clock and its monitor gets the block at once, so a frame arrives here up to
/// a block before it counts as heard. The recorder asks for 2 ms, which makes that the block.
class Monitor {
  static constexpr std::int64_t kAhead_ns = 2'000'000;

 public:
  Monitor() {
    int ends[2];
    if (::pipe2(ends, O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
    recorder_ = std::make_unique<Child>(
        std::vector<std::string>{"parec", "--raw", "--format=float32le", "--rate=48000", "--channels=1", "--latency-msec=2", "-d", "head.monitor"}, ends[1]);
    ::close(ends[1]);
    from_ = ends[0];
    listener_ = std::thread([this] { listen(); });
  }
  ~Monitor() {
    stop_ = true;
    listener_.join();
    recorder_.reset();
    ::close(from_);
  }
  Monitor(const Monitor&) = delete;
  Monitor& operator=(const Monitor&) = delete;

  std::size_t frames() const {
    const std::lock_guard lock(mutex_);
    return samples_.size();
  }
  /// The frames at which the level rises over `level`, after at least 0.1 s below it, as steady times.
  std::vector<std::int64_t> clicks(float level) const {
    const std::lock_guard lock(mutex_);
    std::vector<std::int64_t> times;
    std::int64_t quiet_since = -1'000'000;
    for (std::int64_t i = 0; i < static_cast<std::int64_t>(samples_.size()); ++i) {
      if (std::abs(samples_[static_cast<std::size_t>(i)]) < level) continue;
      if (i - quiet_since > 4800) times.push_back(zero_ns_ + i * 62500 / 3);
      quiet_since = i;
    }
    return times;
  }
  float loudest_since(std::size_t frame) const {
    const std::lock_guard lock(mutex_);
    float most = 0;
    for (std::size_t i = frame; i < samples_.size(); ++i) most = std::max(most, std::abs(samples_[i]));
    return most;
  }

 private:
  void listen() {
    std::array<char, 16384> bytes;
    std::size_t held = 0;
    while (!stop_) {
      pollfd ready{from_, POLLIN, 0};
      if (::poll(&ready, 1, 20) <= 0) continue;
      const ssize_t got = ::read(from_, bytes.data() + held, bytes.size() - held);
      if (got <= 0) return;
      const std::int64_t now = threads::steady_ns();
      held += static_cast<std::size_t>(got);
      const std::size_t whole = held / sizeof(float);
      const std::lock_guard lock(mutex_);
      const std::size_t before = samples_.size();
      samples_.resize(before + whole);
      std::memcpy(samples_.data() + before, bytes.data(), whole * sizeof(float));
      std::memmove(bytes.data(), bytes.data() + whole * sizeof(float), held - whole * sizeof(float));
      held -= whole * sizeof(float);
      // A frame can arrive late but not early: the promptest arrival of all says when frame 0 was played.
      zero_ns_ = std::min(zero_ns_, now - static_cast<std::int64_t>(samples_.size()) * 62500 / 3 + kAhead_ns);
    }
  }

  std::unique_ptr<Child> recorder_;
  int from_ = -1;
  mutable std::mutex mutex_;
  std::vector<float> samples_;
  std::int64_t zero_ns_ = std::numeric_limits<std::int64_t>::max();
  std::atomic<bool> stop_{false};
  std::thread listener_;
};

}  // namespace mien::sound
