#include "live/network.hpp"

#include <poll.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <deque>
#include <mutex>
#include <thread>

#include "live/udp.hpp"
#include "threads/steady.hpp"

namespace mien::live {
namespace {

constexpr int kIdle_ms = 50, kBusy_ms = 2, kInARow = 64;  // how many datagrams of one socket before the others have their turn
constexpr std::size_t kRoom = 9216;                       // of a datagram; longer ones are broken
constexpr std::size_t kMostWaiting = 256;
constexpr std::int64_t kReportEvery_ns = 1'000'000'000 / kMostReports_hz;

std::int64_t unix_now_ns() noexcept { return std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::system_clock::now().time_since_epoch()).count(); }

// A ring that is full is empty a tick later, where anybody listens at all.
void say_gone(Inlet& inlet, int device, Touch::Kind kind) {
  for (int n = 0; n < 10 && !inlet.push({.at_ns = threads::steady_ns(), .device = static_cast<std::uint8_t>(device), .kind = kind}); ++n) std::this_thread::sleep_for(std::chrono::milliseconds(5));
}

struct Asker { NetAddress at; std::int64_t until_ns; };

}  // namespace

show::Findings cautions(const NetworkSettings& s) {
  show::Findings findings;
  const auto check = [&](bool on, std::uint32_t ip, const char* what) {
    if (on && !is_loopback(ip) && s.allow.empty())
      findings.push_back({show::Severity::warning, "", what, "listens on " + ip_text(ip) + " to every machine that reaches it, and each of them can move the head", "Name those that may with --allow (the window's Network has it, too), and keep the head's network apart from others."});
  };
  check(s.osc, s.osc_ip, "OSC");
  check(s.sacn, s.sacn_ip, "sACN");
  return findings;
}

struct Network::Core {
  Core(Inlet& i, int osc_number, int sacn_number) : inlet(i), osc_device(osc_number), sacn_device(sacn_number), wake(::eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC)) {}
  ~Core() {
    stop();
    ::close(wake);
  }

  void stop() {
    if (!thread.joinable()) return;
    quit = true;
    ring();
    thread.join();
  }
  void ring() const noexcept {
    const std::uint64_t one = 1;
    [[maybe_unused]] const auto written = ::write(wake, &one, sizeof one);
  }

  void run();
  void hear_osc();
  void hear_sacn(UdpSocket& socket);
  void report();
  bool may_speak(const NetAddress& from) {
    if (live::allowed(settings.allow, from.ip)) return true;
    const std::lock_guard lock(mutex);
    ++status.refused;
    return false;
  }

  Inlet& inlet;
  const int osc_device, sacn_device;
  const int wake;
  std::thread thread;
  std::atomic<bool> quit{false};
  NetworkSettings settings;

  // The thread's own while it runs.
  std::optional<UdpSocket> osc_socket, sacn_socket, sacn_group_socket;
  std::optional<OscEar> osc;
  std::optional<SacnEar> sacn;
  std::array<std::uint8_t, kRoom> room{};
  std::vector<Asker> askers;
  std::int64_t reported_ns = 0;

  // Shared.
  mutable std::mutex mutex;
  std::vector<std::string> addresses;
  bool addresses_changed = false, state_changed = false;
  std::deque<NetworkOrder> orders;
  ShowState state;
  NetworkStatus status;
};

void Network::Core::run() {
  while (!quit) {
    std::array<pollfd, 4> polled{};
    nfds_t count = 0;
    polled[count++] = {wake, POLLIN, 0};
    for (const auto* socket : {&osc_socket, &sacn_socket, &sacn_group_socket})
      if (*socket) polled[count++] = {(*socket)->handle(), POLLIN, 0};
    const bool busy = (osc && osc->any_waits()) || (sacn && sacn->any_waits());
    ::poll(polled.data(), count, busy ? kBusy_ms : kIdle_ms);
    std::uint64_t rung;
    [[maybe_unused]] const auto read = ::read(wake, &rung, sizeof rung);
    if (osc) hear_osc();
    if (sacn_socket) hear_sacn(*sacn_socket);
    if (sacn_group_socket) hear_sacn(*sacn_group_socket);
    if (sacn) sacn->catch_up(threads::steady_ns());
    report();
  }
}

void Network::Core::hear_osc() {
  {
    const std::lock_guard lock(mutex);
    if (std::exchange(addresses_changed, false)) osc->know(addresses);
  }
  NetAddress from;
  for (int n = 0; n < kInARow; ++n) {
    const auto size = osc_socket->receive(room, from);
    if (!size) break;
    if (may_speak(from)) osc->hear(std::span(room).first(*size), from, threads::steady_ns(), unix_now_ns());
  }
  if (osc->any_waits()) osc->catch_up(threads::steady_ns(), unix_now_ns());
  for (const auto& asker : osc->take_askers()) {
    const auto known = std::find_if(askers.begin(), askers.end(), [&](const Asker& a) { return a.at == asker; });
    const std::int64_t until = threads::steady_ns() + kToldFor_ns;
    if (known != askers.end()) known->until_ns = until;
    else if (askers.size() < kMostAskers) askers.push_back({asker, until});
  }
  auto fresh = osc->take_orders();
  const std::lock_guard lock(mutex);
  for (auto& order : fresh)
    if (orders.size() < kMostWaiting) orders.push_back(std::move(order));
}

