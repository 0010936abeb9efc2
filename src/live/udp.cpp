#include "live/udp.hpp"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <system_error>
#include <utility>

namespace mien::live {
namespace {

sockaddr_in native(const NetAddress& a) noexcept {
  sockaddr_in in{};
  in.sin_family = AF_INET;
  in.sin_addr.s_addr = htonl(a.ip);
  in.sin_port = htons(a.port);
  return in;
}
NetAddress of(const sockaddr_in& in) noexcept { return {ntohl(in.sin_addr.s_addr), ntohs(in.sin_port)}; }

show::Finding wrong(const std::string& place, const NetAddress& at, const char* what) {
  const int why = errno;
  const char* cure = why == EADDRINUSE      ? "Another program has that port, perhaps another Mien: end it, or choose another port."
                     : why == EADDRNOTAVAIL ? "Use an address that this machine has ('ip address' lists them), 127.0.0.1 for itself alone, or 0.0.0.0 for all of them."
                     : why == EACCES        ? "Ports below 1024 are the system's: choose a higher one."
                     : why == ENODEV        ? "Use the address of the interface that is to hear it; 'ip address' lists them."
                                            : "Check the network, then try again.";
  return {show::Severity::error, "", place, to_text(at) + " " + what + ": " + std::generic_category().message(why), cure};
}

int fresh() noexcept { return ::socket(AF_INET, SOCK_DGRAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0); }

}  // namespace

show::Result<UdpSocket> UdpSocket::open(const NetAddress& at, const std::string& place) {
  UdpSocket made(fresh());
  const int off = 0;  // no group that others on this machine joined
  const sockaddr_in in = native(at);
  if (made.fd_ < 0 || ::setsockopt(made.fd_, IPPROTO_IP, IP_MULTICAST_ALL, &off, sizeof off) != 0 || ::bind(made.fd_, reinterpret_cast<const sockaddr*>(&in), sizeof in) != 0) return wrong(place, at, "can't be listened on");
  return made;
}

show::Result<UdpSocket> UdpSocket::join(std::uint32_t group, std::uint16_t port, std::uint32_t interface_ip, const std::string& place) {
  UdpSocket made(fresh());
  const int on = 1, off = 0;
  const sockaddr_in in = native({group, port});
  ip_mreq request{};
  request.imr_multiaddr.s_addr = htonl(group);
  request.imr_interface.s_addr = htonl(interface_ip);
  // Several programs may hear one group; and this one hears only what came by the interface that it joined on.
  if (made.fd_ < 0 || ::setsockopt(made.fd_, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on) != 0 || ::setsockopt(made.fd_, IPPROTO_IP, IP_MULTICAST_ALL, &off, sizeof off) != 0 ||
      ::bind(made.fd_, reinterpret_cast<const sockaddr*>(&in), sizeof in) != 0 || ::setsockopt(made.fd_, IPPROTO_IP, IP_ADD_MEMBERSHIP, &request, sizeof request) != 0)
    return wrong(place, {group, port}, ("can't be joined by way of " + ip_text(interface_ip)).c_str());
  return made;
}

UdpSocket::UdpSocket(UdpSocket&& other) noexcept : fd_(std::exchange(other.fd_, -1)) {}
UdpSocket& UdpSocket::operator=(UdpSocket&& other) noexcept {
  std::swap(fd_, other.fd_);
  return *this;
}
UdpSocket::~UdpSocket() {
  if (fd_ >= 0) ::close(fd_);
}

std::optional<std::size_t> UdpSocket::receive(std::span<std::uint8_t> room, NetAddress& from) noexcept {
  sockaddr_in in{};
  socklen_t size = sizeof in;
  ssize_t got;
  // ECONNREFUSED: somebody whom a report was sent to is gone. It says nothing about what waits here.
  do got = ::recvfrom(fd_, room.data(), room.size(), 0, reinterpret_cast<sockaddr*>(&in), &size);
  while (got < 0 && (errno == EINTR || errno == ECONNREFUSED));
  if (got < 0) return std::nullopt;
  from = of(in);
  return static_cast<std::size_t>(got);
}

bool UdpSocket::send(std::span<const std::uint8_t> datagram, const NetAddress& to) noexcept {
  const sockaddr_in in = native(to);
  return ::sendto(fd_, datagram.data(), datagram.size(), MSG_NOSIGNAL, reinterpret_cast<const sockaddr*>(&in), sizeof in) == static_cast<ssize_t>(datagram.size());
}

NetAddress UdpSocket::at() const noexcept {
  sockaddr_in in{};
  socklen_t size = sizeof in;
  if (::getsockname(fd_, reinterpret_cast<sockaddr*>(&in), &size) != 0) return {};
  return of(in);
}

}  // namespace mien::live
