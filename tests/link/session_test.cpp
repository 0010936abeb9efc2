// The whole link with its thread, against boards in this process, in a server over TCP, and behind libserialport.
#include "link/session.hpp"

#include <arpa/inet.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <sys/socket.h>

#include <atomic>
#include <fstream>
#include <mutex>
#include <sstream>

#include "link/board_server.hpp"
#include "link/desk.hpp"
#include "link/helpers.hpp"
#include "link/serial_shim.hpp"
#include "threads/steady.hpp"

namespace mien::link {
namespace {

using test::eventually;
using test::pulse_at;
using test::Pty;
using test::small_rig;
using test::TempDir;
using testing::HasSubstr;
constexpr std::int64_t kMs = 1'000'000;

bool becomes(const Session& session, State state) {
  return eventually([&] { return session.status().state == state; });
}

/// Says where a session stands, for a failing test.
std::string text(const Session& session) {
  const auto status = session.status();
  return std::string(name(status.state)) + (status.trouble ? ": " + show::to_text(*status.trouble) : "");
}

/// What the performing thread does, in small: frames at the rig's rate with the same setpoints, beginning anew with each epoch.
class Hands {
 public:
  Hands(Session& session, std::array<std::uint16_t, 3> pulses)
      : session_(session), pulses_(pulses), thread_([this] {
          while (!stop_) tick(), std::this_thread::sleep_for(std::chrono::milliseconds(10));
        }) {}
  ~Hands() {
    stop_ = true;
    thread_.join();
  }
  std::uint32_t pushed() const { return pushed_; }
  void rest(bool resting) { resting_ = resting; }

 private:
  void tick() {
    const auto armed = session_.armed();
    if (armed.epoch == 0 || resting_) return;
    Frame frame;
    frame.epoch = armed.epoch;
    frame.sequence = pushed_ + 1;
    frame.latch_ns = threads::steady_ns() + 20 * kMs;
    frame.count = 3;
    for (std::size_t i = 0; i < 3; ++i) frame.pulse[i] = pulses_[i];
    if (session_.push(frame)) ++pushed_;
  }
  Session& session_;
  std::array<std::uint16_t, 3> pulses_;
  std::atomic<bool> stop_{false}, resting_{false};
  std::atomic<std::uint32_t> pushed_{0};
  std::thread thread_;
};

/// A stream that one thread may write while another reads what is there so far.
class SharedLog : private std::streambuf {
 public:
  SharedLog() : stream_(this) {}
  std::ostream& stream() { return stream_; }
  std::string text() const {
    const std::lock_guard lock(mutex_);
    return text_;
  }

 private:
  int_type overflow(int_type c) override {
    const std::lock_guard lock(mutex_);
    text_ += traits_type::to_char_type(c);
    return c;
  }
  std::streamsize xsputn(const char* some, std::streamsize count) override {
    const std::lock_guard lock(mutex_);
    text_.append(some, static_cast<std::size_t>(count));
    return count;
  }
  mutable std::mutex mutex_;
  std::string text_;
  std::ostream stream_;
};

/// A board server on a thread of its own.
class Server {
 public:
  explicit Server(const std::string& listen = "127.0.0.1:0", int boards = 2, std::string capture = "") {
    server_.listen = listen;
    server_.boards = boards;
    server_.log = &log_.stream();
    server_.capture_file = std::move(capture);
    server_.listening = [this](std::uint16_t port) { port_ = port; };
    thread_ = std::thread([this] {
      problem_ = server_.run(stop_);
      done_ = true;
    });
    eventually([&] { return port_ != 0 || done_; });
  }
  ~Server() { stop(); }
  void stop() {
    stop_.ring();
    if (thread_.joinable()) thread_.join();
  }
  std::string address() const { return "127.0.0.1:" + std::to_string(port_); }
  std::string text() const { return "tcp:" + address(); }
  std::string log() const { return log_.text(); }
  const std::optional<show::Finding>& problem() const { return problem_; }

