#include "board/board.hpp"

namespace mien::board {
namespace {

using wire::Reason;
using wire::Type;

constexpr std::uint32_t kRefusalGap_us = 100'000;  // frames come fast; their refusals need not
constexpr std::uint32_t kAnnounceGap_us = 500'000;
constexpr std::uint32_t kSenseGap_us = 10'000;  // a bouncing switch is no news at every bounce
constexpr std::size_t kOwnRoom = 2 * wire::kMaxOnWire;  // kept free of other boards' packets

std::uint8_t code(Type type) noexcept { return static_cast<std::uint8_t>(type); }

}  // namespace

Board::Board(const About& about, const Port& port) noexcept
    : about_(about), port_(port), drive_({about.outputs, about.lines, about.outputs_per_timer}), storage_(port.shelf),
      address_(about.address) {
  repeater_.set_address(address_);
  drive_.on_latch(port.latched, port.context);
}

void Board::stand_alone(std::uint32_t now_us) noexcept {
  inspected_ = false;
  player_.load(storage_.stored(), address_, drive_, now_us);
  take_up();
}

void Board::take_up() noexcept {
  if (inspected_ || !player_.looked_over()) return;
  inspected_ = true;
  stored_ = player_.fault();
  if (stored_ != BakeFault::none) return;
  stored_number_ = player_.baked().number;
  address_ = player_.baked().address;
  repeater_.set_address(address_);
}

void Board::receive(std::uint8_t byte, std::uint32_t now_us) noexcept {
  if (port_.forward != nullptr) {
    std::uint8_t out[Repeater::kMost];
    const int count = repeater_.repeat(byte, out);
    if (count > 0) port_.forward(port_.context, out, static_cast<std::size_t>(count));
  }
  if (deframer_.push(byte)) handle(deframer_.packet(), now_us);
}

std::uint32_t Board::clock_us(std::uint32_t given_us) const noexcept {
  return port_.now != nullptr ? port_.now(port_.context) : given_us;
}

/// An acknowledgement's sent_us grows by the time that it spent here, from its first byte in to its first byte out, as in a transparent
/// clock of IEEE 1588: so a heartbeat's way back takes as long from the last board as from the first.
std::size_t Board::relay(wire::Bytes packet, std::uint32_t began_us, std::uint32_t now_us, std::uint8_t* out, std::size_t capacity) const noexcept {
  wire::Acknowledgement a;
  if (!decode(packet, a)) return seal(packet, out, capacity);
  const std::uint32_t before_us = clock_us(now_us);
  encode(a, out, capacity);
  const std::uint32_t after_us = clock_us(now_us);
  a.sent_us += after_us - began_us + (after_us - before_us);  // encoding it again takes as long as it just did
  return encode(a, out, capacity);
}

void Board::receive_below(std::uint8_t byte, std::uint32_t now_us) noexcept {
  if (!below_coming_) below_began_us_ = now_us;
  below_coming_ = byte != wire::kDelimiter;
  if (!below_.push(byte)) return;
  wire::Head head;
  const bool answer = read_head(below_.packet(), head) != wire::Reading::malformed && head.type >= 0x80;
  std::uint8_t out[wire::kMaxOnWire];
  const std::size_t size = answer && head.address != address_ ? relay(below_.packet(), below_began_us_, now_us, out, sizeof out) : 0;
  const bool fits = port_.room == nullptr || port_.room(port_.context) >= size + kOwnRoom;
  if (size == 0 || !fits) ++unrelayed_;
  else if (port_.write != nullptr) port_.write(port_.context, out, size);
}

void Board::sense(const Senses& senses, std::uint32_t now_us) noexcept {
  senses_ = senses;
  const bool news = senses.inputs != told_inputs_ || senses.faults != told_faults_;
  if (!news || now_us - sensed_us_ < kSenseGap_us || address_ == wire::kNoAddress) return;
  sensed_us_ = now_us;
  report(wire::kUnasked);
}

std::uint32_t Board::until_pulse_us(int output, std::uint32_t now_us) const noexcept {
  const wire::Timing& t = timing(output);
  return t.period_us - (shared_us(now_us) - t.phase_us) % t.period_us;
}

void Board::tick(std::uint32_t now_us) noexcept {
  player_.tick(now_us, senses_, drive_);
  take_up();
  drive_.tick(now_us, senses_);
  lead();
  if (address_ == wire::kNoAddress) announce(now_us);
  else if (drive_.state() != told_) report(wire::kUnasked);
}

void Board::lead() noexcept {
  wire::Lead step;
  const auto down = port_.tell_below != nullptr ? port_.tell_below : port_.forward;
  if (!player_.tell(step) || down == nullptr) return;
  std::uint8_t out[1 + wire::kMaxOnWire] = {wire::kDelimiter};  // a board repeats nothing before it heard one
  const std::size_t size = encode(step, out + 1, sizeof out - 1);
  down(port_.context, out, 1 + size);
}

std::uint16_t Board::pulse(int output) const noexcept {
  return output >= 0 && output < drive_.outputs() ? drive_.output(output).pulse() : std::uint16_t{0};
}

wire::Counters Board::counters() const noexcept {
  const wire::Deframer::Counters& d = deframer_.counters();
  wire::Counters c = drive_.counters();
  c.bad = d.bad_crc + d.malformed + d.overlong + short_packets_;
  c.refused = refused_;
  const wire::Deframer::Counters& b = below_.counters();
  c.unrelayed = unrelayed_ + b.bad_crc + b.malformed + b.overlong;
  return c;
}

bool Board::is_for_me(const wire::Head& head) const noexcept {
  return address_ != wire::kNoAddress && (head.address == address_ || head.address == wire::kEveryone);
}

void Board::release() noexcept {
  if (!released_) return;
  released_ = false;
  address_ = wire::kNoAddress;
  repeater_.set_address(address_);
}

void Board::take_address(const wire::Head& head, wire::Bytes packet) noexcept {
  wire::Hello hello;
  if (head.address < wire::kNoAddress && decode(packet, hello) && hello.assign) address_ = head.address;
  repeater_.set_address(address_);
}

void Board::handle(wire::Bytes packet, std::uint32_t now_us) noexcept {
  wire::Head head;
  const wire::Reading reading = read_head(packet, head);
  if (reading == wire::Reading::malformed) {
    ++short_packets_;
    return;
  }
  if (head.type >= 0x80) return;  // another board's answer
  if (head.type == code(Type::lead)) return follow(packet, now_us);
  player_.yield(drive_);
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

void Board::follow(wire::Bytes packet, std::uint32_t now_us) noexcept {
  wire::Lead step;
  if (decode(packet, step)) player_.follow(step, now_us, drive_);
}

void Board::obey(const wire::Head& head, wire::Bytes packet, std::uint32_t now_us) noexcept {
  wire::Heartbeat beat;
  const Verdict verdict = carry_out(head, packet, beat, now_us);
  const Type type = static_cast<Type>(head.type);
  if (!verdict.ok()) refuse(head, verdict);
  else if (type == Type::hello) describe(head.token), release();
  else if (type == Type::query) report(head.token);
  else if (type == Type::store_commit || type == Type::ask_playback) tell_playback(head.token);
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
    case Type::hello:
      if (!decode(packet, hello)) return malformed;
      if (hello.release && (armed(drive_.state()) || drive_.state() == wire::State::disarming)) return {Reason::armed};
      released_ = hello.release;
      return {};
    case Type::configure: return decode(packet, part) ? drive_.configure(part) : malformed;
    case Type::heartbeat: return decode(packet, beat) ? Verdict{} : malformed;
    case Type::clock:
      if (!decode(packet, clock)) return malformed;
      drive_.set_clock(clock);
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
    case Type::store_begin:
    case Type::store_chunk:
    case Type::store_commit:
    case Type::ask_playback: return store(head, packet);
    default: return {Reason::unknown_type, head.type};
  }
}

// Erasing and writing memory may stop a board's whole program for a while: never while outputs are driven.
Verdict Board::store(const wire::Head& head, wire::Bytes packet) noexcept {
  wire::AskPlayback ask;
  wire::StoreBegin begin;
  wire::StoreChunk chunk;
  wire::StoreCommit commit;
  if (decode(packet, ask)) return {};
  if (drive_.state() != wire::State::unconfigured && drive_.state() != wire::State::ready) return {Reason::armed};
  if (decode(packet, begin)) {
    const Verdict verdict = storage_.begin(begin.size);
    inspect();
    return verdict;
  }
  if (decode(packet, chunk)) return storage_.add(chunk);
  if (!decode(packet, commit)) return {Reason::malformed, head.type};
  inspect();
  return storage_.commit(commit.crc);
}

void Board::inspect() noexcept {
  Baked baked;
  inspected_ = true;
  stored_ = storage_.inspect(baked);
  stored_number_ = stored_ == BakeFault::none ? baked.number : 0;
}

void Board::tell_playback(std::uint8_t token) noexcept {
  if (!inspected_) inspect();  // a host came before all of it was looked over
  wire::Playback p;
  p.address = address_;
  p.token = token;
  p.fault = stored_;
  p.phase = player_.phase();
  p.track = static_cast<std::uint8_t>(player_.track());
  p.tick = player_.position();
  p.bake = stored_number_;
  p.capacity = storage_.capacity();
  send(p);
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

// A board that waits for its address says so: one that restarted in mid-show is back in the chain within moments.
void Board::announce(std::uint32_t now_us) noexcept {
  if (announced_ && now_us - announced_us_ < kAnnounceGap_us) return;
  announced_ = true;
  announced_us_ = now_us;
  describe(wire::kUnasked);
}

void Board::describe(std::uint8_t token) noexcept {
  wire::Description d;
  d.address = address_;
  d.token = token;
  d.identity = about_.identity;
  d.outputs = static_cast<std::uint8_t>(drive_.outputs());
  d.rails = about_.rails;
  d.lines = about_.lines;
  d.inputs = about_.inputs;
  d.outputs_per_timer = about_.outputs_per_timer;
  d.start = about_.start;
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
  a.received_us = now_us;
  a.sent_us = clock_us(now_us);
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
  r.rails = about_.rails;
  for (int i = 0; i < about_.rails && i < wire::kMaxRails; ++i) r.rail[i] = senses_.rail[i];
  r.inputs = told_inputs_ = senses_.inputs;
  told_faults_ = senses_.faults;
  r.faults = static_cast<std::uint8_t>(senses_.faults | (drive_.channels().hot() ? 0u + wire::kHot : 0u));
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
