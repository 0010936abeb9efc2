// mien_knobs NAME: a MIDI controller of that name for scripts of the window, on a JACK server of its own that makes no sound. Says "server SERVER" once
// that is there, for JACK_DEFAULT_SERVER of whoever is to hear it, and "connected" once somebody does; then each line of standard input is bytes to send,
// in hexadecimal, or "wait SECONDS". Beside it is a machine "Tape Machine" that hears time code: "unplug" and "plug" take it off and bring it back, "heard" says how many quarter and
// full frames came since. Ends with its input.
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <iostream>
#include <memory>
#include <sstream>
#include <thread>

#include "live/jack_listener.hpp"
#include "live/jack_server.hpp"
#include "support/eventually.hpp"

int main(int count, char** words) {
  using mien::live::JackController;
  using mien::live::JackServer;
  if (count != 2) return std::fprintf(stderr, "mien_knobs NAME\n"), 2;
  JackServer server;
  if (const auto why = server.missing()) return std::fprintf(stderr, "%s\n", why->c_str()), 3;
  if (!server.start()) return std::fprintf(stderr, "the JACK server did not start\n"), 3;
  JackController controller(words[1]);
  auto tape = std::make_unique<mien::live::JackListener>("Tape Machine");
  if (!controller.works() || !tape->works()) return std::fprintf(stderr, "no client of the JACK server could be made\n"), 3;
  std::printf("server %s\n", std::getenv("JACK_DEFAULT_SERVER"));
  std::fflush(stdout);
  if (!mien::support::eventually(std::chrono::milliseconds(60'000), [&] { return controller.connected(); })) return std::fprintf(stderr, "nobody listened\n"), 3;
  std::printf("connected\n");
  std::fflush(stdout);
  for (std::string line; std::getline(std::cin, line);) {
    std::istringstream rest(line);
    if (line.starts_with("wait ")) {
      std::this_thread::sleep_for(std::chrono::duration<double>(std::atof(line.c_str() + 5)));
      continue;
    }
    if (line == "unplug") tape.reset();
    if (line == "plug") tape = std::make_unique<mien::live::JackListener>("Tape Machine");
    if (line == "heard") std::printf("heard %d %d\n", tape ? tape->quarters.load() : 0, tape ? tape->fulls.load() : 0), std::fflush(stdout);
    if (line == "unplug" || line == "plug" || line == "heard") continue;
    JackController::Bytes message;
    for (int byte = 0; rest >> std::hex >> byte;) message.push_back(static_cast<std::uint8_t>(byte));
    if (message.size() > 3) return std::fprintf(stderr, "'%s' is more than one message\n", line.c_str()), 2;
    // The ring to the server's thread holds so many; what it can't take yet it takes after some of its periods.
    while (!message.empty() && !controller.send(message)) std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  std::this_thread::sleep_for(std::chrono::milliseconds(100));  // so that the last has left
  return 0;
}
