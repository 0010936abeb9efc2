#include "board/board.hpp"

namespace mien::board {
namespace {

using wire::Reason;
using wire::Type;

constexpr std::uint32_t kRefusalGap_us = 100'000;  // frames come fast; their refusals need not

std::uint8_t code(Type type) noexcept { return static_cast<std::uint8_t>(type); }

}  // namespace

Board::Board(const About& about, const Port& port) noexcept
    : about_(about), port_(port), drive_(about.outputs), address_(about.address) {
  drive_.on_latch(port.latched, port.context);
}

void Board::receive(std::uint8_t byte, std::uint32_t now_us) noexcept {
  if (deframer_.push(byte)) handle(deframer_.packet(), now_us);
}

void Board::tick(std::uint32_t now_us) noexcept {
  drive_.tick(now_us);
  if (drive_.state() != told_) report(wire::kUnasked);
}

std::uint16_t Board::pulse(int output) const noexcept {
  return output >= 0 && output < drive_.outputs() ? drive_.output(output).pulse() : std::uint16_t{0};
}

wire::Counters Board::counters() const noexcept {
  const wire::Deframer::Counters& d = deframer_.counters();
  wire::Counters c = drive_.counters();
  c.bad = d.bad_crc + d.malformed + d.overlong + short_packets_;
  c.refused = refused_;
  return c;
}

bool Board::is_for_me(const wire::Head& head) const noexcept {
  return address_ != wire::kNoAddress && (head.address == address_ || head.address == wire::kEveryone);
}

void Board::take_address(const wire::Head& head, wire::Bytes packet) noexcept {
  wire::Hello hello;
  if (head.address < wire::kNoAddress && decode(packet, hello) && hello.assign) address_ = head.address;
}

void Board::handle(wire::Bytes packet, std::uint32_t now_us) noexcept {
  wire::Head head;
  const wire::Reading reading = read_head(packet, head);
  if (reading == wire::Reading::malformed) {
    ++short_packets_;
    return;
  }
  if (head.type >= 0x80) return;  // another board's answer
  if (address_ == wire::kNoAddress) take_address(head, packet);
  const bool frame = head.type == code(Type::frame);
  if (!is_for_me(head)) return;
  if (reading == wire::Reading::other_version) {
    const Verdict verdict{Reason::version, head.version};
    frame ? refuse_frame(verdict, now_us) : refuse(head, verdict);
  } else if (frame) {
    handle_frame(packet, now_us);
  } else {
    obey(head, packet, now_us);
  }
}

void Board::obey(const wire::Head& head, wire::Bytes packet, std::uint32_t now_us) noexcept {
  wire::Heartbeat beat;
  const Verdict verdict = carry_out(head, packet, beat, now_us);
  const Type type = static_cast<Type>(head.type);
  if (!verdict.ok()) refuse(head, verdict);
  else if (type == Type::hello) describe(head);
  else if (type == Type::query) report(head.token);
  else acknowledge(head, beat.host_us, now_us);
}

Verdict Board::carry_out(const wire::Head& head, wire::Bytes packet, wire::Heartbeat& beat,
                         std::uint32_t now_us) noexcept {
  const Verdict malformed{Reason::malformed, head.type};
  wire::Hello hello;
  wire::Configure part;
  wire::Order order;
  wire::Clock clock;
  switch (static_cast<Type>(head.type)) {
    case Type::hello: return decode(packet, hello) ? Verdict{} : malformed;
    case Type::configure: return decode(packet, part) ? drive_.configure(part) : malformed;
    case Type::heartbeat: return decode(packet, beat) ? Verdict{} : malformed;
    case Type::clock:
      if (!decode(packet, clock)) return malformed;
      drive_.set_clock(clock.offset_us);
      return {};
    case Type::arm:
    case Type::disarm:
    case Type::stop:
    case Type::query:
      if (!decode(packet, order)) return malformed;
      if (order.type == Type::arm) return drive_.arm(now_us);
      if (order.type == Type::disarm) drive_.disarm(now_us);
      if (order.type == Type::stop) drive_.stop();
      return {};
    default: return {Reason::unknown_type, head.type};
  }
}

void Board::handle_frame(wire::Bytes packet, std::uint32_t now_us) noexcept {
  wire::Frame frame;
  if (!decode(packet, frame)) {
    refuse_frame({Reason::malformed, code(Type::frame)}, now_us);
    return;
  }
  const wire::Block* mine = nullptr;
  for (int i = 0; i < frame.count; ++i)
    if (frame.blocks[i].address == address_) mine = &frame.blocks[i];
  const Verdict verdict = drive_.offer(frame.sequence, frame.latch_us, mine, now_us);
  if (!verdict.ok()) refuse_frame(verdict, now_us);
}

void Board::describe(const wire::Head& head) noexcept {
  wire::Description d;
  d.address = address_;
  d.token = head.token;
  d.identity = about_.identity;
  d.outputs = static_cast<std::uint8_t>(drive_.outputs());
  d.rails = about_.rails;
  d.state = told_ = drive_.state();
  d.configuration = drive_.configuration();
  for (int i = 0; i < wire::kMaxFirmwareText && about_.firmware[i] != 0; ++i) d.firmware[i] = about_.firmware[i];
  send(d);
}

void Board::acknowledge(const wire::Head& head, std::uint32_t host_us, std::uint32_t now_us) noexcept {
  wire::Acknowledgement a;
  a.address = address_;
  a.token = head.token;
  a.of = static_cast<Type>(head.type);
  a.state = told_ = drive_.state();
  a.sequence = drive_.sequence();
  a.host_us = host_us;
  a.received_us = a.sent_us = now_us;
  a.counters = counters();
  send(a);
}

void Board::report(std::uint8_t token) noexcept {
  wire::StateReport r;
  r.address = address_;
  r.token = token;
  r.state = told_ = drive_.state();
  r.sequence = drive_.sequence();
  r.outputs = static_cast<std::uint8_t>(drive_.outputs());
  for (int n = 0; n < drive_.outputs(); ++n) {
    const Output& output = drive_.output(n);
    if (output.known()) r.known = static_cast<std::uint16_t>(r.known | 1u << n);
    if (output.driven()) r.driven = static_cast<std::uint16_t>(r.driven | 1u << n);
    r.pulse[n] = output.position();
  }
  send(r);
}

void Board::refuse(const wire::Head& head, Verdict verdict) noexcept {
  ++refused_;
  wire::Refusal r;
  r.address = address_;
  r.token = head.token;
  r.of = head.type;
  r.reason = verdict.reason;
  r.detail = verdict.detail;
  send(r);
}

void Board::refuse_frame(Verdict verdict, std::uint32_t now_us) noexcept {
  if (frame_refused_ && now_us - frame_refused_us_ < kRefusalGap_us) {
    ++refused_;
    return;
  }
  frame_refused_ = true;
  frame_refused_us_ = now_us;
  wire::Head head;
  head.type = code(Type::frame);
  refuse(head, verdict);
}

template <class Message>
void Board::send(const Message& message) noexcept {
  std::uint8_t out[wire::kMaxOnWire];
  const std::size_t size = encode(message, out, sizeof out);
  if (size > 0 && port_.write != nullptr) port_.write(port_.context, out, size);
}

}  // namespace mien::board
