// The host's side of the link behind boards that say anything; and every decoder held to its encoder.
#include <cstring>
#include <type_traits>

#include "fuzz/script.hpp"
#include "link/conversation.hpp"
#include "link/desk.hpp"
#include "wire/baked.hpp"

namespace mien {
namespace {

using fuzz::demand;

/// What a decoder takes, its encoder says again, byte for byte the same packet.
template <class Message>
int holds(wire::Bytes packet) {
  Message message;
  if (!decode(packet, message)) return 0;
  std::uint8_t line[wire::kMaxOnWire];
  const std::size_t size = encode(message, line, sizeof line);
  demand(size > 0, "what decodes encodes");
  wire::Deframer deframer;
  bool whole = false;
  for (std::size_t n = 0; n < size; ++n) whole = deframer.push(line[n]);
  demand(whole, "what is encoded is a packet");
  // A refusal is read whatever version it is of: that is how boards say which one they speak.
  const std::size_t from = std::is_same_v<Message, wire::Refusal> ? 1 : 0;
  demand(deframer.packet().size == packet.size && std::memcmp(deframer.packet().data + from, packet.data + from, packet.size - from) == 0, "it is the same packet");
  return 1;
}

int decoders(wire::Bytes packet) {
  using namespace wire;
  return holds<Hello>(packet) + holds<Configure>(packet) + holds<Order>(packet) + holds<Heartbeat>(packet) + holds<Clock>(packet) + holds<Frame>(packet) +
         holds<Description>(packet) + holds<Acknowledgement>(packet) + holds<StateReport>(packet) + holds<Refusal>(packet) + holds<StoreBegin>(packet) +
         holds<StoreChunk>(packet) + holds<StoreCommit>(packet) + holds<AskPlayback>(packet) + holds<Lead>(packet) + holds<Playback>(packet);
}

show::Rig head_of(int boards) {
  show::Rig rig;
  for (int n = 0; n < boards; ++n) {
    show::Board board;
    board.name = "board " + std::to_string(n), board.address = n, board.outputs = 16;
    if (n == 1) board.identity = "0123456789ABCDEF";
    rig.boards.push_back(board);
    show::Actuator servo;
    servo.name = "servo " + std::to_string(n), servo.board = board.name, servo.output = n;
    rig.actuators.push_back(servo);
  }
  return rig;
}

struct World {
  show::Rig rig = head_of(3);
  link::Conversation host{rig};
  std::int64_t now_ns = 1'000'000'000;
  std::uint8_t address = 0, token = 0;  // of what the host said last
  wire::Deframer said;
  std::uint32_t sequence = 0;
  std::unique_ptr<link::Desk> desk;  // boards that mean it, once a step asks for them
  std::vector<std::uint8_t> to_desk;
  int left_ms = 1500;                // that those may live in one run

  World() { host.begin(now_ns); }

  void flush() {
    while (!host.outbox().empty()) {
      const auto front = host.outbox().front();
      for (const std::uint8_t byte : front)
        if (said.push(byte)) look();
      if (desk) to_desk.insert(to_desk.end(), front.begin(), front.end());
      host.outbox().wrote(front.size());
    }
  }

  void look() {
    wire::Head head;
    demand(wire::read_head(said.packet(), head) == wire::Reading::ok, "the host speaks its own version");
    demand(decoders(said.packet()) == 1, "the host says what exactly one decoder takes");
    demand(head.type != static_cast<std::uint8_t>(wire::Type::frame) || host.goal() == link::Goal::arm, "frames go out for the armed alone");
    if (head.type != static_cast<std::uint8_t>(wire::Type::frame)) address = head.address, token = head.token;
  }

  void step() {
    host.step(now_ns);
    flush();
    host.next_due_ns(now_ns);
    if (!host.armed()) return;
    link::Frame frame;
    frame.sequence = ++sequence, frame.latch_ns = now_ns, frame.count = 3;
    frame.joins = 100;
    frame.pulse.fill(24000);
    host.send(frame);
    flush();
  }

  /// As a board would that means it: to the request that the host made last.
  void answer(std::span<const std::uint8_t> bytes) {
    std::vector<std::uint8_t> packet(bytes.begin(), bytes.end());
    if (packet.size() >= 4) packet[0] = wire::kVersion, packet[2] = address, packet[3] = token;
    host.receive(fuzz::sealed(packet), now_ns);
  }

  /// Real boards behind the line for so many milliseconds, so that the host gets as far as arming; with one byte of what they say changed,
  /// where `change` is not 0.
  void live(int ms, std::uint8_t change, std::size_t at) {
    if (!desk) {
      std::vector<link::DeskBoard> boards(3, link::DeskBoard{.address = wire::kNoAddress});
      boards[1].identity = 0x0123456789ABCDEF;  // as the rig has it
      desk = std::make_unique<link::Desk>(boards, now_ns);
    }
    ms = std::min(ms, left_ms);
    left_ms -= ms;
    for (; ms > 0; --ms) {
      now_ns += 1'000'000;
      step();
      desk->advance(now_ns);
      desk->receive(std::exchange(to_desk, {}));
      auto answers = std::exchange(desk->answers(), {});
      if (change != 0 && at < answers.size()) answers[at] ^= std::exchange(change, std::uint8_t{0});
      host.receive(answers, now_ns);
    }
  }

  void tell() {
    link::Status status;
    host.describe(status, now_ns);
    host.trouble(now_ns);
    demand(status.boards.size() == rig.boards.size(), "every board is told of");
    for (const auto pulse : host.pulses()) demand(pulse == 0 || (pulse >= wire::kPulseFloor && pulse <= wire::kPulseCeiling), "pulses are ones that servos take");
  }
};

}  // namespace
}  // namespace mien

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace mien;
  World world;
  fuzz::Script script(data, size);
  for (fuzz::Step step; script.next(step);) {
    decoders({step.bytes.data(), step.bytes.size()});
    switch (step.code & 7) {
      case 0: world.host.receive(step.bytes, world.now_ns); break;
      case 1: world.host.receive(fuzz::sealed(step.bytes), world.now_ns); break;
      case 2:
      case 3: world.answer(step.bytes); break;
      case 4: world.host.set_goal(static_cast<link::Goal>(step.byte(0) % 3), world.now_ns); break;
      case 5: world.now_ns += step.dword(0); break;
      case 6:
        if (step.byte(0) % 3 == 0) world.host.adopt();
        else if (step.byte(0) % 3 == 1) world.host.begin(world.now_ns);
        else world.host.set_rig(world.rig = head_of(1 + step.byte(1) % 4), world.now_ns);
        break;
      case 7:
        if (step.byte(0) == 0) world.host.take_rejoined(), world.host.joined(step.byte(1));
        else world.live(step.byte(0), step.byte(1), step.byte(2));
        break;
    }
    world.now_ns += (step.code >> 3) * 1'000'000;
    world.step();
    world.tell();
  }
  return 0;
}
