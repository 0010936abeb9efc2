// The chip's USB as a serial port of the computer: bytes with the time at which they came, and bytes to send, as a Uart has them.
#pragma once
#include <cstdint>

#include "board/rp2040/rings.hpp"
#include "board/rp2040/usb_descriptors.hpp"

namespace mien::board::rp2040 {

/// A device that a program on the computer opens like any serial port; baud rates mean nothing to it. Everything is done in its interrupt,
/// which gives way to the UARTs': those have 10 us for each byte, USB waits as long as it is told to.
class Usb {
 public:
  /// `listener` is called from the interrupt for every byte as it comes, `takes` says how many bytes more it could take then.
  void start(std::uint64_t identity, void (*listener)(std::uint8_t byte), std::size_t (*takes)()) noexcept;

  /// Whether a program has the port open: what it says counts then, and it hears what is sent.
  bool open() const noexcept { return configured_ && terminal_ && !suspended_; }
  bool take(Heard& heard) noexcept { return heard_.take(heard); }
  /// Bytes to send, all or none: false where there is no room.
  bool send(const std::uint8_t* bytes, std::size_t size) noexcept;
  std::size_t room() const noexcept { return send_.room(); }
  /// Lets the computer go on once there is room for more of it; call often.
  void go_on() noexcept;
  void on_interrupt() noexcept;

 private:
  struct Setup {
    std::uint8_t kind = 0, request = 0;
    std::uint16_t value = 0, index = 0, length = 0;
  };
  void on_reset() noexcept;
  void on_setup() noexcept;
  bool obey(const Setup& setup) noexcept;
  bool obey_class(const Setup& setup) noexcept;
  void on_buffers(std::uint32_t which) noexcept;
  void configure(bool on) noexcept;
  void begin_data() noexcept;
  void set_terminal(bool open) noexcept;

  void reply(const std::uint8_t* bytes, std::size_t size, std::uint16_t asked) noexcept;
  void reply_piece() noexcept;
  void acknowledge() noexcept;
  void control_is_in() noexcept;
  void control_is_out() noexcept;

  void hear() noexcept;
  void listen() noexcept;
  void pump() noexcept;

  std::uint64_t identity_ = 0;
  void (*listener_)(std::uint8_t byte) = nullptr;
  std::size_t (*takes_)() = nullptr;
  HeardRing heard_;
  SendRing send_;
  volatile bool configured_ = false, terminal_ = false, suspended_ = false;
  bool waiting_ = false;                  // the computer may not send: there was no room for what it could
  bool sending_ = false, full_ = false;   // a packet is on its way; it was as long as packets get, so the computer expects another
  bool data1_in_ = false, data1_out_ = false, data1_control_ = false;  // which of two numbers the next packet has (8.6)
  const std::uint8_t* reply_ = nullptr;   // what is left of a control transfer's data
  std::size_t left_ = 0;
  bool answering_ = false, replying_ = false;  // the transfer's data go to the computer; some of them still have to
  bool ends_short_ = false, takes_coding_ = false;
  std::uint8_t address_ = 0;              // from the end of this control transfer on; 0: as it is
  static constexpr std::size_t kCodingSize = 7;
  std::uint8_t coding_[kCodingSize] = {};  // baud rate and shape of the line: told back as it was told
};

}  // namespace mien::board::rp2040
