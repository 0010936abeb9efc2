// A port: bytes out, bytes in, and the moment it is gone. Serial devices, pseudo-terminals, TCP and in-process pipes look the same.
#pragma once
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <utility>

#include "link/wake.hpp"
#include "show/finding.hpp"
#include "show/rig.hpp"

namespace mien::link {

inline constexpr int kDefaultBaud = 1'000'000;
/// 5 ms on a serial line at the default rate.
inline constexpr std::size_t kBacklog = 512;

/// What a port's text means. Exactly one of the three kinds.
struct PortName {
  enum class Kind : std::uint8_t { sim, tcp, serial };
  Kind kind = Kind::sim;
  std::string host;        ///< tcp
  std::uint16_t tcp = 0;   ///< tcp; 0 only where the caller listens
  std::string device;      ///< serial: as typed, links not yet followed
  int baud = kDefaultBaud; ///< serial
};

/// "sim:", "tcp:HOST:PORT" (an IPv6 HOST in brackets), "DEVICE" or "DEVICE@BAUD". Anything else is a finding.
show::Result<PortName> parse_port(const std::string& text);
/// "HOST:PORT" with PORT in 0..65535, as after "tcp:"; `text` is what the finding names.
show::Result<PortName> parse_host_port(const std::string& host_port, const std::string& text);

class Port {
 public:
  /// Owns the descriptor, which must not block. `name` is the port as the person typed it.
  Port(int handle, std::string name) : handle_(handle), name_(std::move(name)) {}
  virtual ~Port();
  Port(const Port&) = delete;
  Port& operator=(const Port&) = delete;

  /// The file descriptor that poll(2) understands.
  int handle() const noexcept { return handle_; }
  /// As many bytes as are there now; 0 when there are none, or when the port is lost.
  std::size_t read(std::span<std::uint8_t> into);
  /// As many bytes as fit now; 0 when none do, or when the port is lost. Only a little is let into the system's own buffers
  /// (kBacklog bytes), for what waits there is late and can't be overtaken: a 4 KiB buffer at 115200 baud is a third of a second.
  std::size_t write(std::span<const std::uint8_t> bytes);
  /// Throws away what was written and has not left yet, as far as the system can; a packet may then be cut short on the line.
  virtual void discard_output() {}
  /// Looks for a hang-up, which a serial port reports in no other way. Cheap: one poll(2).
  void check();
  /// Why the port is gone, with the cure; nothing while it is there. Once gone it stays gone: open another.
  const std::optional<show::Finding>& lost() const noexcept { return lost_; }

 protected:
  /// Like read(2) and write(2): -1 with errno; a read of 0 is the end of the stream.
  virtual long read_some(std::span<std::uint8_t> into) = 0;
  virtual long write_some(std::span<const std::uint8_t> bytes) = 0;
  /// Bytes written that have not left yet; 0 where the system does not count them.
  virtual std::size_t waiting() const noexcept;

  int handle_;

 private:
  void lose(const std::string& why);


  std::string name_;
  std::optional<show::Finding> lost_;
};
using PortPtr = std::unique_ptr<Port>;

/// A port over a connected stream socket, which it owns and makes non-blocking.
class SocketPort : public Port {
 public:
  SocketPort(int handle, std::string name);

 private:
  long read_some(std::span<std::uint8_t> into) override;
  long write_some(std::span<const std::uint8_t> bytes) override;
  std::size_t waiting() const noexcept override;
};

/// Opens a serial device at 8N1, exclusively. Links are followed anew at every call, so /dev/serial/by-id names work across
/// replugging. Findings: no such device, a directory, not a serial device, no permission, busy, refused by the driver.
show::Result<PortPtr> open_serial(const PortName& port, const std::string& text);

/// Connects within `timeout_ms`, or until `cancel` rings. Findings: unknown host, refused, no answer. Looking up a host's name
/// may block for as long as the system's resolver does.
show::Result<PortPtr> open_tcp(const PortName& port, const std::string& text, const Wake& cancel, int timeout_ms = 2000);

/// Boards simulated in this process by a thread of the port's own: one for each board of the rig, with its address and number of
/// outputs. They are switched on with the port and off with it.
show::Result<PortPtr> open_sim(const show::Rig& rig, const std::string& text);

/// Waits until the port is readable, `wake` rang, or the time is up. `port` may be nullptr.
void wait(const Port* port, const Wake& wake, std::int64_t timeout_ns);

}  // namespace mien::link
