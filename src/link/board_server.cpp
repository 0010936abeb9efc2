#include "link/board_server.hpp"

#include <arpa/inet.h>
#include <netdb.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <fstream>
#include <sstream>
#include <system_error>

#include "link/desk.hpp"
#include "link/port.hpp"
#include "threads/steady.hpp"

namespace mien::link {
namespace {

show::Finding file_finding(const std::string& file, std::string what, std::string cure) {
  return {show::Severity::error, file, "", std::move(what), std::move(cure)};
}

/// A descriptor that is closed with its owner; -1 is none.
class Socket {
 public:
  explicit Socket(int handle = -1) : handle_(handle) {}
  Socket(Socket&& other) noexcept : handle_(std::exchange(other.handle_, -1)) {}
  Socket& operator=(Socket&& other) noexcept {
    std::swap(handle_, other.handle_);
    return *this;
  }
  ~Socket() { close(); }
  void close() {
    if (handle_ >= 0) ::close(handle_);
    handle_ = -1;
  }
  explicit operator bool() const noexcept { return handle_ >= 0; }
  int handle() const noexcept { return handle_; }

 private:
  int handle_;
};

show::Finding explain_listening(int error, const std::string& listen) {
  if (error == EADDRINUSE)
    return file_finding(listen, "Another program listens on this port", "Stop it, or listen on another port (0 takes a free one)");
  if (error == EACCES)
    return file_finding(listen, "You are not allowed to listen on this port", "Take a port above 1023 (0 takes a free one)");
  return file_finding(listen, std::string("Can't listen here: ") + std::generic_category().message(error),
                 "Listen on an address of this machine, such as 127.0.0.1:0");
}

show::Result<Socket> listen_on(const PortName& name, const std::string& listen) {
  addrinfo hints{};
  hints.ai_socktype = SOCK_STREAM;
  hints.ai_flags = AI_PASSIVE | AI_NUMERICSERV;
  addrinfo* found = nullptr;
  if (const int error = ::getaddrinfo(name.host.c_str(), std::to_string(name.tcp).c_str(), &hints, &found); error != 0)
    return file_finding(listen, "The address '" + name.host + "' is not known: " + ::gai_strerror(error),
                   "Listen on an address of this machine, such as 127.0.0.1:0");
  const std::unique_ptr<addrinfo, decltype(&::freeaddrinfo)> addresses(found, &::freeaddrinfo);
  Socket socket(::socket(found->ai_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, found->ai_protocol));
  if (!socket) return explain_listening(errno, listen);
  const int on = 1;  // a server started anew need not wait for the old connections' time to pass
  ::setsockopt(socket.handle(), SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
  if (::bind(socket.handle(), found->ai_addr, found->ai_addrlen) != 0 || ::listen(socket.handle(), 1) != 0)
    return explain_listening(errno, listen);
  return socket;
}

std::uint16_t port_of(const Socket& socket) {
  sockaddr_storage address{};
  socklen_t size = sizeof address;
  ::getsockname(socket.handle(), reinterpret_cast<sockaddr*>(&address), &size);
  return ntohs(address.ss_family == AF_INET6 ? reinterpret_cast<sockaddr_in6&>(address).sin6_port
                                             : reinterpret_cast<sockaddr_in&>(address).sin_port);
}

Socket accept_from(const Socket& listener) {
  Socket client(::accept4(listener.handle(), nullptr, nullptr, SOCK_CLOEXEC | SOCK_NONBLOCK));
  const int on = 1;
  if (client) ::setsockopt(client.handle(), IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
  return client;
}

/// The levels of the boards' inputs, worked by lines of text.
class Hands {
 public:
  Hands(int handle, int boards) : handle_(handle), senses_(static_cast<std::size_t>(boards)) {}
  int handle() const noexcept { return handle_; }

  /// What is there now. At the end of the text the hands rest: levels stay.
  void work(Desk& desk, std::ostream* log) {
    char bytes[512];
    const auto size = ::read(handle_, bytes, sizeof bytes);
    if (size <= 0) return void(handle_ = -1);
    text_.append(bytes, static_cast<std::size_t>(size));
    for (auto end = text_.find('\n'); end != std::string::npos; end = text_.find('\n')) {
      const std::string line = text_.substr(0, end);
      text_.erase(0, end + 1);
      if (!obey(line, desk) && log) *log << "not understood: " << line << " (write: input BOARD LINE high, or low)\n";
    }
    if (text_.size() > kLongestLine) text_.clear();
  }

 private:
  static constexpr std::size_t kLongestLine = 256;

  bool obey(const std::string& line, Desk& desk) {
    std::istringstream words(line);
    std::string what, level;
    int board = -1, input = -1;
    if (!(words >> what >> board >> input >> level) || what != "input" || (level != "high" && level != "low")) return false;
    if (board < 0 || board >= static_cast<int>(senses_.size()) || input < 0 || input >= wire::kMaxInputs) return false;
    auto& senses = senses_[static_cast<std::size_t>(board)];
    const auto bit = static_cast<std::uint16_t>(1u << input);
    senses.inputs = static_cast<std::uint16_t>(level == "high" ? senses.inputs | bit : senses.inputs & ~bit);
    desk.sense(static_cast<std::size_t>(board), senses);
    return true;
  }

  int handle_;
  std::string text_;
  std::vector<board::Senses> senses_;
};

std::vector<DeskBoard> boards_of(int count, const std::vector<std::vector<std::uint8_t>>& baked) {
  std::vector<DeskBoard> boards(static_cast<std::size_t>(count), DeskBoard{.address = wire::kNoAddress});
  for (std::size_t n = 0; n < boards.size() && n < baked.size(); ++n) boards[n].baked = baked[n];
  return boards;
}

}  // namespace

std::optional<show::Finding> BoardServer::run(const Wake& stop) const {
  if (boards < 1 || boards > show::kMaxBoards)
    return file_finding(listen, "There can't be " + std::to_string(boards) + " boards",
                   "Ask for 1 to " + std::to_string(show::kMaxBoards));
  const auto name = parse_host_port(listen, listen);
  if (!name) return file_finding(listen, name.problem().what, "Write HOST:PORT, such as 127.0.0.1:0 (0 takes a free port)");
  std::ofstream capture;
  if (!capture_file.empty()) {
    capture.open(capture_file, std::ios::binary | std::ios::app);
    if (!capture) return file_finding(capture_file, "The capture file can't be written", "Name a file in a folder that you may write to");
  }
  const auto listener = listen_on(*name, listen);
  if (!listener) return listener.problem();
  if (listening) listening(port_of(*listener));

  const auto born_ns = threads::steady_ns();
  Desk desk(boards_of(boards, baked), born_ns, log);
  const auto tell = [&](const char* what) {
    if (log) *log << std::to_string(static_cast<double>(threads::steady_ns() - born_ns) * 1e-9) << ' ' << what << '\n';
  };
  Socket client;
  Hands at_boards(hands, boards);
  for (;;) {
    pollfd entries[3] = {{client ? client.handle() : listener->handle(), POLLIN, 0}, {stop.handle(), POLLIN, 0}, {at_boards.handle(), POLLIN, 0}};
    ::poll(entries, 3, desk.pace_ms());
    if (entries[1].revents) return std::nullopt;
    desk.advance(threads::steady_ns());
    if (entries[2].revents) at_boards.work(desk, log);
    if (!client && entries[0].revents) {
      client = accept_from(*listener);
      if (client) tell("client connected");
      desk.receive(std::span(&wire::kDelimiter, 1));  // what the client before left half said is not this one's
      desk.answers().clear();
    }
    if (client && !desk.exchange(client.handle(), capture.is_open() ? &capture : nullptr)) {
      client.close();
      tell("client gone");
    }
    if (log) log->flush();
  }
}

}  // namespace mien::link
