#include "link/session_core.hpp"

#include <algorithm>

#include "threads/steady.hpp"

namespace mien::link {
namespace {

using threads::kMs;
constexpr std::int64_t kFirstRetry_ns = 50 * kMs, kLastRetry_ns = 1000 * kMs;
constexpr std::int64_t kFarewell_ns = 200 * kMs;  ///< how long closing waits to hear that the boards stopped
constexpr std::int64_t kPublishEvery_ns = 10 * kMs;
constexpr std::int64_t kFull_ns = kMs;            ///< a port that took no more is tried again after this
constexpr std::int64_t kLook_ns = kMs / 4, kLongestLook_ns = kMs;  ///< frames that are due are looked for so often; late ones less and less
constexpr std::int64_t kIdle_ns = 1000 * kMs;
constexpr std::int64_t kNever_ns = INT64_MAX;

/// But for which very boards they are: adopting one changes nothing for those that are there.
bool same_boards(const show::Rig& a, const show::Rig& b) {
  return std::equal(a.boards.begin(), a.boards.end(), b.boards.begin(), b.boards.end(), [](show::Board one, show::Board other) {
    one.identity.clear(), other.identity.clear();
    return one == other;
  });
}

show::Result<PortPtr> open_any(const std::string& text, const show::Rig& rig, const Wake& cancel) {
  const auto name = parse_port(text);
  if (!name) return name.problem();
  switch (name->kind) {
    case PortName::Kind::sim: return open_sim(rig, text);
    case PortName::Kind::tcp: return open_tcp(*name, text, cancel);
    case PortName::Kind::serial: break;
  }
  return open_serial(*name, text);
}

}  // namespace

Session::Core::Core(const show::Rig& rig, Options options)
    : options_(options), rig_(rig), conversation_(rig), thread_([this] { run(); }) {}

Session::Core::~Core() {
  quit_ = true;
  wake_.ring();
  thread_.join();
}

void Session::Core::order_rig(const show::Rig& rig) {
  order([&](Orders& orders, Status&) { orders.rig = rig, orders.rig_number = ++rig_ordered_; });
}

// A frame wakes nobody: that would be a system call of the performing thread's, which makes none but its sleep. Instead the link's
// thread knows from one frame when the performing thread wakes for the next, sleeps until then, and looks for it every kLook_ns, and
// every millisecond once it is that late: two or three wake-ups a tick, and a frame is on the wire 1/8 ms later on average.
// tests/bench/link_bench.cpp measures it.
bool Session::Core::push(const Frame& frame) noexcept {
  if (frame.epoch == 0 || frame.epoch != slot_.epoch() || rig_ordered_ != rig_served_) return false;
  if (!frames_.push(frame)) {
    frames_refused_by_ring_.fetch_add(1, std::memory_order_relaxed);
    return false;
  }
  return true;
}

Status Session::Core::status() const {
  const std::lock_guard lock(mutex_);
  return told_;
}

// ---- one turn of the link's thread

void Session::Core::run() {
  while (!quit_) {
    wake_.clear();
    now_ns_ = threads::steady_ns();
    take_orders();
    open_port();
    read();
    follow();
    if (port_) conversation_.step(now_ns_);
    take_frames();
    write();
    publish();
    wait(port_.get(), wake_, due_ns() - threads::steady_ns());
  }
  close_port();
}

void Session::Core::take_orders() {
  Orders taken;
  {
    const std::lock_guard lock(mutex_);
    std::swap(taken, orders_);
  }
  if (taken.port) take_port(*taken.port);
  if (taken.rig) take_rig(*taken.rig, taken.rig_number);
  if (taken.adopt) conversation_.adopt();
  for (const auto goal : taken.goals) want(goal);
}

void Session::Core::take_port(const std::string& text) {
  close_port();
  port_text_ = text;
  port_trouble_.reset();
  note_.reset();
  was_ready_ = false;
  retry_at_ns_ = 0;
  retry_after_ns_ = kFirstRetry_ns;
  conversation_ = Conversation(rig_);  // counts begin anew, too
  frames_abandoned_ = 0;
  frames_refused_by_ring_ = 0;
  mine_ = Status{};
}

void Session::Core::take_rig(const show::Rig& newer, std::uint32_t number) {
  if (newer == rig_ && !next_rig_) return void(rig_served_ = number);
  if (same_boards(newer, rig_) && conversation_.serves(newer)) {  // nothing in it that a board would have to know
    rig_ = newer;
    next_rig_.reset();
    conversation_.take_identities(rig_);
    rig_served_ = number;
    return;
  }
  next_rig_ = newer;
  next_rig_number_ = number;
  if (conversation_.goal() == Goal::arm) want(Goal::disarm);
}

/// Once no board is driven by the old one.
void Session::Core::change_rig() {
  rig_ = *std::exchange(next_rig_, std::nullopt);
  conversation_.set_rig(rig_, now_ns_);
  rig_served_ = next_rig_number_;
  was_ready_ = false;
  if (!port_text_.starts_with("sim:")) return;
  close_port();  // boards simulated for the old rig are not those of the new one
  retry_at_ns_ = 0;
}

void Session::Core::want(Goal goal) {
  if (goal == Goal::arm) {
    const auto now = state();
    if ((now != State::ready && now != State::disarming) || next_rig_) return;
    note_.reset();
    was_armed_ = false;
    conversation_.set_goal(Goal::arm, now_ns_);
    return;
  }
  resume_until_ns_ = 0;
  was_armed_ = false;
  disarm_slot();
  if (goal == Goal::disarm && conversation_.goal() == Goal::stop && !conversation_.silent()) return;  // stop is not taken back
  conversation_.set_goal(goal, now_ns_);
  if (goal == Goal::stop && port_) {
    port_->discard_output();
    write();
  }
}

void Session::Core::open_port() {
  if (port_ || port_text_.empty() || now_ns_ < retry_at_ns_) return;
  auto opened = open_any(port_text_, rig_, wake_);
  now_ns_ = threads::steady_ns();  // connecting may have taken a while
  if (opened) {
    port_ = std::move(*opened);
    if (!was_ready_) port_trouble_.reset();  // else it still tells why the link was lost
    conversation_.begin(now_ns_);
    return;
  }
  port_trouble_ = opened.problem();
  retry_at_ns_ = parse_port(port_text_) ? now_ns_ + retry_after_ns_ : kNever_ns;
  retry_after_ns_ = std::min(retry_after_ns_ * 2, kLastRetry_ns);
}

void Session::Core::read() {
  if (!port_) return;
  std::uint8_t chunk[4096];
  // A bound, so that a line which never falls silent can't keep orders waiting.
  for (int i = 0; i < 16; ++i) {
    const auto count = port_->read(chunk);
    if (count == 0) break;
    mine_.bytes_in += count;
    conversation_.receive(std::span(chunk).first(count), threads::steady_ns());
  }
  port_->check();
}

/// Draws the conclusions from what the port and the boards said.
void Session::Core::follow() {
  if (port_ && port_->lost()) {
    lose(*port_->lost());
  } else if (const Peer* quiet = port_ ? conversation_.gone_quiet(now_ns_) : nullptr) {
    lose({show::Severity::error, port_text_, "board " + quiet->name, "It stopped answering",
          "Check its supply and cable; the port is opened again by itself"});
  }
  if (conversation_.configured()) {
    was_ready_ = true;
    port_trouble_.reset();
    retry_after_ns_ = kFirstRetry_ns;
  }
  if (slot_.epoch() != 0 && !conversation_.armed()) fall();
  if (slot_.epoch() == 0 && conversation_.armed()) {
    disarm_slot();
    resume_until_ns_ = 0;
    was_armed_ = true;
    slot_.arm(conversation_.pulses());
  }
  if (const auto back = conversation_.take_rejoined(); back != 0 && slot_.epoch() != 0)
    conversation_.joined(slot_.join(back, conversation_.pulses()));
  if (resume_until_ns_ != 0 && now_ns_ > resume_until_ns_ && !conversation_.configured())
    stay_disarmed("The link was away for too long for the head to be armed again by itself");
  if (next_rig_ && (!port_ || !conversation_.configured() || conversation_.silent())) change_rig();
}

/// The boards say that they are no longer armed, though the link stands.
void Session::Core::fall() {
  disarm_slot();
  const auto& peers = conversation_.peers();
  const auto restarted = std::find_if(peers.begin(), peers.end(), [](const Peer& p) { return !p.configured() && !p.absent; });
  if (restarted == peers.end()) {
    want(Goal::disarm);
    note_ = show::Finding{show::Severity::warning, port_text_, "", "The boards released the head by themselves, for no frames came",
                          "Arm again; if this comes back, see whether the computer is overloaded"};
    return;
  }
  note_ = show::Finding{show::Severity::warning, port_text_, "board " + restarted->name, "It restarted while armed",
                        "Check its supply: servos that start together may pull it down"};
  ++mine_.times_lost;
  if (options_.resume_within_s > 0) {
    resume_until_ns_ = now_ns_ + static_cast<std::int64_t>(options_.resume_within_s * 1e9);
    conversation_.set_goal(Goal::arm, now_ns_);
  } else {
    want(Goal::disarm);
  }
}

void Session::Core::lose(show::Finding why) {
  if (conversation_.configured()) ++mine_.times_lost;
  // Not whether an epoch stands: it would not in the moments in which boards that left their last setpoint are armed anew.
  if (was_armed_ && options_.resume_within_s > 0 && resume_until_ns_ == 0)
    resume_until_ns_ = now_ns_ + static_cast<std::int64_t>(options_.resume_within_s * 1e9);
  disarm_slot();
  port_.reset();
  port_trouble_ = std::move(why);
  retry_at_ns_ = now_ns_ + retry_after_ns_;
  retry_after_ns_ = std::min(retry_after_ns_ * 2, kLastRetry_ns);
  conversation_.begin(now_ns_);
  // The goal stays where the person's wish does: armed to be armed again, stopped to be stopped as soon as boards hear it.
  if (conversation_.goal() == Goal::arm && resume_until_ns_ == 0)
    stay_disarmed(was_armed_ ? "The link was lost while the head was armed" : "The link was lost before the head was armed");
}

/// Against the person's wish, so they are told.
void Session::Core::stay_disarmed(const char* why) {
  want(Goal::disarm);
  note_ = show::Finding{show::Severity::warning, port_text_, "", why, "Arm again"};
}

/// From here on no frame of the present epoch is written.
void Session::Core::disarm_slot() {
  slot_.disarm();
  take_frames();
}

void Session::Core::take_frames() {
  const auto epoch = slot_.epoch();
  const bool creeping = conversation_.creeping_to_rest();
  bool again = false;
  Frame frame;
  while (frames_.pop(frame)) {
    const bool current = epoch != 0 && frame.epoch == epoch;
    again |= current && creeping;
    if (current) look_at_ns_ = frame.latch_ns - static_cast<std::int64_t>(rig_.latch_lead_ms * 1e6) + tick_ns() + kLook_ns;
    if (current && !creeping) conversation_.send(frame);
    else ++frames_abandoned_;
  }
  if (!again) return;
  // Frames failed to come for so long that the boards left the last setpoint. This one would take the head back at full speed, so
  // arm anew: then the first move creeps from where the head is by now. Not before a frame comes, for else it would never reach rest.
  slot_.disarm();
  conversation_.set_goal(Goal::arm, now_ns_);
}

void Session::Core::write() {
  if (!port_) return;
  auto& outbox = conversation_.outbox();
  while (!outbox.empty()) {
    const auto count = port_->write(outbox.front());
    if (count == 0) return;
    mine_.bytes_out += count;
    mine_.frames_sent += outbox.wrote(count);
  }
}

/// Boards that may drive anything are stopped first, and waited for, though not for long.
void Session::Core::close_port() {
  if (port_ && (conversation_.goal() == Goal::arm || !conversation_.silent())) {
    want(Goal::stop);
    const auto until_ns = threads::steady_ns() + kFarewell_ns;
    while (!port_->lost() && !conversation_.silent() && (now_ns_ = threads::steady_ns()) < until_ns) {
      wake_.clear();
      wait(port_.get(), wake_, kFull_ns);
      read();
      conversation_.step(now_ns_);
      write();
    }
  }
  disarm_slot();
  port_.reset();
  resume_until_ns_ = 0;
  conversation_.begin(now_ns_);
  conversation_.set_goal(Goal::disarm, now_ns_);
}

// ---- what the window sees

State Session::Core::state() const {
  if (port_text_.empty()) return State::closed;
  if (!conversation_.configured()) return was_ready_ ? State::lost : port_ ? State::greeting : State::opening;
  if (slot_.epoch() != 0) return State::armed;
  if (conversation_.goal() == Goal::arm) return State::arming;
  return conversation_.silent() ? State::ready : State::disarming;
}

std::optional<show::Finding> Session::Core::trouble() const {
  if (port_text_.empty()) return std::nullopt;
  if (!port_) return port_trouble_;
  auto said = conversation_.trouble(now_ns_);
  if (!said) said = port_trouble_;  // of a link that is lost; once it is back, there is none
  if (!said) said = note_;
  if (said && said->file.empty()) said->file = port_text_;
  return said;
}

void Session::Core::publish() {
  const auto now_state = state();
  auto now_trouble = trouble();
  const bool news = now_state != mine_.state || now_trouble != mine_.trouble || mine_.port != port_text_;
  if (!news && now_ns_ - published_ns_ < kPublishEvery_ns) return;
  published_ns_ = now_ns_;
  mine_.state = now_state;
  mine_.trouble = std::move(now_trouble);
  mine_.port = port_text_;
  conversation_.describe(mine_, now_ns_);
  mine_.frames_dropped = conversation_.outbox().frames_dropped() + frames_abandoned_ + frames_refused_by_ring_;
  const std::lock_guard lock(mutex_);
  if (!orders_.port) told_ = mine_;  // an open() that was called meanwhile already said what is next
}

std::int64_t Session::Core::due_ns() const {
  if (!port_) return port_text_.empty() || retry_at_ns_ == kNever_ns ? now_ns_ + kIdle_ns : retry_at_ns_;
  auto due_ns = conversation_.next_due_ns(now_ns_);
  // Whatever latch time a frame told, the next is looked for within a tick.
  const std::int64_t step_ns = std::clamp(now_ns_ - look_at_ns_, kLook_ns, kLongestLook_ns);
  if (slot_.epoch() != 0) due_ns = std::min(due_ns, std::clamp(look_at_ns_, now_ns_ + step_ns, now_ns_ + kLook_ns + tick_ns()));
  return conversation_.outbox().empty() ? due_ns : std::min(due_ns, now_ns_ + kFull_ns);
}

}  // namespace mien::link
