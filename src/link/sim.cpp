#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <cstring>
#include <system_error>
#include <thread>

#include "link/desk.hpp"
#include "link/port.hpp"
#include "threads/steady.hpp"

namespace mien::link {
namespace {

class SimPort final : public SocketPort {
 public:
  SimPort(int our_end, int their_end, std::vector<DeskBoard> boards, std::string name)
      : SocketPort(our_end, std::move(name)), thread_([this, their_end, boards = std::move(boards)] { live(their_end, boards); }) {}
  ~SimPort() override {
    stop_.ring();
    thread_.join();
  }

 private:
  void live(int socket, const std::vector<DeskBoard>& boards) {
    Desk desk(boards, threads::steady_ns());
    for (;;) {
      pollfd entries[2] = {{socket, POLLIN, 0}, {stop_.handle(), POLLIN, 0}};
      ::poll(entries, 2, desk.pace_ms());
      if (entries[1].revents) break;
      desk.advance(threads::steady_ns());
      if (!desk.exchange(socket)) break;
    }
    ::close(socket);
  }

  Wake stop_;
  std::thread thread_;
};

}  // namespace

show::Result<PortPtr> open_sim(const show::Rig& rig, const std::string& text) {
  int ends[2];
  if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends) != 0)
    return show::Finding{show::Severity::error, text, "", std::string("No pipe to the simulated boards: ") + std::generic_category().message(errno),
                         "Close other programs or files, then open the port again"};
  std::vector<DeskBoard> boards;
  for (const auto& each : rig.boards) boards.push_back({.address = wire::kNoAddress, .outputs = each.outputs});
  return PortPtr(std::make_unique<SimPort>(ends[0], ends[1], std::move(boards), text));
}

}  // namespace mien::link
