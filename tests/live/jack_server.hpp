// A JACK server without sound, and a controller that is a client of it.
#pragma once
#include <fcntl.h>
#include <jack/jack.h>
#include <jack/midiport.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "support/eventually.hpp"
#include "threads/ring.hpp"

namespace mien::live {

class JackServer {
 public:
  JackServer() {
    ::signal(SIGPIPE, SIG_IGN);  // as the program has it, in the window and without
    ::setenv("JACK_DEFAULT_SERVER", name_.c_str(), 1);
    ::setenv("JACK_NO_START_SERVER", "1", 1);
    ::setenv("JACK_NO_AUDIO_RESERVATION", "1", 1);
  }
  ~JackServer() { end(); }
  JackServer(const JackServer&) = delete;
  JackServer& operator=(const JackServer&) = delete;

  std::optional<std::string> missing() const {
    if (std::system("command -v jackd >/dev/null 2>&1") == 0) return std::nullopt;
    return "jackd is not installed: apt-get install jackd1";
  }

  [[nodiscard]] bool start() {
    const pid_t parent = ::getpid();
    pid_ = ::fork();
    if (pid_ == 0) {
      ::prctl(PR_SET_PDEATHSIG, SIGTERM);  // a test that crashes leaves nothing behind, not even a place in the list of servers, which has only eight
      if (::getppid() != parent) ::_exit(1);
      const int none = ::open("/dev/null", O_RDWR);
      for (const int out : {0, 1, 2}) ::dup2(none, out);
      // By itself it throws out for good whoever was not ready within half a second, as on a machine that does much else.
      ::execlp("jackd", "jackd", "-n", name_.c_str(), "-r", "-t", "4500", "-d", "dummy", "-r", "48000", "-p", "256", static_cast<char*>(nullptr));
      ::_exit(127);
    }
    return pid_ > 0 && support::eventually([] {
      jack_set_error_function([](const char*) {});
      jack_client_t* client = jack_client_open("looks", JackNoStartServer, nullptr);
      if (client) jack_client_close(client);
      return client != nullptr;
    });
  }

  /// Clients that are there then are not told: libjack ends a thread of each (support/join.cpp).
  void end() {
    if (pid_ <= 0) return;
    ::kill(pid_, SIGTERM);
    if (!support::eventually(std::chrono::milliseconds(5'000), [&] { return ::waitpid(pid_, nullptr, WNOHANG) == pid_; })) ::kill(pid_, SIGKILL), ::waitpid(pid_, nullptr, 0);
    pid_ = -1;
  }

 private:
  std::string name_ = "mien-test-" + std::to_string(::getpid());
  pid_t pid_ = -1;
};

/// A client with one MIDI port, not yet active. Tried again, as a server that is just letting another client go now and then lets the next one go with it; null where it never takes it.
inline jack_client_t* client_with(const char* name, const char* port_name, JackPortFlags way, jack_port_t*& port) {
  jack_client_t* client = nullptr;
  (void)support::eventually([&] {
    client = jack_client_open(name, JackNoStartServer, nullptr);
    port = client ? jack_port_register(client, port_name, JACK_DEFAULT_MIDI_TYPE, way, 0) : nullptr;
    if (client && !port) jack_client_close(client), client = nullptr;
    return port != nullptr;
  });
  return client;
}

/// A client with one MIDI output; its messages leave in the order in which they are sent, at the next period.
class JackController {
 public:
  using Bytes = std::vector<std::uint8_t>;
  explicit JackController(const char* name) : client_(client_with(name, "out", JackPortIsOutput, port_)) {
    if (!client_) return;
    jack_set_process_callback(client_, &JackController::process, this);
    jack_activate(client_);
  }
  ~JackController() { unplug(); }
  JackController(const JackController&) = delete;
  JackController& operator=(const JackController&) = delete;

  bool works() const { return client_ && port_; }
  bool connected() const { return jack_port_connected(port_) > 0; }
  [[nodiscard]] bool send(const Bytes& bytes) {
    Message m{{}, bytes.size()};
    std::copy(bytes.begin(), bytes.end(), m.bytes.begin());
    return ring_.push(m);
  }
  void unplug() {
    if (client_) jack_client_close(client_);
    client_ = nullptr;
  }

 private:
  struct Message { std::array<std::uint8_t, 16> bytes; std::size_t count; };
  static int process(jack_nframes_t frames, void* self) {
    auto& me = *static_cast<JackController*>(self);
    void* buffer = jack_port_get_buffer(me.port_, frames);
    jack_midi_clear_buffer(buffer);
    Message m;
    for (int n = 0; n < 32 && me.ring_.pop(m); ++n) jack_midi_event_write(buffer, 0, m.bytes.data(), m.count);
    return 0;
  }
  jack_port_t* port_ = nullptr;  // before the client, which is made with it
  jack_client_t* client_;
  threads::Ring<Message, 1024> ring_;
};

}  // namespace mien::live
