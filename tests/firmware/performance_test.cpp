// The demo on as many emulated boards as its rig has, in a chain, by the program's own side of the link.
#include "firmware/performance.hpp"

#include "firmware/desk.hpp"
#include "store/store.hpp"

namespace mien::firmware {
namespace {

TEST_F(Firmware, PerformsTheDemoOnAChainOfBoardsWithEveryPulseAtItsSetpoint) {
  const auto loaded = store::load_show(MIEN_SOURCE_DIR "/shows/keeper.show.json");
  ASSERT_TRUE(loaded) << show::to_text(loaded.problem());
  const auto plan = perform::compile(loaded->rig, loaded->show);
  const Performance p = perform(*plan, 2.0, 5'000);
  EXPECT_EQ(p.boards, 3);
  EXPECT_GT(p.pulses.size(), 21u * 90u);
  EXPECT_LE(p.worst_error_us, 1.0);
  EXPECT_LE(p.skew_us, 50.0);
  EXPECT_LE(p.jitter_p99_us, 50.0);
  EXPECT_LE(3 * p.hop_us, 100.0) << "from the first of four boards to the last";
}

}  // namespace
}  // namespace mien::firmware