 private:
  BoardServer server_;
  SharedLog log_;
  Wake stop_;
  std::atomic<std::uint16_t> port_{0};
  std::atomic<bool> done_{false};
  std::optional<show::Finding> problem_;
  std::thread thread_;
};

/// The numbers of the frames that a board latched, as the log has them.
std::vector<unsigned> latched(const std::string& log, int board) {
  std::vector<unsigned> sequences;
  std::istringstream lines(log);
  for (std::string line; std::getline(lines, line);) {
    unsigned sequence = 0;
    int who = 0;
    if (std::sscanf(line.c_str(), "%*f board %d frame seq %u latched", &who, &sequence) == 2 && who == board)
      sequences.push_back(sequence);
  }
  return sequences;
}

/// The pulses of one output in the order in which they came.
std::vector<double> pulses_us(const std::string& log, int board, int output) {
  std::vector<double> pulses;
  std::istringstream lines(log);
  for (std::string line; std::getline(lines, line);) {
    double pulse = 0;
    int who = 0, which = 0;
    if (std::sscanf(line.c_str(), "%*f board %d output %d pulse_us %lf", &who, &which, &pulse) == 3 && who == board && which == output)
      pulses.push_back(pulse);
  }
  return pulses;
}

TEST(Session, IsClosedUntilAPortIsOpened) {
  Session session(small_rig());
  EXPECT_EQ(session.status().state, State::closed);
  EXPECT_EQ(session.armed().epoch, 0u);
  EXPECT_FALSE(session.push(Frame{}));
}

TEST(Session, FindsItsBoardsInThisProcess) {
  Session session(small_rig());
  session.open("sim:");
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  const auto status = session.status();
  EXPECT_EQ(status.port, "sim:");
  EXPECT_FALSE(status.trouble);
  ASSERT_EQ(status.boards.size(), 2u);
  EXPECT_EQ(status.boards[0].name, "lower");
  EXPECT_TRUE(status.boards[1].answering);
  EXPECT_EQ(status.boards[1].firmware, "simulated");
  session.close();
  EXPECT_TRUE(becomes(session, State::closed));
}

TEST(Session, ArmsOnlyWhenReadyAndOnlyWhenAsked) {
  Session session(small_rig());
  session.arm();
  session.open("sim:");
  session.arm();
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  EXPECT_EQ(session.armed().epoch, 0u);
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed)) << text(session);
  const auto first = session.armed();
  EXPECT_NE(first.epoch, 0u);
  EXPECT_EQ(first.pulse[0], pulse_at(small_rig(), 0, -30));
  session.stop();
  ASSERT_TRUE(becomes(session, State::ready));
  EXPECT_EQ(session.armed().epoch, 0u);
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  EXPECT_NE(session.armed().epoch, first.epoch);
}

TEST(Session, TakesNoFrameThatWasMeantForAnEarlierEpoch) {
  Session session(small_rig());
  session.open("sim:");
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  Frame frame;
  frame.epoch = session.armed().epoch;
  frame.count = 3;
  frame.pulse[0] = pulse_at(small_rig(), 0, -30);
  frame.latch_ns = threads::steady_ns();
  EXPECT_TRUE(session.push(frame));
  session.stop();
  ASSERT_TRUE(becomes(session, State::ready));
  EXPECT_FALSE(session.push(frame));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  EXPECT_FALSE(session.push(frame));
}

TEST(Session, DisarmsByWayOfRest) {
  Server server;
  Session session(small_rig());
  session.open(server.text());
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  session.arm();
  {
    Hands hands(session, {pulse_at(small_rig(), 0, -20), pulse_at(small_rig(), 1, 5), pulse_at(small_rig(), 2, 0)});
    ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 30; })) << text(session);
    session.disarm();
    EXPECT_TRUE(becomes(session, State::ready));
  }
  server.stop();
  const auto jaw = pulses_us(server.log(), 0, 2);
  ASSERT_GE(jaw.size(), 3u);
  EXPECT_EQ(jaw.back(), 0);
  EXPECT_NEAR(jaw[jaw.size() - 2], show::pulse_us(small_rig().actuators[0], -30), 0.07);
}

