// Serial devices through libserialport, and pseudo-terminals, which it refuses, through termios.
#include <fcntl.h>
#include <grp.h>
#include <libserialport.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <climits>
#include <cstdlib>
#include <cstring>
#include <system_error>

#include "link/port.hpp"
#include "link/session.hpp"

namespace mien::link {
namespace {

show::Finding refusal(const std::string& text, std::string what, std::string cure) {
  return {show::Severity::error, text, "", std::move(what), std::move(cure)};
}

/// The group that may use the device; "dialout" where the system does not say.
std::string group_of(const std::string& device) {
  struct stat info {};
  if (::stat(device.c_str(), &info) != 0) return "dialout";
  group entry{};
  group* found = nullptr;
  std::array<char, 16384> text;  // for the names that the entry points to; of a group with more members the fallback is told
  if (::getgrgid_r(info.st_gid, &entry, text.data(), text.size(), &found) != 0 || found == nullptr) return "dialout";
  return std::strcmp(found->gr_name, "root") != 0 ? found->gr_name : "dialout";
}

show::Finding explain(int error, const std::string& text, const std::string& device) {
  switch (error) {
    case ENOENT:
    case ENOTDIR:
    case ENXIO:
    case ENODEV:
      return refusal(text, "There is no such device",
                     "Plug the board in, or pick one of the ports that `mien ports` lists; it is opened as soon as it appears");
    case EACCES:
    case EPERM: {
      const auto members = group_of(device);
      return refusal(text, "You are not allowed to use this device; the group '" + members + "' is",
                     "Run `sudo usermod -aG " + members + " $USER`, then log out and in again");
    }
    case EBUSY:
      return refusal(text, "Another program has this port open",
                     "Close the other program (`fuser " + device + "` names it); the port is opened as soon as it is free");
    default:
      return refusal(text, std::string("The port can't be opened: ") + std::generic_category().message(error),
                     "Unplug the board and plug it in again, or pick one of the ports that `mien ports` lists");
  }
}

/// Keeps other programs out: the lock those that ask for it, TIOCEXCL the open(2) of all others (though not root's).
bool claim(int handle) { return ::flock(handle, LOCK_EX | LOCK_NB) == 0 && ::ioctl(handle, TIOCEXCL) == 0; }
/// Before closing, for someone else may still hold the terminal open, and then the claim would outlive us.
void yield_claim(int handle) { ::ioctl(handle, TIOCNXCL); }

/// Of a descriptor that was claimed.
class TtyPort final : public Port {
 public:
  using Port::Port;
  ~TtyPort() override { yield_claim(handle_); }
  void discard_output() override { ::tcflush(handle_, TCOFLUSH); }

 private:
  long read_some(std::span<std::uint8_t> into) override { return ::read(handle_, into.data(), into.size()); }
  long write_some(std::span<const std::uint8_t> bytes) override { return ::write(handle_, bytes.data(), bytes.size()); }
};

struct CloseSerial {
  void operator()(sp_port* port) const {
    sp_close(port);
    sp_free_port(port);
  }
};
using SerialHandle = std::unique_ptr<sp_port, CloseSerial>;

/// Of a port that was opened and claimed.
class SerialPort final : public Port {
 public:
  SerialPort(SerialHandle port, int handle, const std::string& name) : Port(handle, name), port_(std::move(port)) {}
  ~SerialPort() override {
    yield_claim(handle_);
    handle_ = -1;  // libserialport closes it
  }
  void discard_output() override { sp_flush(port_.get(), SP_BUF_OUTPUT); }

 private:
  /// A vanished device reads as an idle one (0 bytes), so an empty read says nothing here: check() finds out.
  long read_some(std::span<std::uint8_t> into) override {
    const int count = sp_nonblocking_read(port_.get(), into.data(), into.size());
    if (count == 0) errno = EAGAIN;
    return count > 0 ? count : -1;
  }
  /// A full buffer is SP_ERR_FAIL with EAGAIN.
  long write_some(std::span<const std::uint8_t> bytes) override {
    const int count = sp_nonblocking_write(port_.get(), bytes.data(), bytes.size());
    return count >= 0 ? count : -1;
  }

