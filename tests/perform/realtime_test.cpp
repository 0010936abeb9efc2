// The performing thread keeps its promise over a real performance of the demo; and the guard that says so catches whatever breaks it.
#include <gtest/gtest-spi.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <condition_variable>
#include <functional>
#include <mutex>
#include <shared_mutex>
#include <thread>

#include "heads.hpp"
#include "live/midi.hpp"
#include "live/mtc_out.hpp"
#include "perform/performer.hpp"
#include "realtime_guard.hpp"
#include "sound/pulse.hpp"
#include "sound/wave.hpp"
#include "store/map_store.hpp"
#include "store/store.hpp"
#include "threads/realtime.hpp"
#include "threads/steady.hpp"

namespace mien::perform {
namespace {

using namespace testing;
using sound::eventually;
using std::chrono::milliseconds;
using std::chrono::seconds;

// What a guard finds of a thread that does this while it performs.
std::vector<std::string> caught(const std::function<void()>& deed) {
  RealtimeGuard guard;
  std::thread([&] {
    const threads::Realtime performs;
    deed();
  }).join();
  EXPECT_EQ(guard.threads(), 1u);
  return guard.caught();
}

bool names(const std::vector<std::string>& found, const std::string& what) {
  return std::any_of(found.begin(), found.end(), [&](const auto& text) { return text.starts_with(what + ", "); });
}

TEST(RealtimeGuard, CatchesWhateverAllocatesLocksOrCallsTheSystem) {
  if (const auto why = RealtimeGuard::unable(); !why.empty()) GTEST_SKIP() << why;
  std::mutex mutex;
  std::shared_mutex shared;
  std::condition_variable bell;
  std::atomic<int> word{0};
  void* volatile kept = nullptr;
  std::string text;
  auto* given = new int(3);
  const std::string file = MIEN_SOURCE_DIR "/shows/keeper.rig.json";
  struct Row {
    const char* what;
    std::function<void()> deed;
  };
  // Numbers of system calls: the x86-64 table of the Linux kernel (arch/x86/entry/syscalls/syscall_64.tbl), from memory.
  const Row rows[] = {
      {"malloc", [&] { kept = std::malloc(100); }},
      {"malloc", [&] { kept = new double(1); }},
      {"malloc", [&] { text.resize(4000); }},
      {"calloc", [&] { kept = std::calloc(3, 5); }},
      {"aligned_alloc", [&] { kept = std::aligned_alloc(64, 128); }},
      {"free", [&] { delete given; }},
      {"pthread_mutex_lock", [&] { const std::lock_guard lock(mutex); }},
      {"pthread_mutex_trylock", [&] { if (mutex.try_lock()) mutex.unlock(); }},
      {"pthread_rwlock_rdlock", [&] { const std::shared_lock lock(shared); }},
      {"pthread_rwlock_wrlock", [&] { const std::unique_lock lock(shared); }},
      {"pthread_cond_broadcast", [&] { bell.notify_all(); }},
      {"pthread_cond_signal", [&] { bell.notify_one(); }},
      {"system call 202", [&] { std::unique_lock lock(mutex); bell.wait_for(lock, milliseconds(1)); }},  // futex
      {"system call 24", [&] { std::this_thread::yield(); }},                                           // sched_yield
      {"system call 257", [&] { ::close(::open(file.c_str(), O_RDONLY)); }},                            // openat
      {"system call 3", [&] { ::close(-1); }},                                                          // close
      {"system call 1", [&] { EXPECT_EQ(::write(-1, "x", 1), -1); }},                                   // write
      {"system call 39", [&] { EXPECT_GT(::getpid(), 1); }},                                            // getpid
      {"system call 11", [&] { kept = std::malloc(64u << 20); std::free(kept); }},                      // munmap
  };
  for (const auto& row : rows) {
    const auto found = caught(row.deed);
    std::string all;
    for (const auto& one : found) all += one + "\n";
    EXPECT_TRUE(names(found, row.what)) << row.what << " was not caught; these were:\n" << all;
  }
}

TEST(RealtimeGuard, FailsTheTestThatRunsThen) {
  if (const auto why = RealtimeGuard::unable(); !why.empty()) GTEST_SKIP() << why;
  EXPECT_NONFATAL_FAILURE(
      {
        RealtimeGuard guard;
        std::thread([] {
          const threads::Realtime performs;
          std::this_thread::yield();
        }).join();
        guard.expect_nothing();
      },
      "broke its promise: system call 24, 1 time");
}

TEST(RealtimeGuard, LetsWhatItCaughtGoOn_AndLeavesOtherThreadsAlone) {
  if (const auto why = RealtimeGuard::unable(); !why.empty()) GTEST_SKIP() << why;
  char read[9] = {};
  const auto found = caught([&] {
    const int file = ::open(MIEN_SOURCE_DIR "/shows/keeper.rig.json", O_RDONLY);
    ::close(file);
    std::snprintf(read, sizeof read, "%d", file);
  });
  EXPECT_GT(std::atoi(read), 2) << "the call was made all the same";
  EXPECT_EQ(found.size(), 2u);
  RealtimeGuard guard;
  delete new int(3);
  std::thread([] { std::this_thread::yield(); }).join();
  EXPECT_TRUE(guard.caught().empty());
}

TEST(RealtimeGuard, LetsSleepReckonAndTellTheTime) {
  if (const auto why = RealtimeGuard::unable(); !why.empty()) GTEST_SKIP() << why;
  double sum = 0;
  const auto found = caught([&] {
    for (int n = 0; n < 20; ++n) {
      sum += std::sin(n) + static_cast<double>(threads::steady_ns());
      std::this_thread::sleep_for(milliseconds(1));
    }
  });
  EXPECT_GT(sum, 0);
  for (const auto& text : found) ADD_FAILURE() << text;
}

show::Cue held_cue(std::string name, show::CueDeed deed, show::Time hold = show::Time{0}) {
  show::Cue c;
  c.name = std::move(name), c.deed = std::move(deed), c.hold = hold;
  return c;
}

// The demo with hands on its own map, cues of each kind, idle life, simulated boards that lose their link for a moment, edits that are published meanwhile, and its sound on a server where there is one.
TEST(Performance, OfTheDemo_NeitherAllocatesNorLocksNorCallsTheSystem) {
  if (const auto why = RealtimeGuard::unable(); !why.empty()) GTEST_SKIP() << why;
  const std::string shows = std::string(MIEN_SOURCE_DIR) + "/shows/";
  const auto loaded = store::load_show(shows + "keeper.show.json");
  ASSERT_TRUE(loaded) << show::to_text(loaded.problem());
  auto show = std::make_shared<show::Show>(*loaded->show);
  ASSERT_GE(show->markers.size(), 4u);
  show->cues = {held_cue("joy", show::CuePose{"joy", 0.8}), held_cue("blink", show::CueClip{"blink", false}), held_cue("wink", show::CueClip{"wink", true}, seconds(1)),
                held_cue("greet", show::CueStretch{show->markers[2].name, show->markers[3].name}), held_cue("any", show::CueChoice{{"joy", "blink", "wink"}, 7}), held_cue("end", show::CueStop{})};
  show->cues[1].follow = "joy", show->cues[0].hold = milliseconds(300);
  auto alive = std::make_shared<show::Layer>();
  alive->name = "alive", alive->idle = show::IdleLife{};
  show->layers.push_back(alive);
  auto map = store::load_map(shows + "keeper.map.json", *loaded->rig, show.get());
  ASSERT_TRUE(map) << show::to_text(map.problem());
  live::Trigger by_hand;
  by_hand.source = {"", 0, live::Source::Kind::note, 80}, by_hand.what = live::Trigger::What::cue, by_hand.name = "any";
  map->map.triggers.push_back(by_hand);
  std::vector<std::string> addresses;
  live::know_controls(*loaded->rig, addresses);
  const auto program = live::compile(map->map, loaded->rig, show, {}, addresses);

  // Before the guard: what these threads do is not the performing thread's.
  sound::PulseServer server;
  const bool with_sound = sound::have_pulseaudio() && server.start();
  sound::Player player(!with_sound);
  if (with_sound) {
    ASSERT_TRUE(eventually(seconds(20), [&] { return !player.silent(); }));
    const auto wave = sound::load(shows + show->sounds.at(0).file);
    ASSERT_TRUE(wave);
    player.set_sounds({{*wave, show->sounds[0].start, show->sounds[0].trim, 1}});
  }
  const auto inlet = std::make_unique<live::Inlet>();
  link::Session session(*loaded->rig);
  RealtimeGuard guard;
  {
    Performer performer(&session, &player, inlet.get());
    performer.publish(compile(loaded->rig, show, nullptr, program));
    session.open("sim:");
    ASSERT_TRUE(eventually(seconds(20), [&] { return session.status().state == link::State::ready; }));
    session.arm();
    ASSERT_TRUE(eventually(seconds(20), [&] { return performer.latest().mode == Mode::live; }));

    int moment = 0;
    bool sounded = false;
    live::TakeTick taken;
    std::uint64_t on_tape = 0;
    const auto perform_for = [&](std::uint64_t ticks) {
      const auto until = performer.latest().lateness.ticks + ticks;
      return eventually(seconds(60), [&] {
        const auto& now = performer.latest();
        sounded = sounded || now.sound_is_clock;
        while (performer.take(taken)) ++on_tape;
        ++moment;
        const auto note = static_cast<std::uint8_t>(60 + moment / 50 % 24);
        using K = live::MidiMessage::Kind;
        inlet->push({.at_ns = threads::steady_ns(), .midi = {K::controller, 0, static_cast<std::uint8_t>(1 + moment % 6), static_cast<std::uint16_t>(moment * 3 % 128), {}}});
        if (moment % 50 == 0) inlet->push({.at_ns = threads::steady_ns(), .midi = {K::note_on, 0, note, 100, {}}});
        if (moment % 50 == 30) inlet->push({.at_ns = threads::steady_ns(), .midi = {K::note_off, 0, note, 0, {}}});
        if (moment % 170 == 0) performer.start_cue(moment / 170 % 6);
        if (moment % 410 == 0) performer.release_cues();
        return now.lateness.ticks >= until;
      });
    };
    performer.record(true);
    performer.set_cues_live(true);
    performer.set_day(3'600'000'000'000);
    performer.play();
    ASSERT_TRUE(perform_for(400));
    auto edited = std::make_shared<show::Show>(*show);
    edited->length += seconds(1);
    performer.publish(compile(loaded->rig, edited, nullptr, live::compile(map->map, loaded->rig, edited, {}, addresses)));
    performer.set_loop({seconds(1), seconds(3)});
    performer.seek(seconds(2));
    performer.play();
    ASSERT_TRUE(perform_for(300));
    performer.panic();
    performer.give(0, false);
    performer.set_state(0, 1);
    performer.pause();
    ASSERT_TRUE(perform_for(50));
    performer.give(0, true);
    performer.set_loop({});
    // Another rig: setpoints are carried over by name.
    performer.publish(compile(std::make_shared<show::Rig>(*loaded->rig), edited, nullptr, live::compile(map->map, loaded->rig, edited, {}, addresses)));
    performer.follow({.source = live::FollowSettings::Source::mtc, .freewheel_ns = 300'000'000});
    live::MtcOut code;
    live::MidiParser parser;
    const auto began = threads::steady_ns();
    ASSERT_TRUE(eventually(seconds(20), [&] {
      const auto now = threads::steady_ns();
      code.follow({now, seconds(5) + show::Time{now - began}, true});
      for (auto due = code.due(now); due.count; due = code.due(now))
        for (int k = 0; k < due.count; ++k)
          if (const auto m = parser.feed(due.byte[static_cast<std::size_t>(k)])) inlet->push({.at_ns = now, .device = 1, .midi = *m});
      return performer.latest().followed.state == live::Followed::State::locked && performer.latest().playing;
    }));
    ASSERT_TRUE(perform_for(100)) << "the time code has fallen silent meanwhile";
    performer.follow({});
    session.stop();
    ASSERT_TRUE(eventually(seconds(20), [&] { return performer.latest().mode == Mode::rehearse; }));
    performer.stop();
    ASSERT_TRUE(perform_for(50));
    EXPECT_GT(performer.latest().hands.heard, 500u);
    EXPECT_GT(performer.latest().cues.begun, 3u);
    EXPECT_GT(on_tape, 100u);
    EXPECT_GT(session.status().frames_acknowledged, 300u);
    EXPECT_TRUE(sounded || !with_sound) << "the sound was the show's clock for a while";
    EXPECT_GE(guard.sleeps(), performer.latest().lateness.ticks) << "watched on every tick";
  }
  EXPECT_EQ(guard.threads(), 1u) << "the performer's own";
  guard.expect_nothing();
}

}  // namespace
}  // namespace mien::perform