TEST(Session, EveryFrameThatWasSentIsLatchedOnceAndInOrder) {
  Server server;
  Session session(small_rig());
  session.open(server.text());
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  session.arm();
  {
    Hands hands(session, {pulse_at(small_rig(), 0, -30), pulse_at(small_rig(), 1, 0), pulse_at(small_rig(), 2, 10)});
    ASSERT_TRUE(eventually([&] { return hands.pushed() >= 100; })) << text(session);
  }
  ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged == session.status().frames_sent; }));
  const auto status = session.status();
  EXPECT_EQ(status.frames_refused, 0u);
  EXPECT_EQ(status.messages_garbled, 0u);
  EXPECT_EQ(status.times_lost, 0u);
  session.stop();
  ASSERT_TRUE(becomes(session, State::ready));
  server.stop();
  for (const int board : {0, 1}) {
    const auto sequences = latched(server.log(), board);
    EXPECT_EQ(sequences.size(), status.frames_sent);
    EXPECT_TRUE(std::is_sorted(sequences.begin(), sequences.end(), std::less_equal<>())) << "twice, or out of order";
  }
  EXPECT_EQ(pulses_us(server.log(), 0, 2).back(), 0) << "stop left it driven";
}

TEST(Session, ClosingWhileArmedStopsTheBoards) {
  Server server;
  {
    Session session(small_rig());
    session.open(server.text());
    ASSERT_TRUE(becomes(session, State::ready));
    session.arm();
    Hands hands(session, {pulse_at(small_rig(), 0, -30), pulse_at(small_rig(), 1, 0), pulse_at(small_rig(), 2, 10)});
    ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 5; })) << text(session);
  }
  server.stop();
  EXPECT_EQ(pulses_us(server.log(), 0, 2).back(), 0);
  EXPECT_THAT(server.log(), Not(HasSubstr("holding"))) << "the boards found out by themselves instead of being told";
}

TEST(Session, ComesBackByItselfAfterALossAndArmsAgain) {
  auto server = std::make_unique<Server>();
  Session session(small_rig());
  session.open(server->text());
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  Hands hands(session, {pulse_at(small_rig(), 0, -30), pulse_at(small_rig(), 1, 0), pulse_at(small_rig(), 2, 10)});
  ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 5; })) << text(session);
  const auto epoch = session.armed().epoch;
  const auto address = server->address();
  server.reset();
  ASSERT_TRUE(becomes(session, State::lost)) << text(session);
  EXPECT_EQ(session.armed().epoch, 0u);
  EXPECT_TRUE(session.status().trouble);
  EXPECT_EQ(session.status().times_lost, 1u);
  server = std::make_unique<Server>(address);
  ASSERT_FALSE(server->problem());
  ASSERT_TRUE(becomes(session, State::armed)) << text(session);
  EXPECT_NE(session.armed().epoch, epoch);
  EXPECT_FALSE(session.status().trouble);
}

