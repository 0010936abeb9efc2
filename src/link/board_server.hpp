// Simulated boards as a process of their own, reached over TCP: what `mien board --listen HOST:PORT` runs.
#pragma once
#include <cstdint>
#include <functional>
#include <optional>
#include <ostream>
#include <string>
#include <vector>

#include "link/wake.hpp"
#include "show/finding.hpp"

namespace mien::link {

struct BoardServer {
  std::string listen;              ///< "HOST:PORT"; port 0 takes a free one
  int boards = 3;                  ///< 1..kMaxBoards, addresses 0 and up, 16 outputs each
  std::vector<std::vector<std::uint8_t>> baked{};  ///< what their memories hold, by place; boards beyond keep nothing
  /// Where lines come from that say what hands at the boards do: "input BOARD LINE high" or "low", BOARD by its place from 0. A file descriptor;
  /// -1: from nowhere. What is no such line is told to the log.
  int hands = -1;
  std::ostream* log = nullptr;     ///< gets a line for every change, as Desk says, and for every client that comes and goes
  std::string capture_file;        ///< every byte from clients is appended here, as it came; empty: nowhere
  std::function<void(std::uint16_t port)> listening;  ///< called once, with the real port, when clients may come

  /// Serves one client at a time until `stop` rings (which is safe in a signal handler); a second one waits. The boards live on
  /// between clients: their watchdogs run, and who comes back finds them as they then are. Findings: a bad or unknown address, a
  /// port that is taken, a capture file that can't be written; nothing after an ordered stop.
  std::optional<show::Finding> run(const Wake& stop) const;
};

}  // namespace mien::link
