#include "link/serial_shim.hpp"

#include <fcntl.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <atomic>
#include <cstdarg>
#include <cstring>

namespace {

std::atomic<int> shims{0};
std::atomic<int> requests{0};

bool is_terminal_entry(const char* path) {
  return shims > 0 && path && std::strncmp(path, "/sys/class/tty/pts/", 19) == 0;
}

bool is_modem_request(unsigned long request) {
  return request == TIOCMGET || request == TIOCMSET || request == TIOCMBIS || request == TIOCMBIC;
}

}  // namespace

namespace mien::test {
SerialShim::SerialShim() noexcept { ++shims; }
SerialShim::~SerialShim() { --shims; }
int SerialShim::modem_requests() noexcept { return requests; }
}  // namespace mien::test

extern "C" {

int lstat(const char* path, struct stat* info) noexcept {
  if (!is_terminal_entry(path)) return ::fstatat(AT_FDCWD, path, info, AT_SYMLINK_NOFOLLOW);
  std::memset(info, 0, sizeof *info);
  info->st_mode = S_IFLNK | 0777;
  return 0;
}

// What programs linked against an older C library, such as Debian's libserialport, call for lstat.
int __lxstat(int, const char* path, struct stat* info) { return lstat(path, info); }

ssize_t readlink(const char* path, char* into, size_t size) noexcept {
  if (!is_terminal_entry(path)) return ::syscall(SYS_readlink, path, into, size);
  constexpr char kTarget[] = "../../devices/virtual/tty/pts";
  const size_t count = size < sizeof kTarget - 1 ? size : sizeof kTarget - 1;
  std::memcpy(into, kTarget, count);
  return static_cast<ssize_t>(count);
}

int ioctl(int handle, unsigned long request, ...) noexcept {
  va_list arguments;
  va_start(arguments, request);
  void* argument = va_arg(arguments, void*);
  va_end(arguments);
  if (shims > 0 && is_modem_request(request)) {
    ++requests;
    if (request == TIOCMGET) *static_cast<int*>(argument) = 0;
    return 0;
  }
  return static_cast<int>(::syscall(SYS_ioctl, handle, request, argument));
}

}  // extern "C"