/// Passes bytes between a session and a server, until the cable is cut; then it can be plugged in again, with the boards' server, and
/// with it their state, alive all the while.
class Cable {
 public:
  explicit Cable(const std::string& to) : to_(to), listener_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    socklen_t size = sizeof address;
    if (::bind(listener_, reinterpret_cast<sockaddr*>(&address), size) || ::listen(listener_, 4)) throw std::runtime_error("no port");
    ::getsockname(listener_, reinterpret_cast<sockaddr*>(&address), &size);
    text_ = "tcp:127.0.0.1:" + std::to_string(ntohs(address.sin_port));
    thread_ = std::thread([this] {
      while (!stop_) carry();
    });
  }
  ~Cable() {
    stop_ = true;
    thread_.join();
    ::close(listener_);
  }
  const std::string& text() const { return text_; }
  void plug(bool in) { plugged_ = in; }
  void spoil(bool noisy) { noisy_ = noisy; }

 private:
  void carry() {
    const int client = ::accept4(listener_, nullptr, nullptr, SOCK_CLOEXEC | SOCK_NONBLOCK);
    if (client < 0) return std::this_thread::sleep_for(std::chrono::milliseconds(1));
    SocketPort host(client, "host");
    Wake never;
    auto boards = plugged_ ? open_tcp(*parse_port(to_), to_, never) : show::Result<PortPtr>(show::Finding{});
    if (!boards) return;
    while (!stop_ && plugged_ && !host.lost() && !(*boards)->lost()) {
      pollfd entries[2] = {{host.handle(), POLLIN, 0}, {(*boards)->handle(), POLLIN, 0}};
      ::poll(entries, 2, 1);
      pass(host, **boards);
      pass(**boards, host);
    }
  }
  void pass(Port& from, Port& to) {
    std::uint8_t chunk[512];
    const auto count = from.read(chunk);
    if (noisy_ && ++passed_ % 5 == 0) chunk[0] ^= 0x55;
    for (std::size_t sent = 0; sent < count && !to.lost() && !stop_;) sent += to.write(std::span(chunk).subspan(sent, count - sent));
  }
  std::string to_, text_;
  int listener_;
  int passed_ = 0;
  std::atomic<bool> plugged_{true}, stop_{false}, noisy_{false};
  std::thread thread_;
};

TEST(Session, NothingJumpsWhenTheCableIsPulledAndPluggedInAgain) {
  const auto rig = small_rig();
  Server server;
  Cable cable(server.text());
  Session session(rig);
  session.open(cable.text());
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  session.arm();
  {
    Hands hands(session, {pulse_at(rig, 0, -30), pulse_at(rig, 1, 20), pulse_at(rig, 2, 10)});
    ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 50; })) << text(session);
    cable.plug(false);
    ASSERT_TRUE(becomes(session, State::lost)) << text(session);
    cable.plug(true);
    ASSERT_TRUE(becomes(session, State::armed)) << text(session);
    const auto back = session.status().frames_acknowledged;
    ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= back + 50; })) << text(session);
  }
  session.stop();
  ASSERT_TRUE(becomes(session, State::ready));
  server.stop();
  // Each change of the pulse is at most what the slew limit allows in the 20 ms for which travel may add up.
  const auto brow = pulses_us(server.log(), 1, 0);
  ASSERT_GE(brow.size(), 3u);
  const double most_us = 300.0 / 90 * 1000 * 0.02 * 1.25;
  for (std::size_t i = 1; i + 1 < brow.size(); ++i) {
    ASSERT_NE(brow[i], 0) << "it let go on the way";
    ASSERT_LE(std::abs(brow[i] - brow[i - 1]), most_us);
  }
}

TEST(Session, FramesThatComeBackAfterTheHeadLeftForRestStartANewEpochFromWhereItIs) {
  const auto rig = small_rig();
  Server server;
  Session session(rig);
  session.open(server.text());
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  Hands hands(session, {pulse_at(rig, 0, -30), pulse_at(rig, 1, 44), pulse_at(rig, 2, 10)});
  ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 50; })) << text(session);
  const auto before = session.armed();
  hands.rest(true);
  ASSERT_TRUE(eventually([&] { return server.log().find("board 1 state ramping") != std::string::npos; }));
  hands.rest(false);
  ASSERT_TRUE(eventually([&] { return session.armed().epoch != 0 && session.armed().epoch != before.epoch; })) << text(session);
  const auto after = session.armed();
  EXPECT_LT(after.pulse[1], pulse_at(rig, 1, 44));
  EXPECT_GE(after.pulse[1], pulse_at(rig, 1, 0));
}

TEST(Session, BoardsThatReleasedForWantOfFramesAreNotArmedAgainByThemselves) {
  Session session(small_rig());
  session.open("sim:");
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  ASSERT_TRUE(becomes(session, State::ready));  // nobody pushes a frame
  ASSERT_TRUE(session.status().trouble);
  EXPECT_THAT(session.status().trouble->what, HasSubstr("no frames came"));
}

