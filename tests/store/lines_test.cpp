// What a rig says beside its servos' travel: identities, pulse timing, states and auxiliaries.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>

#include "show/validate.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::store {
namespace {

using ::testing::HasSubstr;

show::Rig rig_with_lines() {
  show::Rig rig = *load_rig(std::filesystem::path(MIEN_SOURCE_DIR) / "tests" / "samples" / "small.rig.json")->rig;
  show::Board& board = rig.boards[0];
  board.identity = "0123456789ABCDEF";
  rig.actuators[0].pulse_rate_hz = 100;
  rig.actuators[0].pulse_offset_us = 2500;
  rig.controls.push_back({"mood", rig.groups[0].name, "1", 0, 2, 0, {"calm", "curious", "cross"}});
  rig.controls.push_back({"glow", rig.groups[0].name, "1", 0, 1, 0});
  rig.auxiliaries = {{"lamp", board.name, "glow", 0, show::Switch{}},
                     {"halo", board.name, "glow", 1, show::Dimmer{}},
                     {"fan", board.name, "", 2, show::Fan{board.rails[0].name, 0.25, 3, 1.5, 20}},
                     {"display", board.name, "mood", 4, show::Code{2, 6, 5}}};
  return rig;
}

TEST(RigWithLines, ComesBackFromItsFileAsItWas) {
  const support::Folder folder;
  const auto rig = rig_with_lines();
  ASSERT_FALSE(save_rig(folder / "head.rig.json", rig));
  const auto loaded = load_rig(folder / "head.rig.json");
  ASSERT_TRUE(loaded) << to_text(loaded.problem());
  EXPECT_EQ(*loaded->rig, rig);
}

TEST(RigWithLines, IsRefusedWithThePlaceOfWhatIsWrong) {
  struct Break {
    const char* words;
    std::function<void(show::Rig&)> apply;
  };
  const Break breaks[] = {
      {"is no board's identity", [](show::Rig& r) { r.boards[0].identity = "12"; }},
      {"is no board's identity", [](show::Rig& r) { r.boards[0].identity = "0123456789ABCDEg"; }},
      {"pulse_rate_hz: is 400 Hz", [](show::Rig& r) { r.actuators[0].pulse_rate_hz = 400; }},
      {"a period at 100 Hz is 10000 us", [](show::Rig& r) { r.actuators[0].pulse_offset_us = 10'000; }},
      {"has 2 states, but ranges from 0 to 2", [](show::Rig& r) { r.controls[r.controls.size() - 2].states.pop_back(); }},
      {"auxiliary 'halo', line: line 0", [](show::Rig& r) { r.auxiliaries[1].line = 0; }},
      {"auxiliary 'display', line: line 2", [](show::Rig& r) { std::get<show::Code>(r.auxiliaries[3].kind).strobe = 2; }},
      {"3 states need more than 1 line", [](show::Rig& r) { std::get<show::Code>(r.auxiliaries[3].kind).lines = 1; }},
      {"auxiliary 'fan', off_a", [](show::Rig& r) { std::get<show::Fan>(r.auxiliaries[2].kind).off_a = 4; }},
  };
  for (const auto& each : breaks) {
    auto rig = rig_with_lines();
    each.apply(rig);
    std::string said;
    for (const auto& finding : show::validate(rig, "x")) said += to_text(finding) + "\n";
    EXPECT_THAT(said, HasSubstr(each.words));
  }
}

}  // namespace
}  // namespace mien::store
