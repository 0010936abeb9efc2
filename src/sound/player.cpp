#include "sound/player.hpp"

#include <algorithm>
#include <cmath>
#include <condition_variable>
#include <future>
#include <mutex>
#include <thread>
#include <utility>

#include "sound/output.hpp"
#include "sound/posted.hpp"
#include "sound/renderer.hpp"
#include "sound/shelf.hpp"
#include "threads/steady.hpp"

namespace mien::sound {
namespace {

using namespace std::chrono_literals;

using threads::kMs;
constexpr auto kWatchEvery = 10ms, kIdleEvery = 500ms;
constexpr auto kPatience = 1s;           // with a sound server, where the window waits
constexpr auto kConvertPatience = 100ms;
constexpr std::int64_t kLookAgainAfter_ns = 2000 * kMs;
constexpr std::int64_t kStale_ns = 300 * kMs;        // a clock that nobody renewed for so long is not believed
constexpr std::int64_t kHung_ns = 400 * kMs;         // a device that took no sound for so long is as good as gone
constexpr std::int64_t kStartWithin_ns = 1000 * kMs;

show::Finding finding(std::string what, std::string cure) {
  return {show::Severity::warning, "", "sound", std::move(what), std::move(cure)};
}

}  // namespace

struct Player::Core {
  // The window's own.
  Wish wish;
  std::thread keeper;

  Shelf shelf;
  Renderer renderer{shelf};

  // For clock().
  enum class State : std::uint64_t { waiting, heard, over };
  struct Heard {
    std::uint64_t serial = 0;
    State state = State::waiting;
    ClockLine line;
    std::int64_t posted_ns = 0;
  };
  Posted<Heard> heard;
  std::atomic<std::uint64_t> serial{0};        // of the newest wish
  std::atomic<std::int64_t> play_asked_ns{0};  // 0: that wish is no play
  std::atomic<bool> silent{true};

  mutable std::mutex mutex;
  std::condition_variable changed;
  bool stop = false, look_again = true, looked = false, ended = false;
  std::optional<show::Finding> why;

  // The keeper's own.
  StreamClock clock;
  std::int64_t opened_ns = 0, taken_ns = 0, frames_taken = 0;
  std::uint64_t given_up = 0, last_heard = 0;  // serials

