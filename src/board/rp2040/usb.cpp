#include "board/rp2040/usb.hpp"

#include "board/rp2040/chip.hpp"
#include "board/rp2040/registers.hpp"

namespace mien::board::rp2040 {
namespace {

constexpr std::uint32_t kHearBuffer = usb::kBuffers, kTellBuffer = usb::kBuffers + 64, kNoticeBuffer = usb::kBuffers + 128;
constexpr std::uint32_t kControlIn = 1u << 0, kControlOut = 1u << 1, kDataIn = 1u << (2 * usb::kData), kDataOut = 2u << (2 * usb::kData);
constexpr std::uint8_t kTypeMask = 0x60, kStandard = 0x00, kClass = 0x20;  // 9.3.1

enum Request : std::uint8_t {  // 9.4, and the PSTN subclass's 6.3
  kGetStatus = 0, kClearFeature = 1, kSetFeature = 3, kSetAddress = 5, kGetDescriptor = 6, kGetConfiguration = 8, kSetConfiguration = 9,
  kGetInterface = 10, kSetInterface = 11, kSetLineCoding = 0x20, kGetLineCoding = 0x21, kSetLineState = 0x22,
};

/// The shared memory is reached word by word.
void copy_to(std::uint32_t offset, const std::uint8_t* bytes, std::size_t size) noexcept {
  for (std::size_t i = 0; i < size; i += 4) {
    std::uint32_t word = 0;
    for (std::size_t k = 0; k < 4 && i + k < size; ++k) word |= static_cast<std::uint32_t>(bytes[i + k]) << (8 * k);
    at(usb::kMemory + offset + static_cast<std::uint32_t>(i)) = word;
  }
}

std::uint8_t byte_at(std::uint32_t offset) noexcept {
  return static_cast<std::uint8_t>(at(usb::kMemory + (offset & ~3u)) >> (8 * (offset & 3u)));
}

/// Hands a buffer to the controller, which must see everything else before "available" (4.1.2.5.1: a cycle of its 48 MHz).
void hand_over(int endpoint, bool out, std::uint32_t what, bool data1) noexcept {
  const std::uint32_t control = usb::buffer_control(endpoint, out);
  what |= (data1 ? usb::kData1 : 0u) | (out ? 0u : usb::kFull);
  at(control) = what;
  asm volatile("nop\nnop\nnop\nnop\nnop\nnop\nnop\nnop\nnop\nnop\nnop\nnop");
  at(control) = what | usb::kAvailable;
}

}  // namespace

void Usb::start(std::uint64_t identity, void (*listener)(std::uint8_t byte), std::size_t (*takes)()) noexcept {
  identity_ = identity, listener_ = listener, takes_ = takes;
  constexpr std::uint8_t kCoding[kCodingSize] = {0x40, 0x42, 0x0F, 0, 0, 0, 8};  // 1,000,000 baud, 8N1
  for (std::size_t i = 0; i < kCodingSize; ++i) coding_[i] = kCoding[i];
  for (std::uint32_t i = 0; i < usb::kMemorySize; i += 4) at(usb::kMemory + i) = 0;
  at(usb::kMuxing) = usb::kToPhy | usb::kSoftConnect;
  at(usb::kPower) = usb::kVbusThere | usb::kVbusOverride;  // the module doesn't lead it to a pin that could tell
  at(usb::kMain) = usb::kControllerOn;
  at(usb::kSieControl) = usb::kEndpoint0Each;
  at(usb::kEnabled) = usb::kSetupNews | usb::kResetNews | usb::kBufferNews | usb::kSuspendNews | usb::kResumeNews;
  enable_interrupt(nvic::kUsb, 1);
  set_bits(usb::kSieControl, usb::kPullUp);  // here we are
}

void Usb::on_interrupt() noexcept {
  const std::uint32_t news = at(usb::kMasked);
  if ((news & usb::kSuspendNews) != 0) {  // asleep, or unplugged while the board has another supply
    suspended_ = (at(usb::kSieStatus) & usb::kSuspended) != 0;
    at(usb::kSieStatus) = usb::kSuspended;
  }
  if ((news & usb::kResumeNews) != 0) {
    suspended_ = false;
    at(usb::kSieStatus) = usb::kResumed;
  }
  if ((news & usb::kResetNews) != 0) on_reset();
  if ((news & usb::kSetupNews) != 0) on_setup();
  if ((news & usb::kBufferNews) != 0) {
    const std::uint32_t which = at(usb::kBufferStatus);
    at(usb::kBufferStatus) = which;
    on_buffers(which);
  }
}

void Usb::on_reset() noexcept {
  configure(false);
  suspended_ = false;
  address_ = 0;
  at(usb::kAddress) = 0;
  at(usb::kSieStatus) = usb::kBusReset;
}

void Usb::on_setup() noexcept {
  at(usb::kSieStatus) = usb::kSetupCame;
  const std::uint32_t low = at(usb::kSetup), high = at(usb::kSetup + 4);
  const Setup setup{static_cast<std::uint8_t>(low), static_cast<std::uint8_t>(low >> 8), static_cast<std::uint16_t>(low >> 16),
                    static_cast<std::uint16_t>(high), static_cast<std::uint16_t>(high >> 16)};
  answering_ = replying_ = takes_coding_ = false;
  data1_control_ = true;  // what follows a setup packet begins with it (8.5.3)
  const bool known = (setup.kind & kTypeMask) == kStandard ? obey(setup) : (setup.kind & kTypeMask) == kClass && obey_class(setup);
  if (known) return;
  at(usb::kStallArm) = 3;  // both directions of endpoint 0, until the next setup packet
  at(usb::buffer_control(0, false)) = usb::kStall;
  at(usb::buffer_control(0, true)) = usb::kStall;
}

bool Usb::obey(const Setup& setup) noexcept {
  static const std::uint8_t kNothing[2] = {}, kOne[1] = {1};
  switch (setup.request) {
    case kGetDescriptor: {
      const usb::Text text = usb::descriptor(setup.value, identity_);
      if (text.size > 0) reply(text.bytes, text.size, setup.length);
      return text.size > 0;
    }
    case kGetStatus: return reply(kNothing, 2, setup.length), true;
    case kGetConfiguration: return reply(configured_ ? kOne : kNothing, 1, setup.length), true;
    case kGetInterface: return reply(kNothing, 1, setup.length), true;
    case kSetAddress:
      address_ = static_cast<std::uint8_t>(setup.value & 0x7F);
      return acknowledge(), true;
    case kSetConfiguration:
      if (setup.value > 1) return false;
      configure(setup.value == 1);
      return acknowledge(), true;
    case kSetInterface:
      if (setup.value != 0) return false;
      if (configured_) begin_data();
      return acknowledge(), true;
    case kClearFeature:  // a halt's end begins the numbers of packets anew, too (9.4.5)
      if (configured_ && (setup.index & 0x0F) == usb::kData) begin_data();
      return acknowledge(), true;
    case kSetFeature: return acknowledge(), true;
    default: return false;
  }
}

bool Usb::obey_class(const Setup& setup) noexcept {
  switch (setup.request) {
    case kSetLineCoding:
      if (setup.length != kCodingSize) return false;
      takes_coding_ = true;
      return control_is_out(), true;
    case kGetLineCoding: return reply(coding_, kCodingSize, setup.length), true;
    case kSetLineState:  // bit 0: a terminal is there
      set_terminal((setup.value & 1) != 0);
      return acknowledge(), true;
    default: return false;
  }
}

/// The program that opens the port finds no answers to what another one asked.
void Usb::set_terminal(bool open) noexcept {
  if (open && !terminal_) send_.forget();
  terminal_ = open;
}

void Usb::configure(bool on) noexcept {
  configured_ = on;
  terminal_ = false;
  if (!on) return;
  at(usb::endpoint_control(usb::kData, true)) = usb::kEndpointOn | usb::kEachBuffer | usb::kBulk | kHearBuffer;
  at(usb::endpoint_control(usb::kData, false)) = usb::kEndpointOn | usb::kEachBuffer | usb::kBulk | kTellBuffer;
  at(usb::endpoint_control(usb::kNotice, false)) = usb::kEndpointOn | usb::kEachBuffer | usb::kInterrupt | kNoticeBuffer;
  begin_data();
}

void Usb::begin_data() noexcept {
  data1_in_ = data1_out_ = false;
  sending_ = full_ = false;
  listen();
  pump();
}

// ---- Endpoint 0

void Usb::reply(const std::uint8_t* bytes, std::size_t size, std::uint16_t asked) noexcept {
  reply_ = bytes;
  left_ = size < asked ? size : asked;
  ends_short_ = size < asked;  // then the last packet is shorter than packets get, if need be by all of it
  answering_ = replying_ = true;
  reply_piece();
}

void Usb::reply_piece() noexcept {
  const std::size_t count = left_ < usb::kPacket ? left_ : usb::kPacket;
  copy_to(usb::kEndpoint0 - usb::kMemory, reply_, count);
  reply_ += count;
  left_ -= count;
  replying_ = left_ > 0 || (count == usb::kPacket && ends_short_);
  hand_over(0, false, static_cast<std::uint32_t>(count), data1_control_);
  data1_control_ = !data1_control_;
}

/// The status stage of a transfer without data, or of one to the board (8.5.3): an empty packet.
void Usb::acknowledge() noexcept { hand_over(0, false, 0, true); }

void Usb::control_is_in() noexcept {
  if (replying_) return reply_piece();
  if (address_ != 0) at(usb::kAddress) = address_;
  address_ = 0;
  data1_control_ = true;
  if (answering_) control_is_out();  // the computer's empty packet after what it read
  answering_ = false;
}

void Usb::control_is_out() noexcept { hand_over(0, true, usb::kPacket, data1_control_); }

// ---- Bytes

void Usb::on_buffers(std::uint32_t which) noexcept {
  if ((which & kControlIn) != 0) control_is_in();
  if ((which & kControlOut) != 0 && takes_coding_) {
    takes_coding_ = false;
    const bool whole = (at(usb::buffer_control(0, true)) & usb::kLength) == kCodingSize;
    for (std::uint32_t i = 0; whole && i < kCodingSize; ++i) coding_[i] = byte_at(usb::kEndpoint0 - usb::kMemory + i);
    acknowledge();
  }
  if ((which & kDataOut) != 0) hear();
  if ((which & kDataIn) != 0) {
    sending_ = false;
    pump();
  }
}

void Usb::hear() noexcept {
  const std::uint32_t now = now_us();
  const std::uint32_t size = at(usb::buffer_control(usb::kData, true)) & usb::kLength;
  suspended_ = false;
  for (std::uint32_t i = 0; i < size && open(); ++i) {
    const std::uint8_t byte = byte_at(kHearBuffer + i);
    listener_(byte);
    heard_.put(byte, now);
  }
  listen();
}

/// A packet may come where there is room for all of it; the computer keeps it until then.
void Usb::listen() noexcept {
  waiting_ = heard_.room() < usb::kPacket || takes_() < 2 * usb::kPacket;
  if (waiting_) return;
  hand_over(usb::kData, true, usb::kPacket, data1_out_);
  data1_out_ = !data1_out_;
}

void Usb::go_on() noexcept {
  if (!waiting_) return;
  const Undisturbed undisturbed;
  if (waiting_ && configured_) listen();
}

bool Usb::send(const std::uint8_t* bytes, std::size_t size) noexcept {
  if (room() < size) return false;
  send_.write(bytes, size);
  const Undisturbed undisturbed;
  send_.publish(size);
  pump();
  return true;
}

void Usb::pump() noexcept {
  if (!open() || sending_ || (send_.empty() && !full_)) return;
  std::uint8_t packet[usb::kPacket];
  std::size_t count = 0;
  while (count < usb::kPacket && !send_.empty()) packet[count++] = send_.take();
  copy_to(kTellBuffer, packet, count);
  full_ = count == usb::kPacket;  // then at least an empty one follows: a short packet ends what the computer reads (5.8.3)
  sending_ = true;
  hand_over(usb::kData, false, static_cast<std::uint32_t>(count), data1_in_);
  data1_in_ = !data1_in_;
}

}  // namespace mien::board::rp2040
