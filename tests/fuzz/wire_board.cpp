// A board's core behind a host that says anything, with a neighbour below that does the same.
#include <cstring>

#include "board/board.hpp"
#include "fuzz/script.hpp"

namespace mien {
namespace {

using fuzz::demand;

constexpr std::uint32_t kShelfSize = 4096;

/// Whatever a board says must be a packet, and whatever it drives must be a pulse that a servo takes.
struct World {
  wire::Deframer heard;
  std::uint32_t now_us = 0xFFFF0000;  // across the wrap of the clock
  std::vector<std::uint8_t> shelf = std::vector<std::uint8_t>(kShelfSize, 0xFF);
  board::Board board;

  World() : board(about(), port()) {}

  static board::About about() {
    board::About about;
    about.identity = 0x0123456789ABCDEF, about.firmware = "fuzz", about.rails = 2, about.lines = 12, about.inputs = 8;
    return about;
  }

  board::Port port() {
    board::Port port;
    port.context = this;
    port.write = [](void* context, const std::uint8_t* bytes, std::size_t size) { static_cast<World*>(context)->take(bytes, size); };
    port.forward = [](void*, const std::uint8_t*, std::size_t) {};
    port.shelf = {this, shelf.data(), kShelfSize, erase, write};
    return port;
  }

  void take(const std::uint8_t* bytes, std::size_t size) {
    int packets = 0;
    for (std::size_t n = 0; n < size; ++n) packets += heard.push(bytes[n]) ? 1 : 0;
    demand(packets == 1 && bytes[size - 1] == wire::kDelimiter, "a write is one whole packet");
  }

  static bool erase(void* context, std::uint32_t size) {
    demand(size <= kShelfSize, "no more is erased than there is");
    std::fill_n(static_cast<World*>(context)->shelf.begin(), size, std::uint8_t{0xFF});
    return true;
  }
  static bool write(void* context, std::uint32_t offset, const std::uint8_t* bytes, std::uint32_t count) {
    demand(offset % wire::kMaxChunk == 0 && count <= wire::kMaxChunk && offset + count <= kShelfSize, "a chunk lies on the shelf");
    std::memcpy(static_cast<World*>(context)->shelf.data() + offset, bytes, count);
    return true;
  }

  void hear(std::span<const std::uint8_t> bytes) {
    for (const std::uint8_t byte : bytes) board.receive(byte, now_us);
  }
  void hear_below(std::span<const std::uint8_t> bytes) {
    for (const std::uint8_t byte : bytes) board.receive_below(byte, now_us);
  }

  void look() {
    const bool may_drive = board.state() != wire::State::unconfigured && board.state() != wire::State::ready;
    for (int n = -1; n <= wire::kMaxOutputs; ++n) {
      const auto pulse = board.pulse(n);
      demand(pulse == 0 || (pulse >= wire::kPulseFloor && pulse <= wire::kPulseCeiling), "a pulse is one that servos take");
      demand(pulse == 0 || may_drive, "a board that is not armed is silent");
    }
    for (int n = 0; n < wire::kMaxOutputs; ++n) {
      const auto wait_us = board.until_pulse_us(n, now_us);
      demand(wait_us >= 1 && wait_us <= board.timing(n).period_us, "a pulse starts within its period");
    }
  }

  void live(int ms) {
    for (int n = 0; n < ms; ++n) {
      now_us += 1000;
      board.tick(now_us);
      look();
    }
  }

  void sense(const fuzz::Step& step) {
    board::Senses senses;
    senses.inputs = step.word(0), senses.faults = step.byte(2);
    for (std::size_t rail = 0; rail < wire::kMaxRails; ++rail) senses.rail[rail] = {step.word(3 + 4 * rail), step.word(5 + 4 * rail)};
    board.sense(senses, now_us);
  }
};

}  // namespace
}  // namespace mien

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  World world;
  fuzz::Script script(data, size);
  int lived_ms = 0;
  for (fuzz::Step step; script.next(step);) {
    switch (step.code & 7) {
      case 0: world.hear(step.bytes); break;
      case 1: world.hear(fuzz::sealed(step.bytes)); break;
      case 2: world.hear_below(step.bytes); break;
      case 3: world.hear_below(fuzz::sealed(step.bytes)); break;
      case 4: world.sense(step); break;
      case 5: world.now_us += step.dword(0) & 0x7FFFFFFF; break;  // a board that was held up
      case 6: world.board.stand_alone(world.now_us); break;
      case 7: break;
    }
    const int ms = std::min(step.code >> 3, 2000 - lived_ms);
    lived_ms += ms;
    world.live(ms);
  }
  return 0;
}
