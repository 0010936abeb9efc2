// What the tests of the link share: waiting for a fact, pseudo-terminals, a small rig.
#pragma once
#include <fcntl.h>
#include <poll.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

#include <chrono>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <span>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include "link/port.hpp"
#include "link/session.hpp"
#include "show/rig.hpp"
#include "support/eventually.hpp"

namespace mien::test {

using support::eventually;

/// A pseudo-terminal: the master's descriptor is the device's side, `path()` is the port.
class Pty {
 public:
  Pty() : master_(::posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC)) {
    char name[64];
    if (master_ < 0 || ::grantpt(master_) || ::unlockpt(master_) || ::ptsname_r(master_, name, sizeof name))
      throw std::runtime_error("no pseudo-terminal");
    path_ = name;
    keeper_ = ::open(name, O_RDWR | O_NOCTTY | O_CLOEXEC);
    termios raw{};
    ::tcgetattr(keeper_, &raw);
    ::cfmakeraw(&raw);
    ::tcsetattr(keeper_, TCSANOW, &raw);
  }
  ~Pty() { unplug(); }
  Pty(const Pty&) = delete;
  Pty& operator=(const Pty&) = delete;

  void unplug() {
    if (master_ >= 0) ::close(master_);
    if (keeper_ >= 0) ::close(keeper_);
    master_ = keeper_ = -1;
  }
  const std::string& path() const { return path_; }
  int master() const { return master_; }

 private:
  int master_, keeper_ = -1;  // the slave stays open, so that the master never sees a hang-up between two hosts
  std::string path_;
};

/// A directory of this test's own, gone with it.
class TempDir {
 public:
  TempDir() {
    std::string pattern = (std::filesystem::temp_directory_path() / "link-test-XXXXXX").string();
    if (!::mkdtemp(pattern.data())) throw std::runtime_error("no temporary directory");
    path_ = pattern;
  }
  ~TempDir() { std::filesystem::remove_all(path_); }
  TempDir(const TempDir&) = delete;
  TempDir& operator=(const TempDir&) = delete;
  std::string file(const std::string& name) const { return (path_ / name).string(); }

 private:
  std::filesystem::path path_;
};

inline std::vector<std::uint8_t> every_byte() {
  std::vector<std::uint8_t> bytes(256);
  for (std::size_t i = 0; i < bytes.size(); ++i) bytes[i] = static_cast<std::uint8_t>(i);
  return bytes;
}

/// Reads from the port until `count` bytes are there or the deadline is over.
inline std::vector<std::uint8_t> read_from(link::Port& port, std::size_t count) {
  std::vector<std::uint8_t> all;
  eventually([&] {
    std::uint8_t chunk[512];
    all.insert(all.end(), chunk, chunk + port.read(chunk));
    return all.size() >= count;
  });
  return all;
}

inline std::vector<std::uint8_t> read_from(int handle, std::size_t count) {
  std::vector<std::uint8_t> all;
  eventually([&] {
    std::uint8_t chunk[512];
    const auto got = ::read(handle, chunk, sizeof chunk);
    if (got > 0) all.insert(all.end(), chunk, chunk + got);
    return all.size() >= count;
  });
  return all;
}

/// Two boards and three actuators. "jaw" is board 0, output 2; "brow" and "lid" are board 1, outputs 0 and 5.
inline show::Rig small_rig() {
  show::Rig rig;
  rig.name = "bench";
  rig.watchdog = {150, 400, 2000};
  rig.boards = {{"lower", 0, 16, {}}, {"upper", 1, 16, {}}};
  show::Actuator jaw;
  jaw.name = "jaw";
  jaw.board = "lower";
  jaw.output = 2;
  jaw.rest_deg = -30;
  show::Actuator brow = jaw, lid = jaw;
  brow.name = "brow";
  brow.board = "upper";
  brow.output = 0;
  brow.rest_deg = 0;
  lid.name = "lid";
  lid.board = "upper";
  lid.output = 5;
  lid.rest_deg = 10;
  lid.reversed = true;
  rig.actuators = {jaw, brow, lid};
  return rig;
}

/// The pulse in wire units that puts an actuator of the rig at an angle.
inline std::uint16_t pulse_at(const show::Rig& rig, std::size_t actuator, double deg) {
  return static_cast<std::uint16_t>(std::lround(show::pulse_us(rig.actuators[actuator], deg) * link::kPulseUnitsPerUs));
}

}  // namespace mien::test
