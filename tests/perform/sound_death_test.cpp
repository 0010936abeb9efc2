// The sound is the show's clock until its server dies, which happens here for real: the show goes on with the steady clock.
#include <gtest/gtest.h>

#include "heads.hpp"
#include "perform/performer.hpp"
#include "sound/player.hpp"
#include "sound/pulse.hpp"
#include "support/fault.hpp"

namespace mien::perform {
namespace {

using namespace testing;
using sound::eventually;
using std::chrono::milliseconds;
using std::chrono::seconds;

TEST(PerformerWithSound, GoesOnWithTheSteadyClockWhenTheSoundServerDies_AndNeverBackward) {
  support::Fault fault("sound device gone in mid-show (its server killed)", "the show goes on, and its time never runs backward");
  if (!sound::have_pulseaudio()) fault.not_here("pulseaudio and pulseaudio-utils are not installed");
  if (!sound::have_pulseaudio()) GTEST_SKIP() << "pulseaudio and pulseaudio-utils are not installed";
  sound::PulseServer server;
  ASSERT_TRUE(server.start()) << "the private sound server did not start";
  sound::Player player;
  ASSERT_TRUE(eventually(seconds(20), [&] { return !player.silent(); }));
  player.set_sounds({{sound::wave_of(sound::tone(440, 60, 48000)), {}, {}, 1}});
  Performer performer(nullptr, &player);
  performer.publish(compile(small_rig(), empty_show(seconds(60))));
  // A machine too busy to feed the device lets a play fall silent: once more, then.
  ASSERT_TRUE(eventually(seconds(20), [&] {
    const auto& now = performer.latest();
    if (!now.playing || (!now.sound_is_clock && now.time > seconds(3))) performer.seek(show::Time{0}), performer.play();
    return now.playing && now.sound_is_clock && now.time > milliseconds(200);
  }));
  const show::Time at_death = performer.latest().time;
  server.kill();
  fault.made();
  show::Time last = at_death, worst_back{0};
  const auto follow = [&] {
    const auto& now = performer.latest();
    worst_back = std::max(worst_back, last - now.time), last = now.time;
    return now;
  };
  ASSERT_TRUE(eventually(seconds(20), [&] { return !follow().sound_is_clock; }));
  const auto steady = threads::steady_ns();
  const show::Time then = last;
  ASSERT_TRUE(eventually(seconds(20), [&] { return follow().time > then + seconds(2); })) << "the show stands still";
  EXPECT_TRUE(performer.latest().playing);
  EXPECT_EQ(worst_back.count(), 0);
  // It doesn't race to make up for anything either.
  EXPECT_LE(show::to_seconds(last - then), static_cast<double>(threads::steady_ns() - steady) * 1e-9 + 0.05);
}

}  // namespace
}  // namespace mien::perform
