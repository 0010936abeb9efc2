// Emulated boards that run the firmware's image, in lock step with a test: time passes only in run(). The program behind it is
// bench.mjs.
#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include "wire/codec.hpp"

namespace mien::firmware {

constexpr double kLead_us = 300;     ///< src/board/README.md: what latches later than this before a pulse shows one pulse later
constexpr double kTick_us = 10'000;  ///< between frames

/// One pulse as it was on a pin.
struct Pulse {
  int board = 0, output = 0;
  double rise_us = 0;   ///< since the desk began
  double width_us = 0;  ///< by the board's own crystal
};

struct Level {
  int board = 0, gpio = 0;
  bool high = false;
  double at_us = 0;
};

struct Heard {
  double at_us = 0;  ///< when the last bit of it arrived
  int board = 0;     ///< on whose cable
  std::vector<std::uint8_t> bytes;   ///< as they came, delimiter included
  std::vector<std::uint8_t> packet;  ///< un-stuffed; empty where it was none
};

struct Reset {
  int board = 0;
  double at_us = 0;
};

/// What happened in a stretch of time.
struct Events {
  std::vector<Pulse> pulses;
  std::vector<Level> levels;
  std::vector<Heard> heard;
  std::vector<Reset> resets;

  std::vector<Pulse> of(int board, int output) const;
};

/// Why it can't be run here, for a person; empty where it can.
std::string missing();

class Bench {
 public:
  /// Further words for bench.mjs, such as "--boards", "3".
  explicit Bench(std::vector<std::string> words = {});
  ~Bench();
  Bench(const Bench&) = delete;
  Bench& operator=(const Bench&) = delete;

  double now_us() const noexcept { return now_us_; }
  /// Ends the program where the firmware faults (it throws std::runtime_error).
  Events run(double us);
  void send_bytes(const std::vector<std::uint8_t>& bytes);
  void put_into_flash(int board, std::uint32_t offset, const std::vector<std::uint8_t>& bytes);
  /// Commands of bench.mjs without an answer, such as "cut 0".
  void tell(const std::string& line);
  std::string ask_line(const std::string& command);  ///< those with an answer of one line
  struct Stats {
    int overruns_up = 0, overruns_down = 0, overwritten = 0, resets = 0;
  };
  Stats stats(int board);
  struct Hops {
    double median_us = 0, most_us = 0;
  };
  Hops hops();  ///< how long packets took from board to board, downward

  template <class Message>
  void send(const Message& message) {
    std::uint8_t out[wire::kMaxOnWire];
    const std::size_t size = encode(message, out, sizeof out);
    send_bytes({out, out + size});
  }
  /// Sends, waits for an answer of this kind, and returns it; throws where none comes.
  template <class Answer, class Message>
  Answer ask(const Message& message, int most_ms = 20) {
    send(message);
    for (int ms = 0; ms < most_ms; ++ms) {
      for (const Heard& heard : run(1000).heard) {
        Answer answer;
        if (decode(wire::Bytes{heard.packet.data(), heard.packet.size()}, answer) && answer.token == message.token) return answer;
      }
    }
    throw_no_answer();
  }

 private:
  [[noreturn]] static void throw_no_answer();
  std::string line();
  int to_ = -1, from_ = -1, process_ = -1;
  std::string buffer_;
  double now_us_ = 0;
};

}  // namespace mien::firmware
