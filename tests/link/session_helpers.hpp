// What the tests of a whole session share: hands that push frames, a board server on a thread, a cable that can be cut, boards on a
// pseudo-terminal.
#pragma once
#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>

#include <array>
#include <atomic>
#include <cstdio>
#include <mutex>
#include <optional>
#include <sstream>

#include "link/board_server.hpp"
#include "link/desk.hpp"
#include "link/helpers.hpp"
#include "threads/steady.hpp"

namespace mien::test {

using namespace link;
constexpr std::int64_t kMs = 1'000'000;

inline bool becomes(const Session& session, State state) {
  return eventually([&] { return session.status().state == state; });
}

/// Says where a session stands, for a failing test.
inline std::string text(const Session& session) {
  const auto status = session.status();
  return std::string(name(status.state)) + (status.trouble ? ": " + show::to_text(*status.trouble) : "");
}

/// Arms as a person would: once more where a machine that stood still for a moment lost the link before the boards were armed.
inline bool arms(Session& session) {
  return eventually([&] {
    const auto state = session.status().state;
    if (state == State::ready) session.arm();
    return state == State::armed;
  });
}

/// What the performing thread does, in small: frames at the rig's rate with the same setpoints, beginning anew with each epoch.
class Hands {
 public:
  Hands(Session& session, std::array<std::uint16_t, 3> pulses)
      : session_(session), pulses_(pulses), thread_([this] {
          while (!stop_) tick(), std::this_thread::sleep_for(std::chrono::milliseconds(10));
        }) {}
  ~Hands() {
    stop_ = true;
    thread_.join();
  }
  std::uint32_t pushed() const { return pushed_; }
  void rest(bool resting) { resting_ = resting; }

 private:
  void tick() {
    const auto armed = session_.armed();
    if (armed.epoch == 0 || resting_) return;
    Frame frame;
    frame.epoch = armed.epoch;
    frame.sequence = pushed_ + 1;
    frame.latch_ns = threads::steady_ns() + 20 * kMs;
    frame.count = 3;
    for (std::size_t i = 0; i < 3; ++i) frame.pulse[i] = pulses_[i];
    if (session_.push(frame)) ++pushed_;
  }
  Session& session_;
  std::array<std::uint16_t, 3> pulses_;
  std::atomic<bool> stop_{false}, resting_{false};
  std::atomic<std::uint32_t> pushed_{0};
  std::thread thread_;
};

/// A stream that one thread may write while another reads what is there so far.
class SharedLog : private std::streambuf {
 public:
  SharedLog() : stream_(this) {}
  std::ostream& stream() { return stream_; }
  std::string text() const {
    const std::lock_guard lock(mutex_);
    return text_;
  }

 private:
  int_type overflow(int_type c) override {
    const std::lock_guard lock(mutex_);
    text_ += traits_type::to_char_type(c);
    return c;
  }
  std::streamsize xsputn(const char* some, std::streamsize count) override {
    const std::lock_guard lock(mutex_);
    text_.append(some, static_cast<std::size_t>(count));
    return count;
  }
  mutable std::mutex mutex_;
  std::string text_;
  std::ostream stream_;
};

/// A board server on a thread of its own.
class Server {
 public:
  explicit Server(const std::string& listen = "127.0.0.1:0", int boards = 2, std::string capture = "", int hands = -1) {
    server_.listen = listen;
    server_.boards = boards;
    server_.hands = hands;
    server_.log = &log_.stream();
    server_.capture_file = std::move(capture);
    server_.listening = [this](std::uint16_t port) { port_ = port; };
    thread_ = std::thread([this] {
      problem_ = server_.run(stop_);
      done_ = true;
    });
    eventually([&] { return port_ != 0 || done_; });
  }
  ~Server() { stop(); }
  void stop() {
    stop_.ring();
    if (thread_.joinable()) thread_.join();
  }
  std::string address() const { return "127.0.0.1:" + std::to_string(port_); }
  std::string text() const { return "tcp:" + address(); }
  std::string log() const { return log_.text(); }
  const std::optional<show::Finding>& problem() const { return problem_; }