  SerialHandle port_;
};

bool set_up(sp_port* port, int baud) {
  return sp_set_baudrate(port, baud) == SP_OK && sp_set_bits(port, 8) == SP_OK && sp_set_parity(port, SP_PARITY_NONE) == SP_OK &&
         sp_set_stopbits(port, 1) == SP_OK && sp_set_flowcontrol(port, SP_FLOWCONTROL_NONE) == SP_OK;
}

show::Finding refused_baud(const std::string& text, int baud) {
  return refusal(text, "The device's driver refuses 8N1 at " + std::to_string(baud) + " baud",
                 "Name another rate after the device, as in DEVICE@115200, and set the boards to the same");
}

show::Result<PortPtr> open_device(sp_port* found, const std::string& device, const PortName& name, const std::string& text) {
  SerialHandle handle_keeper(found);
  if (sp_open(found, SP_MODE_READ_WRITE) != SP_OK) return explain(sp_last_error_code(), text, device);
  int handle = -1;
  if (sp_get_port_handle(found, &handle) != SP_OK || handle < 0) return explain(EIO, text, device);
  if (!claim(handle)) return explain(EBUSY, text, device);
  auto port = std::make_unique<SerialPort>(std::move(handle_keeper), handle, text);
  if (!set_up(found, name.baud)) return refused_baud(text, name.baud);
  sp_flush(found, SP_BUF_BOTH);  // what an earlier program left in the buffers is none of ours
  return PortPtr(std::move(port));
}

/// For a terminal that the system does not list as a serial port. It has no line speed worth setting.
show::Result<PortPtr> open_terminal(const std::string& device, const std::string& text) {
  const int handle = ::open(device.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  if (handle < 0) return explain(errno, text, device);
  termios settings{};
  const bool terminal = ::tcgetattr(handle, &settings) == 0;
  if (!terminal || !claim(handle)) {
    ::close(handle);
    return terminal ? explain(EBUSY, text, device)
                    : refusal(text, "This is not a serial device", "Pick one of the ports that `mien ports` lists");
  }
  PortPtr port = std::make_unique<TtyPort>(handle, text);
  ::cfmakeraw(&settings);
  ::cfsetspeed(&settings, B1000000);
  if (::tcsetattr(handle, TCSANOW, &settings) != 0) return explain(errno, text, device);
  ::tcflush(handle, TCIOFLUSH);
  return port;
}

}  // namespace

show::Result<PortPtr> open_serial(const PortName& name, const std::string& text) {
  char device[PATH_MAX];
  if (!::realpath(name.device.c_str(), device)) return explain(errno, text, name.device);
  struct stat info {};
  if (::stat(device, &info) != 0) return explain(errno, text, device);
  if (S_ISDIR(info.st_mode))
    return refusal(text, "This is a directory, not a serial device", "Pick one of the ports that `mien ports` lists");
  if (!S_ISCHR(info.st_mode))
    return refusal(text, "This is a file, not a serial device", "Pick one of the ports that `mien ports` lists");
  sp_port* found = nullptr;
  if (sp_get_port_by_name(device, &found) == SP_OK) return open_device(found, device, name, text);
  return open_terminal(device, text);
}

std::vector<PortInfo> serial_ports() {
  std::vector<PortInfo> ports;
  sp_port** list = nullptr;
  if (sp_list_ports(&list) != SP_OK) return ports;
  for (sp_port** each = list; *each; ++each) {
    const char* description = sp_get_port_description(*each);
    ports.push_back({sp_get_port_name(*each), description ? description : ""});
  }
  sp_free_port_list(list);
  return ports;
}

}  // namespace mien::link