  explicit Core(bool mute);
  void keep();
  std::unique_ptr<Output> look_for_device();
  void watch(Output& output);
  void give_up_wishes();
  void post(std::int64_t now);
  void say(std::optional<show::Finding> reason);
  void make(Wish::Kind kind, show::Time from, show::Range loop);
};

Player::Core::Core(bool mute) {
  if (mute) why = show::Finding{show::Severity::note, "", "sound", "the sound is muted", "Start without muting it to hear the show"};
  else why = finding("the sound system has not answered yet", "The show plays silently on the steady clock; if this lasts, restart the sound server");
}

void Player::Core::say(std::optional<show::Finding> reason) {
  const std::lock_guard lock(mutex);
  silent.store(reason.has_value());
  why = std::move(reason);
  looked = true;
  changed.notify_all();
}

/// Nothing that was asked for so far will be heard any more: when sound comes back, it comes back with the next play.
void Player::Core::give_up_wishes() {
  given_up = serial.load();
  renderer.drop(given_up);
}

std::unique_ptr<Output> Player::Core::look_for_device() {
  renderer.rest();
  renderer.set_ready(false);
  clock.reset();
  auto opened = Output::open(renderer);
  give_up_wishes();
  opened_ns = taken_ns = threads::steady_ns();
  frames_taken = 0;
  if (opened) {
    say(std::nullopt);
    return std::move(*opened);
  }
  renderer.rest();  // the device may have pulled some sound before it failed
  say(opened.problem());
  return nullptr;
}

/// The keeper's thread: opens the device, reads its position, notices its end, and looks for another.
void Player::Core::keep() {
  std::unique_ptr<Output> output;
  bool lost = false;  // then it looks again by itself; a machine that never had a device is asked only by play()
  std::int64_t looked_ns = 0;
  std::unique_lock lock(mutex);
  while (!stop) {
    const bool due = lost && threads::steady_ns() - looked_ns > kLookAgainAfter_ns;
    const bool look = !output && (std::exchange(look_again, false) || due);
    lock.unlock();
    if (look) {
      output = look_for_device();
      looked_ns = threads::steady_ns();
    }
    if (output && output->failed()) {
      say(finding("the sound device or its server went away", "The show plays on silently; once the device is back, press play again"));
      output.reset();
      lost = true;
      looked_ns = threads::steady_ns();
    }
    if (output) watch(*output);
    else renderer.rest();
    shelf.sweep();
    lock.lock();
    changed.wait_for(lock, output ? kWatchEvery : kIdleEvery, [&] { return stop || (!output && look_again); });
  }
  lock.unlock();
  output.reset();
  lock.lock();
  ended = true;
  changed.notify_all();
}

void Player::Core::watch(Output& output) {
  const std::int64_t now = threads::steady_ns();
  const bool hung_before = now - taken_ns > kHung_ns;
  if (const std::int64_t frames = renderer.frames(); frames != frames_taken) {
    frames_taken = frames;
    taken_ns = now;
    if (hung_before) {
      opened_ns = now;
      say(std::nullopt);
    }
  } else if (hung_before) {
    clock.lose(now);
    renderer.set_ready(false);
    give_up_wishes();
    if (!silent.load()) say(finding("the sound device takes no more sound", "The show plays on silently; restart the sound server or choose another device there, then press play again"));
    return;
  }
  if (const auto position = output.position()) clock.observe(position->steady_ns, position->heard_ns);
  if (clock.line().running || now - opened_ns > kStartWithin_ns) renderer.set_ready(true);
  post(now);
}

void Player::Core::post(std::int64_t now) {
  const Anchor& anchor = renderer.anchor();
  ClockLine line;
  if (anchor.serial > given_up) line = show_line(clock.line(), anchor, now);
  if (line.running) last_heard = anchor.serial;
  const bool over = anchor.serial <= given_up || anchor.serial == last_heard;
  heard.write({anchor.serial, line.running ? State::heard : over ? State::over : State::waiting, line, now});
}

void Player::Core::make(Wish::Kind kind, show::Time from, show::Range loop) {
  wish.kind = kind;
  wish.from = std::clamp(from, -kFarthest, kFarthest);
  wish.loop = loop;
  ++wish.serial;
  play_asked_ns.store(kind == Wish::Kind::play ? threads::steady_ns() : 0);
  serial.store(wish.serial);
  renderer.wish(wish);
}

Player::Player(bool mute) : core_(std::make_shared<Core>(mute)) {
  if (mute) return;
  core_->keeper = std::thread([core = core_] { core->keep(); });
  std::unique_lock lock(core_->mutex);
  core_->changed.wait_for(lock, kPatience, [&] { return core_->looked; });
}

Player::~Player() {
  if (!core_->keeper.joinable()) return;
  std::unique_lock lock(core_->mutex);
  core_->stop = true;
  core_->changed.notify_all();
  const bool ended = core_->changed.wait_for(lock, kPatience, [&] { return core_->ended; });
  lock.unlock();
  if (ended) core_->keeper.join();
  else core_->keeper.detach();  // held by a hung server; it ends, and frees the core, when that lets go
}

bool Player::silent() const noexcept { return core_->silent.load(); }

std::optional<show::Finding> Player::silent_because() const {
  const std::lock_guard lock(core_->mutex);
  return core_->why;
}

void Player::set_sounds(std::vector<Placed> sounds) {
  if (core_->keeper.joinable()) core_->shelf.set(std::move(sounds), kConvertPatience);
}

void Player::play(show::Time from, show::Range loop) {
  core_->make(Wish::Kind::play, from, loop);
  if (!silent()) return;
  const std::lock_guard lock(core_->mutex);
  core_->look_again = true;
  core_->changed.notify_all();
}

void Player::pause() { core_->make(Wish::Kind::rest, show::Time{0}, {}); }

void Player::scrub(show::Time at) { core_->make(Wish::Kind::grain, at, {}); }

void Player::set_volume(float volume) {
  core_->wish.volume = std::isfinite(volume) ? std::clamp(volume, 0.0f, 1.0f) : 0.0f;
  core_->renderer.wish(core_->wish);
}

ClockLine Player::clock() const noexcept {
  const std::uint64_t wanted = core_->serial.load();
  const std::int64_t asked_ns = core_->play_asked_ns.load();
  if (asked_ns == 0 || core_->silent.load()) return {};
  const Core::Heard heard = core_->heard.read();
  const std::int64_t now = threads::steady_ns();
  const bool current = heard.serial == wanted;
  if (current && heard.state == Core::State::heard && now - heard.posted_ns < kStale_ns) return heard.line;
  ClockLine line;
  line.starting = !(current && heard.state != Core::State::waiting) && now - asked_ns < kStartWithin_ns;
  return line;
}

std::vector<std::string> output_devices() {
  std::promise<std::vector<std::string>> promise;
  auto names = promise.get_future();
  std::thread([promise = std::move(promise)]() mutable { promise.set_value(list_output_devices()); }).detach();
  return names.wait_for(2 * kPatience) == std::future_status::ready ? names.get() : std::vector<std::string>{};
}

}  // namespace mien::sound