 private:
  BoardServer server_;
  SharedLog log_;
  Wake stop_;
  std::atomic<std::uint16_t> port_{0};
  std::atomic<bool> done_{false};
  std::optional<show::Finding> problem_;
  std::thread thread_;
};

/// The numbers of the frames that a board latched, as the log has them.
inline std::vector<unsigned> latched(const std::string& log, int board) {
  std::vector<unsigned> sequences;
  std::istringstream lines(log);
  for (std::string line; std::getline(lines, line);) {
    unsigned sequence = 0;
    int who = 0;
    if (std::sscanf(line.c_str(), "%*f board %d frame seq %u latched", &who, &sequence) == 2 && who == board)
      sequences.push_back(sequence);
  }
  return sequences;
}

/// The pulses of one output in the order in which they came.
inline std::vector<double> pulses_us(const std::string& log, int board, int output) {
  std::vector<double> pulses;
  std::istringstream lines(log);
  for (std::string line; std::getline(lines, line);) {
    double pulse = 0;
    int who = 0, which = 0;
    if (std::sscanf(line.c_str(), "%*f board %d output %d pulse_us %lf", &who, &which, &pulse) == 3 && who == board && which == output)
      pulses.push_back(pulse);
  }
  return pulses;
}

/// Passes bytes between a session and a server, until the cable is cut; then it can be plugged in again, with the boards' server, and
/// with it their state, alive all the while.
class Cable {
 public:
  explicit Cable(const std::string& to) : to_(to), listener_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    socklen_t size = sizeof address;
    if (::bind(listener_, reinterpret_cast<sockaddr*>(&address), size) || ::listen(listener_, 4)) throw std::runtime_error("no port");
    ::getsockname(listener_, reinterpret_cast<sockaddr*>(&address), &size);
    text_ = "tcp:127.0.0.1:" + std::to_string(ntohs(address.sin_port));
    thread_ = std::thread([this] {
      while (!stop_) carry();
    });
  }
  ~Cable() {
    stop_ = true;
    thread_.join();
    ::close(listener_);
  }
  const std::string& text() const { return text_; }
  void plug(bool in) { plugged_ = in; }
  void spoil(bool noisy) { noisy_ = noisy; }
  void mute(bool silent) { silent_ = silent; }  ///< plugged in, but nothing comes through

 private:
  void carry() {
    const int client = ::accept4(listener_, nullptr, nullptr, SOCK_CLOEXEC | SOCK_NONBLOCK);
    if (client < 0) return std::this_thread::sleep_for(std::chrono::milliseconds(1));
    SocketPort host(client, "host");
    Wake never;
    auto boards = plugged_ ? open_tcp(*parse_port(to_), to_, never) : show::Result<PortPtr>(show::Finding{});
    if (!boards) return;
    while (!stop_ && plugged_ && !host.lost() && !(*boards)->lost()) {
      pollfd entries[2] = {{host.handle(), POLLIN, 0}, {(*boards)->handle(), POLLIN, 0}};
      ::poll(entries, 2, 1);
      pass(host, **boards);
      pass(**boards, host);
    }
  }
  void pass(Port& from, Port& to) {
    std::uint8_t chunk[512];
    const auto count = from.read(chunk);
    if (silent_) return;
    if (noisy_ && ++passed_ % 5 == 0) chunk[0] ^= 0x55;
    for (std::size_t sent = 0; sent < count && !to.lost() && !stop_;) sent += to.write(std::span(chunk).subspan(sent, count - sent));
  }
  std::string to_, text_;
  int listener_;
  int passed_ = 0;
  std::atomic<bool> plugged_{true}, stop_{false}, noisy_{false}, silent_{false};
  std::thread thread_;
};

/// Simulated boards at the device's end of a pseudo-terminal.
class PtyBoards {
 public:
  explicit PtyBoards(const std::string& link) : link_(link) {
    std::filesystem::remove(link);
    std::filesystem::create_symlink(pty_.path(), link);
    thread_ = std::thread([this] {
      Desk desk({{0, 16}, {1, 16}}, threads::steady_ns());
      while (!stop_) {
        pollfd entry{pty_.master(), POLLIN, 0};
        ::poll(&entry, 1, 1);
        desk.advance(threads::steady_ns());
        std::uint8_t chunk[512];
        const auto count = ::read(pty_.master(), chunk, sizeof chunk);
        if (count > 0) desk.receive(std::span(chunk).first(static_cast<std::size_t>(count)));
        auto& answers = desk.answers();
        if (answers.empty()) continue;
        const auto sent = ::write(pty_.master(), answers.data(), answers.size());
        if (sent > 0) answers.erase(answers.begin(), answers.begin() + sent);
      }
    });
  }
  ~PtyBoards() {
    stop_ = true;
    thread_.join();
    std::filesystem::remove(link_);
  }

 private:
  std::string link_;
  Pty pty_;
  std::atomic<bool> stop_{false};
  std::thread thread_;
};

}  // namespace mien::test