TEST(Session, StoppedOrDisarmedWhileLostItStaysUnarmed) {
  for (const bool stop : {true, false}) {
    Server server;
    Cable cable(server.text());
    Session session(small_rig());
    session.open(cable.text());
    ASSERT_TRUE(becomes(session, State::ready));
    session.arm();
    ASSERT_TRUE(becomes(session, State::armed)) << text(session);
    cable.plug(false);
    ASSERT_TRUE(becomes(session, State::lost));
    stop ? session.stop() : session.disarm();
    cable.plug(true);
    ASSERT_TRUE(becomes(session, State::ready)) << text(session);
    EXPECT_EQ(session.armed().epoch, 0u);
  }
}

TEST(Session, DoesNotArmItselfAgainWhenToldNeverTo) {
  Server server;
  Cable cable(server.text());
  Session session(small_rig(), {.resume_within_s = 0});
  session.open(cable.text());
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  cable.plug(false);
  ASSERT_TRUE(becomes(session, State::lost));
  cable.plug(true);
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
}

TEST(Session, WorksOnThroughGarbageAndCountsIt) {
  Server server;
  Cable cable(server.text());
  Session session(small_rig());
  session.open(cable.text());
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  Hands hands(session, {pulse_at(small_rig(), 0, -30), pulse_at(small_rig(), 1, 0), pulse_at(small_rig(), 2, 10)});
  cable.spoil(true);
  EXPECT_TRUE(eventually([&] {
    const auto status = session.status();
    return status.messages_garbled >= 3 && status.boards.at(0).frames_bad >= 3;
  }));
  cable.spoil(false);
  const auto before = session.status().frames_acknowledged;
  EXPECT_TRUE(eventually([&] { return session.status().frames_acknowledged >= before + 20; })) << text(session);
}

TEST(Session, SaysThatNobodyAnswersOnAPortThatOnlyListens) {
  const int listener = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof address;
  ASSERT_EQ(::bind(listener, reinterpret_cast<sockaddr*>(&address), size), 0);
  ASSERT_EQ(::listen(listener, 1), 0);
  ::getsockname(listener, reinterpret_cast<sockaddr*>(&address), &size);
  Session session(small_rig());
  session.open("tcp:127.0.0.1:" + std::to_string(ntohs(address.sin_port)));
  ASSERT_TRUE(eventually([&] { return session.status().trouble.has_value(); }));
  EXPECT_EQ(session.status().state, State::greeting);
  EXPECT_THAT(session.status().trouble->what, HasSubstr("No board answers"));
  EXPECT_THAT(session.status().trouble->file, HasSubstr("tcp:"));
  ::close(listener);
}

TEST(Session, SaysWhyAPortCanNotBeOpenedAndKeepsTrying) {
  TempDir dir;
  const auto device = dir.file("board");
  Session session(small_rig());
  const struct { std::string port, what; } cases[] = {
      {device, "no such device"}, {dir.file(""), "directory"}, {"tcp:127.0.0.1:1", "refuses"}, {"tcp:", "names no host"}, {"sim:7", "Nothing may follow"}};
  for (const auto& each : cases) {
    session.open(each.port);
    ASSERT_TRUE(eventually([&] { return session.status().trouble.has_value(); })) << each.port;
    EXPECT_EQ(session.status().state, State::opening);
    EXPECT_EQ(session.status().trouble->file, each.port);
    EXPECT_THAT(session.status().trouble->what, HasSubstr(each.what));
  }
}

TEST(Session, ANewRigIsTakenUpOnceTheHeadIsSilent) {
  Session session(small_rig());
  session.open("sim:");
  ASSERT_TRUE(becomes(session, State::ready));
  auto rig = small_rig();
  rig.boards.push_back({"third", 2, 16, {}});
  session.set_rig(rig);
  ASSERT_TRUE(eventually([&] { return session.status().boards.size() == 3 && session.status().state == State::ready; })) << text(session);
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  session.set_rig(small_rig());
  ASSERT_TRUE(eventually([&] { return session.status().boards.size() == 2 && session.status().state == State::ready; })) << text(session);
}

