// Simulated boards on a desk: the boards' own core (src/board), one pipe for all, and the computer's clock.
#pragma once
#include <array>
#include <cstdint>
#include <memory>
#include <ostream>
#include <span>
#include <vector>

#include "board/board.hpp"

namespace mien::link {

struct DeskBoard {
  int address = 0;
  int outputs = wire::kMaxOutputs;
};

class Desk {
 public:
  /// Switched on at `now_ns` of the steady clock. What boards do is told to `log` where it isn't nullptr, a line a change, times
  /// in seconds since then: "12.340000 board 1 output 3 pulse_us 1523.4375" (0 is silence), "12.340000 board 1 frame seq 123
  /// latched", "12.340000 board 1 state running".
  Desk(const std::vector<DeskBoard>& boards, std::int64_t now_ns, std::ostream* log = nullptr);

  /// Lets the boards live up to now, in steps of a millisecond: a simulation that was kept waiting catches up step by step, so
  /// that no frame's latching goes unseen and none counts as late for a reason that hardware does not know.
  void advance(std::int64_t now_ns);
  /// Bytes from the host. Call advance() first.
  void receive(std::span<const std::uint8_t> bytes);
  /// What the boards answered and is not taken yet. A host that never reads loses what is beyond 64 KiB.
  std::vector<std::uint8_t>& answers() noexcept { return answers_; }

  /// Reads and writes what a non-blocking socket allows now; false once the other side closed it. `heard`, where given, gets
  /// the bytes as they came.
  bool exchange(int socket, std::ostream* heard = nullptr);

  /// How long the boards may be left alone: a millisecond while they drive anything.
  int pace_ms() const noexcept;
  const board::Board& board(std::size_t index) const { return places_[index]->board; }

 private:
  struct Place {
    Place(const DeskBoard& what, const board::Port& port);
    board::Board board;
    std::uint32_t latched = 0;
    wire::State state = wire::State::unconfigured;
    std::array<std::uint16_t, wire::kMaxOutputs> pulse{};
  };
  std::uint32_t clock_us(const Place& place) const noexcept;
  void observe(Place& place);
  void line(const Place& place, const char* what);

  std::vector<std::unique_ptr<Place>> places_;
  std::vector<std::uint8_t> answers_;
  std::ostream* log_;
  std::int64_t born_ns_, now_ns_;
};

}  // namespace mien::link
