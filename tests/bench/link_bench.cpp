// How long a frame takes from the performing thread's push() to the boards' end of the line, at the pace of a performance.
#include <arpa/inet.h>
#include <benchmark/benchmark.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <thread>

#include "link/desk.hpp"
#include "link/session.hpp"
#include "threads/steady.hpp"

namespace {

using namespace mien;

/// Boards at the end of a TCP connection which note when a frame's last byte arrives.
class Boards {
 public:
  Boards() : listener_(::socket(AF_INET, SOCK_STREAM, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    socklen_t size = sizeof address;
    if (::bind(listener_, reinterpret_cast<sockaddr*>(&address), size) || ::listen(listener_, 1)) std::abort();
    ::getsockname(listener_, reinterpret_cast<sockaddr*>(&address), &size);
    port = "tcp:127.0.0.1:" + std::to_string(ntohs(address.sin_port));
    thread_ = std::thread([this] { serve(::accept(listener_, nullptr, nullptr)); });
  }
  ~Boards() {
    thread_.join();
    ::close(listener_);
  }
  std::string port;
  std::atomic<std::int64_t> arrived_ns{0};

 private:
  void serve(int socket) {
    const int on = 1;
    ::setsockopt(socket, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    link::Desk desk({{0, 16}, {1, 16}, {2, 16}}, threads::steady_ns());
    wire::Deframer deframer;
    for (;;) {
      pollfd entry{socket, POLLIN, 0};
      ::poll(&entry, 1, 1);
      const auto now_ns = threads::steady_ns();
      std::uint8_t chunk[1024];
      const auto count = ::recv(socket, chunk, sizeof chunk, MSG_DONTWAIT | MSG_PEEK);
      if (count == 0) break;
      for (ssize_t i = 0; i < count; ++i)
        if (deframer.push(chunk[i]) && deframer.packet().data[1] == static_cast<std::uint8_t>(wire::Type::frame)) arrived_ns = now_ns;
      desk.advance(now_ns);
      if (!desk.exchange(socket)) break;
    }
    ::close(socket);
  }
  int listener_;
  std::thread thread_;
};

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

template <class Fact>
void until(Fact fact) {
  while (!fact()) std::this_thread::sleep_for(std::chrono::milliseconds(1));
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
      while (boards.arrived_ns == before) std::this_thread::sleep_for(std::chrono::microseconds(100));
      late_us.push_back(static_cast<double>(boards.arrived_ns - pushed_ns) * 1e-3);
      state.SetIterationTime(late_us.back() * 1e-6);
    }
  }
  std::sort(late_us.begin(), late_us.end());
  state.counters["p50_us"] = late_us[late_us.size() / 2];
  state.counters["p99_us"] = late_us[late_us.size() * 99 / 100];
}
BENCHMARK(FrameToTheWire)->UseManualTime()->Iterations(500)->Unit(benchmark::kMicrosecond);

/// What push() itself costs the performing thread, the wake-up of the link's thread included.
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