TEST(Session, ARigThatIsTheSameForTheBoardsDisturbsNothing) {
  Session session(small_rig());
  session.open("sim:");
  ASSERT_TRUE(becomes(session, State::ready));
  session.arm();
  ASSERT_TRUE(becomes(session, State::armed));
  const auto epoch = session.armed().epoch;
  auto rig = small_rig();
  rig.actuators[0].acceleration_deg_s2 = 123;
  session.set_rig(rig);
  const auto seen = session.status().bytes_in;
  ASSERT_TRUE(eventually([&] { return session.status().bytes_in > seen + 200; }));
  EXPECT_EQ(session.armed().epoch, epoch);
}

TEST(Session, ARigThatTheBoardsDoNotMatchIsNamedAndNeverReady) {
  Server server("127.0.0.1:0", 1);
  Session session(small_rig());
  session.open(server.text());
  ASSERT_TRUE(eventually([&] { return session.status().trouble.has_value(); }));
  EXPECT_EQ(session.status().state, State::greeting);
  EXPECT_THAT(session.status().trouble->place, HasSubstr("upper"));
  session.arm();
  const auto said = session.status().bytes_out;
  ASSERT_TRUE(eventually([&] { return session.status().bytes_out > said + 100; }));
  EXPECT_EQ(session.status().state, State::greeting);
  EXPECT_EQ(session.armed().epoch, 0u);
}

/// Simulated boards at the device's end of a pseudo-terminal.
class PtyBoards {
 public:
  explicit PtyBoards(const std::string& link) : link_(link) {
    std::filesystem::remove(link);
    std::filesystem::create_symlink(pty_.path(), link);
    thread_ = std::thread([this] {
      Desk desk({{0, 16}, {1, 16}}, threads::steady_ns());
      while (!stop_) {
        pollfd entry{pty_.master(), POLLIN, 0};
        ::poll(&entry, 1, 1);
        desk.advance(threads::steady_ns());
        std::uint8_t chunk[512];
        const auto count = ::read(pty_.master(), chunk, sizeof chunk);
        if (count > 0) desk.receive(std::span(chunk).first(static_cast<std::size_t>(count)));
        auto& answers = desk.answers();
        if (answers.empty()) continue;
        const auto sent = ::write(pty_.master(), answers.data(), answers.size());
        if (sent > 0) answers.erase(answers.begin(), answers.begin() + sent);
      }
    });
  }
  ~PtyBoards() {
    stop_ = true;
    thread_.join();
    std::filesystem::remove(link_);
  }

 private:
  std::string link_;
  Pty pty_;
  std::atomic<bool> stop_{false};
  std::thread thread_;
};

TEST(Session, PerformsThroughLibserialportAndComesBackAfterUnplugging) {
  const test::SerialShim shim;
  const int asked = test::SerialShim::modem_requests();
  TempDir dir;
  const auto device = dir.file("board");
  auto boards = std::make_unique<PtyBoards>(device);
  Session session(small_rig());
  session.open(device);
  ASSERT_TRUE(becomes(session, State::ready)) << text(session);
  EXPECT_GT(test::SerialShim::modem_requests(), asked);
  session.arm();
  Hands hands(session, {pulse_at(small_rig(), 0, -30), pulse_at(small_rig(), 1, 0), pulse_at(small_rig(), 2, 10)});
  ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 20; })) << text(session);
  boards.reset();
  ASSERT_TRUE(becomes(session, State::lost)) << text(session);
  boards = std::make_unique<PtyBoards>(device);
  ASSERT_TRUE(becomes(session, State::armed)) << text(session);
  const auto before = session.status().frames_acknowledged;
  EXPECT_TRUE(eventually([&] { return session.status().frames_acknowledged >= before + 20; })) << text(session);
}

