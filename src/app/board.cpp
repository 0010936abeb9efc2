// mien board: the simulated board as a process.
#include <unistd.h>

#include <cstdio>
#include <fstream>
#include <iostream>
#include <iterator>

#include "app/commands.hpp"
#include "app/interrupt.hpp"
#include "board/baked.hpp"
#include "link/board_server.hpp"
#include "show/rig.hpp"

namespace mien::app {

namespace {

using Images = std::vector<std::vector<std::uint8_t>>;

/// The images of a file of mien bake, one after the other, each whole.
show::Result<Images> images_of(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  const std::vector<char> bytes{std::istreambuf_iterator<char>(in), {}};
  if (!in) return show::Finding{show::Severity::error, file, "", "The file can't be read", "Name a file that mien bake wrote"};
  Images images;
  for (std::size_t at = 0; at < bytes.size() || images.empty();) {
    board::Baked baked;
    wire::BakeFault fault = board::read({reinterpret_cast<const std::uint8_t*>(bytes.data()) + at, bytes.size() - at}, baked);
    if (fault == wire::BakeFault::none) fault = board::check(baked);
    if (fault != wire::BakeFault::none)
      return show::Finding{show::Severity::error, file, "image " + std::to_string(images.size() + 1), wire::name(fault), "Bake the show anew"};
    images.emplace_back(baked.image.data, baked.image.data + baked.image.size);
    at += baked.image.size;
  }
  return images;
}

}  // namespace

int run_board(const BoardWords& words) {
  auto baked = words.baked.empty() ? show::Result<Images>(Images{}) : images_of(words.baked);
  if (!baked) return tell(baked.problem());
  link::BoardServer server{.listen = words.listen, .boards = words.boards, .baked = *baked, .hands = words.hands ? STDIN_FILENO : -1, .log = words.state ? &std::cout : nullptr, .capture_file = words.capture, .listening = {}};
  server.listening = [&](std::uint16_t port) {
    std::printf("listening on %s:%u\n", words.listen.substr(0, words.listen.rfind(':')).c_str(), unsigned{port});
    std::fflush(stdout);
  };
  const auto problem = server.run(interrupt());
  std::cout.flush();
  return problem ? tell(*problem) : kFine;
}

}  // namespace mien::app
