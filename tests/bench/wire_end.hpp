// The far end of the wire, for benchmarks: boards on a TCP connection that note when frames arrive.
#pragma once
#include <arpa/inet.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <cstdlib>
#include <string>
#include <thread>

#include "link/desk.hpp"
#include "threads/steady.hpp"
#include "wire/codec.hpp"

namespace mien::bench {

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
  std::atomic<std::int64_t> arrived_ns{0};  ///< the newest frame
  std::atomic<std::int64_t> moved_ns{0};    ///< the newest frame in which the first pulse of all moved after it had stood for three

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
        if (deframer.push(chunk[i]) && deframer.packet().data[1] == static_cast<std::uint8_t>(wire::Type::frame)) see(deframer.packet(), now_ns);
      desk.advance(now_ns);
      if (!desk.exchange(socket)) break;
    }
    ::close(socket);
  }
  void see(wire::Bytes packet, std::int64_t now_ns) {
    wire::Frame frame;
    if (!wire::decode(packet, frame)) return;
    const int pulse = frame.blocks[0].pulse[0];
    if (pulse != pulse_ && stood_ >= 3) moved_ns = now_ns;
    stood_ = pulse == pulse_ ? stood_ + 1 : 0;
    pulse_ = pulse;
    arrived_ns = now_ns;
  }
  int listener_;
  int pulse_ = 0, stood_ = 0;
  std::thread thread_;
};

/// Waits until it is so.
template <class Fact>
void until(Fact fact) {
  while (!fact()) std::this_thread::sleep_for(std::chrono::milliseconds(1));
}

}  // namespace mien::bench