TEST(Session, SaysThatAPortIsBusyAndTakesItWhenItIsFree) {
  TempDir dir;
  const auto device = dir.file("board");
  PtyBoards boards(device);
  auto first = std::make_unique<Session>(small_rig());
  first->open(device);
  ASSERT_TRUE(becomes(*first, State::ready)) << text(*first);
  Session second(small_rig());
  second.open(device);
  ASSERT_TRUE(eventually([&] { return second.status().trouble.has_value(); }));
  EXPECT_THAT(second.status().trouble->what, HasSubstr("Another program has this port open"));
  first.reset();
  EXPECT_TRUE(becomes(second, State::ready)) << text(second);
}

TEST(BoardServer, TellsWhatIsWrongWithItsAddress) {
  Wake stop;
  for (const char* listen : {"", "nowhere", "127.0.0.1:", "127.0.0.1:70000"}) {
    BoardServer server;
    server.listen = listen;
    const auto problem = server.run(stop);
    ASSERT_TRUE(problem) << listen;
    EXPECT_THAT(problem->cure, HasSubstr("127.0.0.1:0"));
  }
  Server first;
  BoardServer second;
  second.listen = first.address();
  const auto problem = second.run(stop);
  ASSERT_TRUE(problem);
  EXPECT_THAT(problem->what, HasSubstr("Another program listens"));
  second.listen = "127.0.0.1:0";
  second.boards = 99;
  EXPECT_TRUE(second.run(stop));
  second.boards = 1;
  second.capture_file = "/no/such/folder/capture";
  EXPECT_THAT(second.run(stop)->what, HasSubstr("capture file"));
}

TEST(BoardServer, CapturesEveryByteThatCame) {
  TempDir dir;
  Server server("127.0.0.1:0", 2, dir.file("capture"));
  std::uint64_t sent = 0;
  {
    Session session(small_rig());
    session.open(server.text());
    ASSERT_TRUE(becomes(session, State::ready)) << text(session);
    sent = session.status().bytes_out;
  }
  server.stop();
  EXPECT_GE(std::filesystem::file_size(dir.file("capture")), sent);
  std::ifstream file(dir.file("capture"), std::ios::binary);
  wire::Deframer deframer;
  for (char byte = 0; file.get(byte);) deframer.push(static_cast<std::uint8_t>(byte));
  EXPECT_GT(deframer.counters().packets, 4u);
  EXPECT_EQ(deframer.counters().bad_crc + deframer.counters().malformed, 0u);
}

TEST(BoardServer, LetsOneClientInAtATimeAndTheNextWhenItIsGone) {
  Server server;
  auto first = std::make_unique<Session>(small_rig());
  first->open(server.text());
  ASSERT_TRUE(becomes(*first, State::ready));
  Session second(small_rig());
  second.open(server.text());
  ASSERT_TRUE(eventually([&] { return second.status().trouble.has_value(); }));
  EXPECT_EQ(second.status().state, State::greeting);
  first.reset();
  EXPECT_TRUE(becomes(second, State::ready)) << text(second);
}

TEST(BoardServer, LetsTheWatchdogsRunWhileNobodyIsConnected) {
  Server server;
  const auto rig = small_rig();
  {
    Cable cable(server.text());
    Session session(rig);
    session.open(cable.text());
    ASSERT_TRUE(becomes(session, State::ready));
    session.arm();
    Hands hands(session, {pulse_at(rig, 0, -30), pulse_at(rig, 1, 20), pulse_at(rig, 2, 10)});
    ASSERT_TRUE(eventually([&] { return session.status().frames_acknowledged >= 50; })) << text(session);
    cable.plug(false);
    ASSERT_TRUE(becomes(session, State::lost));
  }
  ASSERT_TRUE(eventually([&] { return pulses_us(server.log(), 1, 0).back() == 0; })) << server.log();
  const auto log = server.log();
  const auto holding = log.find("board 1 state holding"), ramping = log.find("board 1 state ramping");
  EXPECT_LT(log.find("client gone"), holding);
  EXPECT_LT(holding, ramping);
  EXPECT_LT(ramping, log.rfind("board 1 state ready"));
  Session late(rig);
  late.open(server.text());
  EXPECT_TRUE(becomes(late, State::ready)) << text(late);
}

}  // namespace
}  // namespace mien::link
