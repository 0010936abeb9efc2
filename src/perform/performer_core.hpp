// What the performer's two sides share: its callers' (performer_calls.cpp) and the performing thread's (performer.cpp). For these two files alone.
#pragma once
#include <array>
#include <atomic>
#include <cstdint>
#include <thread>

#include "perform/performer.hpp"
#include "perform/sound_chase.hpp"
#include "perform/transport.hpp"
#include "threads/latest.hpp"
#include "threads/ring.hpp"

namespace mien::perform {

struct Command {
  enum class Kind : std::uint8_t { play, pause, seek, loop, state, clear_states, panic, give, record, follow, release_cues, cues_live, day } kind = Kind::pause;
  bool with_sound = false;
  show::Time time{0};
  show::Range loop{};
  int auxiliary = 0;
  std::uint8_t value = 0;
  int group = 0;
  bool on = false;
  live::FollowSettings follow{};
  std::int64_t ns = 0;
};

// A plan on its way to the performing thread, with cursors made ready, and on its way back to be freed.
struct Handover {
  PlanPtr plan;
  Head head;
};

struct Performer::Core {
  Core(link::Session* s, sound::Player* p, live::Inlet* inlet) : session(s), player(p), hands(inlet), thread([this] { run(); }) {}
  ~Core() {
    quit = true;
    thread.join();
    delete incoming.exchange(nullptr);
    free_retired();
    delete current;
  }

  // The window's side.
  void send(const Command& command) noexcept {
    ++sent;
    while (!commands.push(command)) std::this_thread::yield();  // 63 commands within one tick: wait for the tick
  }
  show::Time here() noexcept;
  void chase(const Report& r) noexcept;
  void start(show::Time from) noexcept { start(from, loop); }
  void start(show::Time from, show::Range within) noexcept;
  void halt() noexcept;
  void free_retired() noexcept {
    for (Handover* old = nullptr; retired.pop(old);) delete old;
  }

  // The performing thread's side.
  void run() noexcept;
  void take_plan() noexcept;
  void obey(std::int64_t latch_ns) noexcept;
  void perform(std::int64_t latch_ns) noexcept;
  double velocity_share(const link::Armed& armed, std::int64_t latch_ns) noexcept;
  void stand_at_pulse(const link::Armed& armed, int actuator) noexcept;
  void take_joined(const link::Armed& armed, std::int64_t latch_ns) noexcept;
  void send_frame(std::int64_t latch_ns) noexcept;
  show::Time perform_cues(std::int64_t latch_ns, show::Time time) noexcept;
  void report(show::Time time, std::int64_t latch_ns) noexcept;
  std::uint8_t value_of(int auxiliary) const noexcept {
    const std::int16_t instead = told[static_cast<std::size_t>(auxiliary)];
    return instead < 0 ? auxiliary_of(*current->plan, auxiliary, now.control) : static_cast<std::uint8_t>(instead);
  }

  link::Session* const session;
  sound::Player* const player;
  HandsSide hands;
  live::Follower follower;
  live::Followed followed;
  CueSide cues;
  std::atomic<bool> sounds{false};  // a start by cues is heard: the window's thread starts the sound, and with it the show
  std::atomic<bool> quit{false};
  std::atomic<Handover*> incoming{nullptr};
  threads::Ring<Handover*, 16> retired;
  threads::Ring<Command, 64> commands;
  threads::Latest<Report> reports;

  Handover* current = nullptr;
  Transport transport;
  Tick now;
  LatenessMeter meter;
  bool realtime = false;
  std::array<float, kMostGoverned> taken{};  // what is missing of the rails' shares, for the window
  Mode mode = Mode::rehearse;
  std::uint32_t epoch = 0, sequence = 0;
  std::array<std::int16_t, show::kMaxAuxiliaries> told;  // by set_state(); -1: the show says
  std::uint64_t obeyed = 0;
  std::int64_t creep_since_ns = 0;
  show::Range loop_now;
  std::int64_t last_latch_ns = 0;
  std::int64_t day_off_ns = INT64_MIN;  // from the steady clock to the time of day; the least: nobody told
  // Boards that joined an armed head: their actuators creep while the others go on.
  std::uint32_t joins = 0;
  std::array<bool, show::kMaxActuators> joining{};
  std::array<std::int64_t, show::kMaxActuators> joined_ns{};
  motion::Limits slowed;

  // The window's own.
  PlanPtr published;
  std::uint64_t sent = 0;
  std::uint64_t gone = 0;  // of CuesNow::goes
  show::Time asked{0};  // where the last command put the show, until a report tells
  show::Range loop;
  bool sounding = false;
  bool following = false;
  SoundChase sound_chase;
  std::thread thread;  // last, so that it starts when all else is there
};

}  // namespace mien::perform
