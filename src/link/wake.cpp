#include "link/wake.hpp"

#include <poll.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>

namespace mien::link {

Wake::Wake() : handle_(::eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC)) {
  // Only a machine out of descriptors or memory gets here; there is no link to speak of without it.
  if (handle_ < 0) throw std::system_error(errno, std::generic_category(), "eventfd");
}

Wake::~Wake() { ::close(handle_); }

void Wake::ring() const noexcept {
  const std::uint64_t one = 1;
  [[maybe_unused]] const auto written = ::write(handle_, &one, sizeof one);
}

void Wake::clear() const noexcept {
  std::uint64_t rings = 0;
  [[maybe_unused]] const auto count = ::read(handle_, &rings, sizeof rings);
}

bool Wake::rung() const noexcept {
  pollfd entry{handle_, POLLIN, 0};
  return ::poll(&entry, 1, 0) > 0;
}

}  // namespace mien::link
