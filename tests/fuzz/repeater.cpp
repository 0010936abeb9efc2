// What a board passes down the chain: whatever comes, in whatever order addresses are set.
#include "board/repeater.hpp"
#include "fuzz/script.hpp"
#include "wire/codec.hpp"

namespace mien {
namespace {

using fuzz::demand;

/// Hears both sides of the repeater. Below, never a packet that was not one above; and of those above, all but a hello that assigns the
/// board's own address once more, as long as the address stays.
struct World {
  board::Repeater repeater;
  std::uint8_t address = wire::kNoAddress;
  wire::Deframer above, below;
  bool steady = true;  // the address was there before the packet began, so that it is passed on

  void byte(std::uint8_t byte) {
    std::uint8_t out[board::Repeater::kMost + 1];
    const int count = repeater.repeat(byte, out);
    demand(count >= 0 && count <= board::Repeater::kMost, "no more bytes than it says");
    demand(count == 0 || out[count - 1] == byte, "what is passed on is what came");
    demand(byte == wire::kDelimiter || count <= 1, "only the end of a packet may be spoilt");
    bool passed = false;
    for (int n = 0; n < count; ++n) passed = below.push(out[n]) || passed;
    const bool came = above.push(byte);
    demand(!passed || came, "no packet below that was none above");
    if (!steady || address == wire::kNoAddress) {
      demand(address != wire::kNoAddress || !steady || count == 0, "a board without an address repeats nothing");
    } else if (came) {
      demand(passed != takes_own_address_again(), "a packet is passed on whole, but for the address that is taken");
    }
    if (byte == wire::kDelimiter) steady = true;
  }

  /// By its first five bytes, as the repeater knows no more when the packet ends.
  bool takes_own_address_again() const {
    const auto packet = above.packet();
    return packet.size >= 5 && packet.data[0] == wire::kVersion && packet.data[1] == static_cast<std::uint8_t>(wire::Type::hello) &&
           packet.data[2] == address && packet.data[4] == 1;
  }

  void set(std::uint8_t to) {
    address = to;
    repeater.set_address(to);
    steady = false;
  }
};

}  // namespace
}  // namespace mien

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  World world;
  fuzz::Script script(data, size);
  for (fuzz::Step step; script.next(step);) {
    switch (step.code & 3) {
      case 0:
        for (const auto byte : step.bytes) world.byte(byte);
        break;
      case 1:
      case 2:
        for (const auto byte : fuzz::sealed(step.bytes)) world.byte(byte);
        break;
      case 3: world.set(step.byte(0)); break;
    }
  }
  return 0;
}
