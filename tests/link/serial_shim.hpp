// libserialport refuses a pseudo-terminal in two places: it looks for an entry under /sys/class/tty, and it asks for modem lines that
// a pseudo-terminal lacks. While the shim is on, this program's own lstat, readlink and ioctl answer for them, so that the
// unchanged library runs over one.
#pragma once

namespace mien::test {

/// On for the lifetime of the object.
class SerialShim {
 public:
  SerialShim() noexcept;
  ~SerialShim();
  SerialShim(const SerialShim&) = delete;
  SerialShim& operator=(const SerialShim&) = delete;
  /// How often the library asked for modem lines since the program's start: proof that the library itself was at work.
  static int modem_requests() noexcept;
};

}  // namespace mien::test
