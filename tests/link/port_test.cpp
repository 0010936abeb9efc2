#include "link/port.hpp"

#include <arpa/inet.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/stat.h>

#include <fstream>

#include "link/helpers.hpp"
#include "link/serial_shim.hpp"
#include "link/session.hpp"

namespace mien::link {
namespace {

using test::eventually;
using test::every_byte;
using test::Pty;
using test::read_from;
using test::SerialShim;
using test::TempDir;
using testing::HasSubstr;

show::Result<PortPtr> open_device(const std::string& text) {
  const auto name = parse_port(text);
  return name ? open_serial(*name, text) : show::Result<PortPtr>(name.problem());
}

/// A listening socket on a port of the system's choice; `backlog` connections wait to be accepted.
struct Listener {
  explicit Listener(int backlog) : handle(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    socklen_t size = sizeof address;
    EXPECT_EQ(::bind(handle, reinterpret_cast<sockaddr*>(&address), size), 0);
    EXPECT_EQ(::listen(handle, backlog), 0);
    ::getsockname(handle, reinterpret_cast<sockaddr*>(&address), &size);
    text = "tcp:127.0.0.1:" + std::to_string(ntohs(address.sin_port));
  }
  ~Listener() { close(); }
  void close() {
    if (handle >= 0) ::close(handle);
    handle = -1;
  }
  int handle;
  std::string text;
};

TEST(PortName, TellsTheThreeKindsApart) {
  EXPECT_EQ(parse_port("sim:")->kind, PortName::Kind::sim);
  const auto tcp = parse_port("tcp:localhost:7000");
  ASSERT_TRUE(tcp);
  EXPECT_EQ(tcp->kind, PortName::Kind::tcp);
  EXPECT_EQ(tcp->host, "localhost");
  EXPECT_EQ(tcp->tcp, 7000);
  EXPECT_EQ(parse_port("tcp:[::1]:7000")->host, "::1");
  const auto serial = parse_port("/dev/ttyACM0");
  EXPECT_EQ(serial->kind, PortName::Kind::serial);
  EXPECT_EQ(serial->device, "/dev/ttyACM0");
  EXPECT_EQ(serial->baud, 1'000'000);
  const auto slow = parse_port("/dev/ttyUSB0@115200");
  EXPECT_EQ(slow->device, "/dev/ttyUSB0");
  EXPECT_EQ(slow->baud, 115200);
}

TEST(PortName, RefusesWhatItCannotReadAndSaysHowToWriteIt) {
  for (const char* text : {"", "sim:x", "tcp:", "tcp:host", "tcp::7000", "tcp:host:", "tcp:host:0", "tcp:host:65536", "tcp:host:-1",
                           "tcp:host:7x", "/dev/ttyUSB0@", "/dev/ttyUSB0@fast", "/dev/ttyUSB0@5", "/dev/ttyUSB0@99999999", "@9600"}) {
    const auto name = parse_port(text);
    ASSERT_FALSE(name) << text;
    EXPECT_EQ(name.problem().file, text);
    EXPECT_THAT(name.problem().cure, HasSubstr("tcp:HOST:PORT")) << text;
  }
  EXPECT_FALSE(parse_port(std::string("/dev/tty\0x", 10)));
}

TEST(SerialPort, SaysWhatIsWrongWithAPathThatIsNoDevice) {
  TempDir dir;
  std::ofstream(dir.file("plain")) << "text";
  const struct { std::string path, what; } cases[] = {
      {dir.file("absent"), "no such device"}, {dir.file(""), "directory"},  {dir.file("plain"), "a file"},
      {dir.file("plain/x"), "no such device"}, {"/dev/null", "not a serial device"},
  };
  for (const auto& each : cases) {
    const auto port = open_device(each.path);
    ASSERT_FALSE(port) << each.path;
    EXPECT_EQ(port.problem().file, each.path);
    EXPECT_THAT(port.problem().what, HasSubstr(each.what));
    EXPECT_THAT(port.problem().cure, HasSubstr("mien ports"));
  }
}

TEST(SerialPort, NamesTheGroupThatMayUseAForbiddenDevice) {
  Pty pty;
  ASSERT_EQ(::chmod(pty.path().c_str(), 0), 0);
  const auto me = ::geteuid();
  if (me == 0 && ::seteuid(65534) != 0) FAIL();  // root may do anything: for a moment be nobody
  const auto port = open_device(pty.path());
  if (me == 0 && ::seteuid(me) != 0) FAIL();
  ASSERT_FALSE(port);
  EXPECT_THAT(port.problem().what, HasSubstr("not allowed"));
  EXPECT_THAT(port.problem().cure, HasSubstr("usermod -aG"));
}

/// Over a pseudo-terminal, by both ways in: through libserialport (with the shim) and through termios (without).
class AnyTerminal : public testing::TestWithParam<bool> {
 protected:
  AnyTerminal() {
    if (GetParam()) shim_.emplace();
  }
  std::optional<SerialShim> shim_;
  Pty pty_;
};
INSTANTIATE_TEST_SUITE_P(, AnyTerminal, testing::Values(true, false),
                         [](const auto& each) { return each.param ? "Libserialport" : "Termios"; });

TEST_P(AnyTerminal, CarriesEveryByteBothWays) {
  const int asked = SerialShim::modem_requests();
  auto port = open_device(pty_.path());
  ASSERT_TRUE(port) << show::to_text(port.problem());
  EXPECT_EQ(SerialShim::modem_requests() > asked, GetParam()) << "the wrong transport opened the port";
  EXPECT_EQ((*port)->write(every_byte()), 256u);
  EXPECT_EQ(read_from(pty_.master(), 256), every_byte());
  ASSERT_EQ(::write(pty_.master(), every_byte().data(), 256), 256);
  EXPECT_EQ(read_from(**port, 256), every_byte());
  (*port)->check();
  EXPECT_FALSE((*port)->lost());
}

TEST_P(AnyTerminal, OpensAtTheUsualRates) {
  for (const char* baud : {"9600", "115200", "250000", "500000", "1000000", "2000000"}) {
    const auto port = open_device(pty_.path() + "@" + baud);
    EXPECT_TRUE(port) << show::to_text(port.problem());
  }
}

TEST_P(AnyTerminal, IsBusyWhileAnotherHasItOpen) {
  auto first = open_device(pty_.path());
  ASSERT_TRUE(first) << show::to_text(first.problem());
  const auto second = open_device(pty_.path());
  ASSERT_FALSE(second);
  EXPECT_THAT(second.problem().what, HasSubstr("Another program has this port open"));
  *first = nullptr;
  EXPECT_TRUE(open_device(pty_.path()));
}

TEST_P(AnyTerminal, FollowsALinkAnewAtEveryOpening) {
  TempDir dir;
  const auto link = dir.file("by-id");
  std::filesystem::create_symlink(pty_.path(), link);
  EXPECT_TRUE(open_device(link));
  Pty other;
  std::filesystem::create_symlink(other.path(), dir.file("new"));
  std::filesystem::rename(dir.file("new"), link);
  auto port = open_device(link);
  ASSERT_TRUE(port);
  EXPECT_EQ((*port)->write(every_byte()), 256u);
  EXPECT_EQ(read_from(other.master(), 256), every_byte());
}

TEST_P(AnyTerminal, WritesWhatFitsAndGoesOnWhenThereIsRoom) {
  auto port = open_device(pty_.path());
  ASSERT_TRUE(port);
  const std::vector<std::uint8_t> block(4096, 7);
  std::size_t written = 0, count = 0;
  while ((count = (*port)->write(block)) > 0) written += count;
  EXPECT_FALSE((*port)->lost()) << "a full buffer is no loss";
  EXPECT_GT(written, 0u);
  EXPECT_EQ(read_from(pty_.master(), written).size(), written);
  EXPECT_TRUE(eventually([&] { return (*port)->write(block) > 0; }));
}

TEST_P(AnyTerminal, IsLostWhenUnplugged) {
  auto port = open_device(pty_.path());
  ASSERT_TRUE(port);
  pty_.unplug();
  ASSERT_TRUE(eventually([&] {
    (*port)->check();
    return (*port)->lost().has_value();
  }));
  EXPECT_THAT((*port)->lost()->what, HasSubstr("gone"));
  std::uint8_t chunk[8];
  EXPECT_EQ((*port)->read(chunk), 0u);
  EXPECT_EQ((*port)->write(chunk), 0u);
}

TEST(TcpPort, SaysWhenNothingListens) {
  Listener listener(1);
  listener.close();
  Wake wake;
  const auto port = open_tcp(*parse_port(listener.text), listener.text, wake);
  ASSERT_FALSE(port);
  EXPECT_THAT(port.problem().what, HasSubstr("refuses"));
}

TEST(TcpPort, CarriesEveryByteAndNoticesTheOtherSideClosing) {
  Listener listener(1);
  Wake wake;
  auto port = open_tcp(*parse_port(listener.text), listener.text, wake);
  ASSERT_TRUE(port) << show::to_text(port.problem());
  const int peer = ::accept(listener.handle, nullptr, nullptr);
  ASSERT_GE(peer, 0);
  EXPECT_EQ((*port)->write(every_byte()), 256u);
  EXPECT_EQ(read_from(peer, 256), every_byte());
  EXPECT_EQ(::send(peer, every_byte().data(), 256, MSG_NOSIGNAL), 256);
  EXPECT_EQ(read_from(**port, 256), every_byte());
  ::close(peer);
  std::uint8_t chunk[8];
  EXPECT_TRUE(eventually([&] { return (*port)->read(chunk), (*port)->lost().has_value(); }));
  EXPECT_THAT((*port)->lost()->what, HasSubstr("closed"));
}

/// Connections that nobody accepts fill the backlog; the one after them hangs as with a host that does not answer.
struct Silence {
  Silence() : listener(0) {
    for (int i = 0; i < 4; ++i) {
      auto port = open_tcp(*parse_port(listener.text), listener.text, wake, 200);
      if (!port) return;
      ports.push_back(std::move(*port));
    }
  }
  Listener listener;
  Wake wake;
  std::vector<PortPtr> ports;
};

TEST(TcpPort, GivesUpOnAHostThatDoesNotAnswer) {
  Silence host;
  const auto port = open_tcp(*parse_port(host.listener.text), host.listener.text, host.wake, 50);
  ASSERT_FALSE(port);
  EXPECT_THAT(port.problem().what, HasSubstr("does not answer"));
}

TEST(TcpPort, GivesUpAtOnceWhenCancelled) {
  Silence host;
  host.wake.ring();
  const auto port = open_tcp(*parse_port(host.listener.text), host.listener.text, host.wake, 60'000);
  ASSERT_FALSE(port);
  EXPECT_THAT(port.problem().what, HasSubstr("given up"));
}

}  // namespace
}  // namespace mien::link
