// mien_knobs NAME: a MIDI controller of that name for the journeys, on a JACK server of its own that makes no sound. Says "server SERVER" once that is
// there, for JACK_DEFAULT_SERVER of whoever is to hear it, and "connected" once somebody does; then each line of standard input is bytes to send, in
// hexadecimal. Ends with its input.
#include <cstdio>
#include <iostream>
#include <sstream>

#include "live/jack_server.hpp"

int main(int count, char** words) {
  using mien::live::JackController;
  using mien::live::JackServer;
  if (count != 2) return std::fprintf(stderr, "mien_knobs NAME\n"), 2;
  JackServer server;
  if (const auto why = server.missing()) return std::fprintf(stderr, "%s\n", why->c_str()), 3;
  if (!server.start()) return std::fprintf(stderr, "the JACK server did not start\n"), 3;
  JackController controller(words[1]);
  if (!controller.works()) return std::fprintf(stderr, "no client of the JACK server could be made\n"), 3;
  std::printf("server %s\n", std::getenv("JACK_DEFAULT_SERVER"));
  std::fflush(stdout);
  if (!JackServer::eventually([&] { return controller.connected(); }, 60'000)) return std::fprintf(stderr, "nobody listened\n"), 3;
  std::printf("connected\n");
  std::fflush(stdout);
  for (std::string line; std::getline(std::cin, line);) {
    std::istringstream bytes(line);
    JackController::Bytes message;
    for (int byte = 0; bytes >> std::hex >> byte;) message.push_back(static_cast<std::uint8_t>(byte));
    if (!message.empty() && !controller.send(message)) return std::fprintf(stderr, "too much at once\n"), 3;
  }
  return 0;
}
