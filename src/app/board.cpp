// mien board: the simulated board as a process.
#include <cstdio>
#include <iostream>

#include "app/commands.hpp"
#include "app/interrupt.hpp"
#include "link/board_server.hpp"
#include "show/rig.hpp"

namespace mien::app {

int run_board(const BoardWords& words) {
  link::BoardServer server{.listen = words.listen, .boards = words.boards, .log = words.state ? &std::cout : nullptr, .capture_file = words.capture, .listening = {}};
  server.listening = [&](std::uint16_t port) {
    std::printf("listening on %s:%u\n", words.listen.substr(0, words.listen.rfind(':')).c_str(), unsigned{port});
    std::fflush(stdout);
  };
  const auto problem = server.run(interrupt());
  std::cout.flush();
  return problem ? tell(*problem) : kFine;
}

}  // namespace mien::app
