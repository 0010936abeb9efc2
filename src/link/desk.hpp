// Simulated boards on a desk: the boards' own core (src/board), wired as a chain, and the computer's clock.
#pragma once
#include <array>
#include <cstdint>
#include <deque>
#include <memory>
#include <ostream>
#include <random>
#include <span>
#include <vector>

#include "board/board.hpp"

namespace mien::link {

struct DeskBoard {
  int address = 0;  ///< its own, or wire::kNoAddress: by its place in the chain
  int outputs = wire::kMaxOutputs;
  int lines = wire::kMaxLines;
  int rails = 0;
  std::uint64_t identity = 0;  ///< 0: by its place in the chain
  double fast_ppm = 0;         ///< how much too fast its clock runs
  int outputs_per_timer = 1;
  std::vector<std::uint8_t> baked{};  ///< a baked show that its memory holds when it is switched on for the first time
  const char* firmware = "simulated";  ///< what it says that it runs; has to outlive the desk
};

struct DeskTiming {
  std::int64_t byte_ns = 0;          ///< of a byte on each cable; 0: no time at all
  std::int64_t step_ns = 1'000'000;  ///< between two ticks of the boards
};

class Desk {
 public:
  /// Switched on at `now_ns` of the steady clock. What boards do is told to `log` where it isn't nullptr, a line a change, times
  /// in seconds since then: "12.340000 board 1 output 3 pulse_us 1523.4375" (0 is silence), "12.340000 board 1 line 2 level 255",
  /// "12.340000 board 1 frame seq 123 latched", "12.340000 board 1 state running", "12.340000 board 1 phase show" (of a baked show). Boards are numbered by place.
  Desk(const std::vector<DeskBoard>& boards, std::int64_t now_ns, std::ostream* log = nullptr, DeskTiming timing = {});

  /// Lets the boards live up to now, step by step: a simulation that was kept waiting catches up, so that no frame's latching goes
  /// unseen and none counts as late for a reason that hardware does not know.
  void advance(std::int64_t now_ns);
  /// Bytes from the host. Call advance() first.
  void receive(std::span<const std::uint8_t> bytes);
  /// What the boards answered and is not taken yet. A host that never reads loses what is beyond 64 KiB.
  std::vector<std::uint8_t>& answers() noexcept { return answers_; }

  /// Reads and writes what a non-blocking socket allows now; false once the other side closed it. `heard`, where given, gets
  /// the bytes as they came.
  bool exchange(int socket, std::ostream* heard = nullptr);

  /// How long the boards may be left alone: a millisecond while they drive anything or bytes are on their way.
  int pace_ms() const noexcept;

  /// Hands at the desk. The cable above a board is pulled or plugged in again; a board is switched off and on, or replaced.
  void plug(std::size_t place, bool in) { places_[place]->plugged = in; }
  void restart(std::size_t place) { replace(place, places_[place]->what, wire::Start::brown_out); }
  void replace(std::size_t place, const DeskBoard& with, wire::Start why = wire::Start::power);
  /// Its clock shows so much more from one moment to the next (modulo 2^32, as board clocks wrap), as nothing but a fault makes it.
  void turn_clock(std::size_t place, std::uint32_t by_us) { places_[place]->turned_us += by_us; }
  void sense(std::size_t place, const board::Senses& senses);
  /// So many bytes of rubbish that the board sends up, beside what it means to say.
  void flood(std::size_t place, std::mt19937& random, std::size_t bytes);

  const board::Board& board(std::size_t place) const { return *places_[place]->board; }
  std::uint32_t clock_us(std::size_t place) const noexcept { return clock_us(*places_[place]); }
  /// When the board's newest frame latched, in nanoseconds of the steady clock.
  std::int64_t latched_at_ns(std::size_t place) const { return places_[place]->latched_at_ns; }

 private:
  /// One direction of a cable: bytes and when they arrive.
  struct Wire {
    struct Byte {
      std::int64_t at_ns;
      std::uint8_t byte;
    };
    std::deque<Byte> bytes;
    std::int64_t free_ns = 0;
  };
  struct Place {
    Desk* desk;
    std::size_t index;
    DeskBoard what;
    std::vector<std::uint8_t> shelf;  ///< its flash
    std::unique_ptr<board::Board> board;
    Wire down, up;  ///< of the cable above this board
    bool plugged = true;
    std::uint32_t turned_us = 0;
    std::uint32_t latched = 0;
    std::int64_t latched_at_ns = 0;
    wire::State state = wire::State::unconfigured;
    wire::Phase phase = wire::Phase::off;
    std::array<std::uint16_t, wire::kMaxOutputs> pulse{};
    std::array<std::uint8_t, wire::kMaxLines> level{};
  };
  board::Port port_of(Place& place) const noexcept;
  std::uint32_t clock_us(const Place& place) const noexcept;
  void put(Place& place, Wire Place::*wire, const std::uint8_t* bytes, std::size_t size);
  void arrive(Place& place, Wire Place::*wire, std::uint8_t byte);
  bool deliver_next(std::int64_t until_ns);
  void observe(Place& place);
  void line(const Place& place, const char* what);

  std::vector<std::unique_ptr<Place>> places_;
  std::vector<std::uint8_t> answers_;
  std::ostream* log_;
  DeskTiming timing_;
  std::int64_t born_ns_, now_ns_;
};

}  // namespace mien::link
