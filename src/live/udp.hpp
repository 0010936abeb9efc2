// Datagrams over IPv4: a socket that never waits.
#pragma once
#include <optional>
#include <span>
#include <string>

#include "live/address.hpp"

namespace mien::live {

class UdpSocket {
 public:
  /// Bound to that address of this machine and that port; port 0 takes a free one. `place` names it in the finding.
  static show::Result<UdpSocket> open(const NetAddress& at, const std::string& place);
  /// Hears what is sent to a multicast group and port by way of the interface that has this address, and nothing else.
  static show::Result<UdpSocket> join(std::uint32_t group, std::uint16_t port, std::uint32_t interface_ip, const std::string& place);

  UdpSocket(UdpSocket&& other) noexcept;
  UdpSocket& operator=(UdpSocket&& other) noexcept;
  ~UdpSocket();

  /// The next datagram that waits, put into `room`; nothing where none does. What is longer than the room comes with its end cut off.
  std::optional<std::size_t> receive(std::span<std::uint8_t> room, NetAddress& from) noexcept;
  /// False where the system would not take it now: it is lost.
  bool send(std::span<const std::uint8_t> datagram, const NetAddress& to) noexcept;
  NetAddress at() const noexcept;  ///< where it is bound
  int handle() const noexcept { return fd_; }

 private:
  explicit UdpSocket(int fd) noexcept : fd_(fd) {}
  int fd_;
};

}  // namespace mien::live
