#include "link/port.hpp"

#include <fcntl.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cstring>
#include <ctime>
#include <string_view>
#include <system_error>

namespace mien::link {
namespace {

constexpr std::string_view kTcp = "tcp:";

show::Finding bad_text(const std::string& text, std::string what) {
  return {show::Severity::error, text, "", std::move(what),
          "Write sim: for simulated boards, a serial device such as /dev/ttyACM0 (or /dev/ttyACM0@115200), or tcp:HOST:PORT"};
}

/// The whole of `text` as a number from low to high.
std::optional<int> number(std::string_view text, int low, int high) {
  int value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || value < low || value > high) return std::nullopt;
  return value;
}

}  // namespace

show::Result<PortName> parse_host_port(const std::string& host_port, const std::string& text) {
  const auto colon = host_port.rfind(':');
  if (colon == std::string::npos || colon == 0) return bad_text(text, "This names no host and port");
  std::string host = host_port.substr(0, colon);
  if (host.front() == '[' && host.back() == ']' && host.size() > 2) host = host.substr(1, host.size() - 2);
  const auto port = number(std::string_view(host_port).substr(colon + 1), 0, 65535);
  if (!port) return bad_text(text, "The port number is not a number from 0 to 65535");
  PortName name;
  name.kind = PortName::Kind::tcp;
  name.host = host;
  name.tcp = static_cast<std::uint16_t>(*port);
  return name;
}

show::Result<PortName> parse_port(const std::string& text) {
  if (text.empty()) return bad_text(text, "No port is named");
  if (text.find('\0') != std::string::npos) return bad_text(text, "A port's name cannot hold a zero byte");
  if (text == "sim:") return PortName{};
  if (text.starts_with("sim:")) return bad_text(text, "Nothing may follow sim:, its boards are those of the rig");
  if (text.starts_with(kTcp)) {
    auto name = parse_host_port(text.substr(kTcp.size()), text);
    if (name && name->tcp == 0) return bad_text(text, "Port 0 can't be connected to");
    return name;
  }
  PortName name;
  name.kind = PortName::Kind::serial;
  const auto at = text.rfind('@');
  name.device = text.substr(0, at);
  if (name.device.empty()) return bad_text(text, "No serial device is named");
  if (at == std::string::npos) return name;
  const auto baud = number(std::string_view(text).substr(at + 1), 1200, 12'000'000);
  if (!baud) return bad_text(text, "The baud rate after @ is not a number from 1200 to 12000000");
  name.baud = *baud;
  return name;
}

Port::~Port() {
  if (handle_ >= 0) ::close(handle_);
}

void Port::lose(const std::string& why) {
  if (lost_) return;
  lost_ = show::Finding{show::Severity::error, name_, "", "The port is gone: " + why,
                        "Check the cable and the boards' supply; the port is opened again by itself as soon as it is back"};
}

std::size_t Port::read(std::span<std::uint8_t> into) {
  if (lost_ || into.empty()) return 0;
  const long count = read_some(into);
  if (count > 0) return static_cast<std::size_t>(count);
  if (count == 0) lose("the other side closed it");
  else if (errno != EAGAIN && errno != EINTR) lose(std::generic_category().message(errno));
  return 0;
}

std::size_t Port::waiting() const noexcept {
  int count = 0;  // TIOCOUTQ answers for terminals and TCP sockets alike
  return ::ioctl(handle_, TIOCOUTQ, &count) == 0 && count > 0 ? static_cast<std::size_t>(count) : 0;
}

std::size_t Port::write(std::span<const std::uint8_t> bytes) {
  if (lost_) return 0;
  bytes = bytes.first(std::min(bytes.size(), kBacklog - std::min(kBacklog, waiting())));
  if (bytes.empty()) return 0;
  const long count = write_some(bytes);
  if (count >= 0) return static_cast<std::size_t>(count);
  if (errno != EAGAIN && errno != EINTR) lose(std::generic_category().message(errno));
  return 0;
}

void Port::check() {
  pollfd entry{handle_, POLLIN, 0};
  if (::poll(&entry, 1, 0) < 0) return;
  if (!(entry.revents & (POLLHUP | POLLERR | POLLNVAL))) return;
  // Bytes that arrived before the hang-up are still worth reading. A hung-up terminal counts as readable for ever, so ask how many.
  int pending = 0;
  if (::ioctl(handle_, FIONREAD, &pending) != 0 || pending <= 0) lose("unplugged, or closed by the other side");
}

SocketPort::SocketPort(int handle, std::string name) : Port(handle, std::move(name)) {
  ::fcntl(handle_, F_SETFL, ::fcntl(handle_, F_GETFL) | O_NONBLOCK);
}

long SocketPort::read_some(std::span<std::uint8_t> into) { return ::recv(handle_, into.data(), into.size(), 0); }

long SocketPort::write_some(std::span<const std::uint8_t> bytes) {
  return ::send(handle_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
}

std::size_t SocketPort::waiting() const noexcept {
  int domain = 0;
  socklen_t size = sizeof domain;
  ::getsockopt(handle_, SOL_SOCKET, SO_DOMAIN, &domain, &size);
  return domain == AF_UNIX ? 0 : Port::waiting();  // a local socket counts memory, not bytes
}

void wait(const Port* port, const Wake& wake, std::int64_t timeout_ns) {
  pollfd entries[2] = {{wake.handle(), POLLIN, 0}, {port ? port->handle() : -1, POLLIN, 0}};
  timeout_ns = std::max<std::int64_t>(timeout_ns, 0);
  const timespec timeout{static_cast<time_t>(timeout_ns / 1'000'000'000), static_cast<long>(timeout_ns % 1'000'000'000)};
  ::ppoll(entries, 2, &timeout, nullptr);
}

}  // namespace mien::link
