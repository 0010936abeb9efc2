// A controller for the journey in the real window: a client of the JACK server with one MIDI output. It says "heard" once somebody listens, then plays what it is told on
// standard input, a line each: "wait SECONDS", or bytes in hexadecimal as in "B0 07 40". It ends with its input.
//   jack_hands NAME
//   jack_hands --ask      ends well where a server answers
#include <cstdio>
#include <cstdlib>
#include <iostream>
#include <sstream>

#include "live/jack_server.hpp"

int main(int count, char** words) {
  using namespace mien::live;
  if (count == 2 && std::string(words[1]) == "--ask") return JackController("asks").works() ? 0 : 1;
  if (count != 2) return std::fprintf(stderr, "jack_hands NAME\n"), 2;
  JackController hands(words[1]);
  if (!hands.works()) return std::fprintf(stderr, "jack_hands: no JACK server answers\n"), 1;
  if (!JackServer::eventually([&] { return hands.connected(); })) return std::fprintf(stderr, "jack_hands: nobody listens\n"), 1;
  std::puts("heard");
  std::fflush(stdout);
  for (std::string line; std::getline(std::cin, line);) {
    std::istringstream parts(line);
    std::string part;
    if (line.starts_with("wait ")) {
      std::this_thread::sleep_for(std::chrono::duration<double>(std::atof(line.c_str() + 5)));
      continue;
    }
    JackController::Bytes bytes;
    while (parts >> part) bytes.push_back(static_cast<std::uint8_t>(std::strtoul(part.c_str(), nullptr, 16)));
    if (bytes.empty() || bytes.size() > 16) continue;
    while (!hands.send(bytes)) std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  std::this_thread::sleep_for(std::chrono::milliseconds(100));  // so that the last has left
}
