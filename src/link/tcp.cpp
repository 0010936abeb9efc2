#include <fcntl.h>
#include <netdb.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <system_error>

#include "link/port.hpp"
#include "threads/steady.hpp"

namespace mien::link {
namespace {

show::Finding no_connection(const std::string& text, const std::string& what, const std::string& cure) {
  return {show::Severity::error, text, "", what, cure};
}

show::Finding explain_connection(int error, const std::string& text) {
  if (error == ECONNREFUSED)
    return no_connection(text, "The host refuses the connection: nothing listens on that port",
                         "Start the boards there (mien board --listen HOST:PORT), or correct the port number");
  if (error == ETIMEDOUT)
    return no_connection(text, "The host does not answer", "Check its address, the network and any firewall between");
  if (error == ECANCELED) return no_connection(text, "The connection was given up", "Open the port again");
  return no_connection(text, std::string("The connection failed: ") + std::generic_category().message(error),
                       "Check the host's address and the network");
}

/// 0 once connected, else the errno that says why not.
int finish_connecting(int handle, const Wake& cancel, std::int64_t deadline_ns) {
  for (;;) {
    const auto left_ms = (deadline_ns - threads::steady_ns()) / 1'000'000;
    if (left_ms <= 0) return ETIMEDOUT;
    pollfd entries[2] = {{handle, POLLOUT, 0}, {cancel.handle(), POLLIN, 0}};
    if (::poll(entries, 2, static_cast<int>(left_ms)) < 0 && errno != EINTR) return errno;
    if (entries[0].revents) break;
    if (entries[1].revents) return ECANCELED;
  }
  int error = 0;
  socklen_t size = sizeof error;
  return ::getsockopt(handle, SOL_SOCKET, SO_ERROR, &error, &size) < 0 ? errno : error;
}

int connect_to(const addrinfo& address, const Wake& cancel, std::int64_t deadline_ns, int& handle) {
  handle = ::socket(address.ai_family, address.ai_socktype | SOCK_NONBLOCK | SOCK_CLOEXEC, address.ai_protocol);
  if (handle < 0) return errno;
  int error = ::connect(handle, address.ai_addr, address.ai_addrlen) == 0 ? 0 : errno;
  if (error == EINPROGRESS) error = finish_connecting(handle, cancel, deadline_ns);
  if (error) {
    ::close(handle);
    return error;
  }
  const int on = 1;  // a frame must not wait for the acknowledgement of the one before
  ::setsockopt(handle, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
  return 0;
}

}  // namespace

show::Result<PortPtr> open_tcp(const PortName& port, const std::string& text, const Wake& cancel, int timeout_ms) {
  addrinfo hints{};
  hints.ai_family = AF_UNSPEC;
  hints.ai_socktype = SOCK_STREAM;
  hints.ai_flags = AI_NUMERICSERV;
  addrinfo* found = nullptr;
  if (const int error = ::getaddrinfo(port.host.c_str(), std::to_string(port.tcp).c_str(), &hints, &found); error != 0)
    return no_connection(text, "The host '" + port.host + "' is not known: " + ::gai_strerror(error),
                         "Correct the name, or write the host's address in numbers");
  const std::unique_ptr<addrinfo, decltype(&::freeaddrinfo)> addresses(found, &::freeaddrinfo);
  const auto deadline_ns = threads::steady_ns() + std::int64_t{timeout_ms} * 1'000'000;
  int error = EADDRNOTAVAIL;
  for (const addrinfo* address = found; address; address = address->ai_next) {
    int handle = -1;
    error = connect_to(*address, cancel, deadline_ns, handle);
    if (error == 0) return PortPtr(std::make_unique<SocketPort>(handle, text));
    if (error == ECANCELED) break;
  }
  return explain_connection(error, text);
}

}  // namespace mien::link
