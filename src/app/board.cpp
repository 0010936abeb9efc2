// mien board: the simulated board as a process.
#include <cstdio>
#include <iostream>

#include "app/commands.hpp"
#include "app/interrupt.hpp"
#include "link/board_server.hpp"
#include "show/rig.hpp"

namespace mien::app {

void add_board(CLI::App& app, int& exit_code) {
  struct Words {
    link::BoardServer server;
    bool state = false;
  };
  const auto words = std::make_shared<Words>();
  auto* command = app.add_subcommand("board", "Simulate the boards of a head as a process that a link reaches by tcp:HOST:PORT");
  command->add_option("--listen", words->server.listen, "HOST:PORT to listen on; port 0 takes a free one")->required();
  command->add_option("--boards", words->server.boards, "how many boards")->check(CLI::Range(1, show::kMaxBoards))->capture_default_str();
  command->add_flag("--state", words->state, "print what the boards would drive, a line a change");
  command->add_option("--capture", words->server.capture_file, "append every byte received to this file");
  command->callback([words, &exit_code] {
    words->server.listening = [&](std::uint16_t port) {
      std::printf("listening on %s:%u\n", words->server.listen.substr(0, words->server.listen.rfind(':')).c_str(), unsigned{port});
      std::fflush(stdout);
    };
    std::ios::sync_with_stdio(false);
    if (words->state) words->server.log = &std::cout;
    const auto problem = words->server.run(interrupt());
    std::cout.flush();
    exit_code = problem ? tell(*problem) : kFine;
  });
}

}  // namespace mien::app