void Network::Core::hear_sacn(UdpSocket& socket) {
  NetAddress from;
  for (int n = 0; n < kInARow; ++n) {
    const auto size = socket.receive(room, from);
    if (!size) break;
    if (may_speak(from)) sacn->hear(std::span(room).first(*size), threads::steady_ns());
  }
}

void Network::Core::report() {
  const std::int64_t now = threads::steady_ns();
  std::erase_if(askers, [&](const Asker& a) { return a.until_ns <= now; });
  ShowState told;
  {
    const std::lock_guard lock(mutex);
    status.askers = static_cast<int>(askers.size());
    if (osc) status.osc_counts = osc->counts();
    if (sacn) {
      status.sacn_counts = sacn->counts();
      status.sources.clear();
      for (const auto& s : sacn->universe().sources()) status.sources.push_back({s.name, s.priority});
    }
    if (askers.empty() || !state_changed || now - reported_ns < kReportEvery_ns) return;
    state_changed = false;
    told = state;
  }
  reported_ns = now;
  const OscValue values[] = {static_cast<float>(told.time_s), std::int32_t{told.playing}, std::int32_t{told.armed}, std::string_view(told.cue), std::int32_t{told.link_well}};
  const auto packet = write_osc("/mien/state", values);
  for (const auto& asker : askers) osc_socket->send(packet, asker.at);
}

Network::Network(Inlet& inlet, int osc_device, int sacn_device) : core_(std::make_unique<Core>(inlet, osc_device, sacn_device)) {}
Network::~Network() { close(); }

std::optional<show::Finding> Network::open(const NetworkSettings& s) {
  close();
  Core& c = *core_;
  if (!s.osc && !s.sacn) return std::nullopt;
  std::optional<UdpSocket> osc, unicast, group;
  if (s.osc) {
    auto made = UdpSocket::open({s.osc_ip, s.osc_port}, "OSC");
    if (!made) return made.problem();
    osc.emplace(std::move(*made));
  }
  if (s.sacn) {
    auto made = UdpSocket::open({s.sacn_ip, s.sacn_port}, "sACN");
    if (!made) return made.problem();
    unicast.emplace(std::move(*made));
    // By loopback, or where no network is up yet, a group may not be to be had; unicast is heard all the same.
    auto joined = UdpSocket::join(sacn_group(s.universe), unicast->at().port, s.sacn_ip, "sACN");
    if (!joined && s.sacn_ip != 0 && !is_loopback(s.sacn_ip)) return joined.problem();
    if (joined) group.emplace(std::move(*joined));
  }
  c.settings = s;
  c.osc_socket = std::move(osc), c.sacn_socket = std::move(unicast), c.sacn_group_socket = std::move(group);
  c.status = {};
  if (c.osc_socket) {
    c.osc.emplace(c.inlet, c.osc_device);
    c.osc->let(s.may);
    c.addresses_changed = true;
    c.status.osc = true, c.status.osc_at = c.osc_socket->at();
  }
  if (c.sacn_socket) {
    c.sacn.emplace(c.inlet, c.sacn_device, s.universe);
    c.status.sacn = true, c.status.sacn_at = c.sacn_socket->at();
  }
  c.quit = false;
  c.thread = std::thread([&c] { c.run(); });
  return std::nullopt;
}

void Network::close() {
  Core& c = *core_;
  c.stop();
  // The thread is over, so this one may push in its place.
  if (c.osc) say_gone(c.inlet, c.osc_device, Touch::Kind::osc_gone);
  if (c.sacn) say_gone(c.inlet, c.sacn_device, Touch::Kind::slots_gone);
  c.osc.reset(), c.sacn.reset();
  c.osc_socket.reset(), c.sacn_socket.reset(), c.sacn_group_socket.reset();
  c.askers.clear();
  c.orders.clear();
  c.status = {};
}

void Network::know(std::vector<std::string> addresses) {
  {
    const std::lock_guard lock(core_->mutex);
    core_->addresses = std::move(addresses);
    core_->addresses_changed = true;
  }
  core_->ring();
}

std::optional<NetworkOrder> Network::order() {
  const std::lock_guard lock(core_->mutex);
  if (core_->orders.empty()) return std::nullopt;
  NetworkOrder order = std::move(core_->orders.front());
  core_->orders.pop_front();
  return order;
}

void Network::tell(const ShowState& state) {
  {
    const std::lock_guard lock(core_->mutex);
    core_->state = state;
    core_->state_changed = true;
    if (core_->status.askers == 0) return;
  }
  core_->ring();
}

NetworkStatus Network::status() const {
  const std::lock_guard lock(core_->mutex);
  return core_->status;
}

}  // namespace mien::live
