// A sound that chases a show which another machine leads: a device of the test's own, that is late by what it is late by. The 45 ms: ITU-R BT.1359-1 (1998), detectability.
#include "perform/sound_chase.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "support/time.hpp"

namespace mien::perform {
namespace {

using support::kMs;
constexpr std::int64_t kTick = 10 * kMs;

// Plays what it is told to, late, and a trifle fast or slow.
struct Room {
  void run(std::int64_t for_ns) {
    for (const std::int64_t end = now + for_ns; now < end; now += kTick, show += show::Time{kTick}) {
      const sound::ClockLine heard{.running = sounding && now >= began + late_ns, .steady_ns = began + late_ns, .show_ns = from.count(), .rate = rate};
      if (const auto start = chase.look(show, now, locates, sounding, heard)) from = *start, began = now, sounding = true, ++starts;
      if (heard.running) off_ms = static_cast<double>(heard.at(now) - show.count()) * 1e-6;
    }
  }
  SoundChase chase;
  std::int64_t now = 5'000 * kMs, began = 0, late_ns = 80 * kMs;
  show::Time show{0}, from{0};
  bool sounding = false;
  std::uint64_t locates = 1;
  double rate = 1, off_ms = 0;
  int starts = 0;
};

TEST(SoundChase, LearnsHowLateTheDeviceIs) {
  Room room;
  room.run(2000 * kMs);
  EXPECT_EQ(room.starts, 1);
  EXPECT_NEAR(room.off_ms, -80, 1);
  room.run(3000 * kMs);
  EXPECT_EQ(room.starts, 2);
  EXPECT_NEAR(room.off_ms, 0, 1);
  ++room.locates, room.show = std::chrono::seconds(60);
  room.run(1000 * kMs);
  EXPECT_EQ(room.starts, 3) << "a locate starts it anew";
  EXPECT_NEAR(room.off_ms, 0, 1) << "as early as it has to";
}

TEST(SoundChase, LeavesAloneWhatNobodyNotices) {
  Room room;
  room.late_ns = 40 * kMs;
  room.run(20'000 * kMs);
  EXPECT_EQ(room.starts, 1);
}

TEST(SoundChase, BringsBackWhatDrifts_NotMoreOftenThanItSettles) {
  Room room;
  room.rate = 1.01;
  room.run(60'000 * kMs);
  EXPECT_GT(room.starts, 2);
  EXPECT_LT(room.starts, 60 / 2);
  EXPECT_LT(std::abs(room.off_ms), 150);
}

TEST(SoundChase, ASoundThatIsNotHeardYetIsWaitedFor) {
  Room room;
  room.late_ns = 10'000 * kMs;
  room.run(9'000 * kMs);
  EXPECT_EQ(room.starts, 1);
}

}  // namespace
}  // namespace mien::perform
