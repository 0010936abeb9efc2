// What a rig says beside its servos' travel: identities, pulse timing, states and auxiliaries.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>
#include <initializer_list>

#include "show/validate.hpp"
#include "store/document.hpp"
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
  rig.inputs = {{"button", board.name, 0, true, 20, show::PlayShow{}},
                {"end", board.name, 1, false, 35.5, show::StopShow{}},
                {"mat", board.name, 2, false, 100, show::PlayFrom{"hello"}},
                {"touch", board.name, 2, false, 20, show::SetState{"display", "cross"}}};
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

// The README's table of auxiliaries: a fan's fields may be left out, and each has the default that stands there.
TEST(RigWithLines, AFanIsWholeWithWhatTheReadmeCallsRequired) {
  auto rig = rig_with_lines();
  const std::string rail = rig.boards[0].rails[0].name;
  std::get<show::Fan>(rig.auxiliaries[2].kind) = {rail, 7, 3, 1, 20};
  const std::string whole = write_document(rig);
  const auto without = [&](std::initializer_list<const char*> fields) {
    std::string text = whole;
    for (const char* field : fields) {
      const auto at = text.find("\"" + std::string(field) + "\":", text.find("\"kind\": \"fan\""));
      EXPECT_NE(at, std::string::npos) << field;
      const auto from = text.rfind(',', at), to = text.find_first_of(",}", at);
      text.erase(from, to - from);
    }
    const auto read = read_rig(text, "head.rig.json");
    EXPECT_TRUE(read) << to_text(read.problem());
    EXPECT_FALSE(show::has_errors(show::validate(read->content, "x")));
    return std::get<show::Fan>(read->content.auxiliaries[2].kind);
  };
  EXPECT_EQ(without({}), (show::Fan{rail, 7, 3, 1, 20}));
  EXPECT_EQ(without({"draw_a", "smooth_s"}), (show::Fan{rail, 0.3, 3, 1, 30}));
  EXPECT_EQ(without({"off_a"}), (show::Fan{rail, 7, 3, 1.5, 20})) << "half of what it starts at";
  EXPECT_EQ(without({"rail", "draw_a", "on_a", "off_a", "smooth_s"}), (show::Fan{"", 0.3, 2, 1, 30}));
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
      {"input 'end', board: there is no board 'two'", [](show::Rig& r) { r.inputs[1].board = "two"; }},
      {"input 'end', line: is 16", [](show::Rig& r) { r.inputs[1].line = 16; }},
      {"input 'end', settle_ms: is -1 ms", [](show::Rig& r) { r.inputs[1].settle_ms = -1; }},
      {"input 'mat', marker: is empty", [](show::Rig& r) { std::get<show::PlayFrom>(r.inputs[2].action).marker.clear(); }},
      {"input 'touch', auxiliary: 'lamp' is no code", [](show::Rig& r) { std::get<show::SetState>(r.inputs[3].action).auxiliary = "lamp"; }},
      {"input 'touch', auxiliary: there is no auxiliary 'lamb'", [](show::Rig& r) { std::get<show::SetState>(r.inputs[3].action).auxiliary = "lamb"; }},
      {"input 'touch', state: there is no state 'glad'", [](show::Rig& r) { std::get<show::SetState>(r.inputs[3].action).state = "glad"; }},
      {"input 'mat', line: line 1 of board", [](show::Rig& r) { r.inputs[2].line = 1; }},
      {"there is more than one input of this name", [](show::Rig& r) { r.inputs[1].name = "button"; }},
      {"is the identity of board", [](show::Rig& r) { r.boards.push_back(r.boards[0]), r.boards.back().name = "two"; }},
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

TEST(RigWithLines, MayUseBothLevelsOfAnInputForTheShow) {
  auto rig = rig_with_lines();
  rig.inputs[1].line = 0;  // the button down plays, up ends
  EXPECT_FALSE(show::has_errors(show::validate(rig, "x")));
}

TEST(RigWithLines, TwoBoardsOfOneIdentityStillLoadSoThatTheyCanBeMended) {
  const support::Folder folder;
  auto rig = rig_with_lines();
  rig.boards.push_back(rig.boards[0]);
  rig.boards.back().name = "two", rig.boards.back().address = static_cast<int>(rig.boards.size()) - 1;
  ASSERT_FALSE(save_rig(folder / "head.rig.json", rig));
  EXPECT_TRUE(load_rig(folder / "head.rig.json"));
}

TEST(ShowOnARigWithInputs, IsToldOfAMarkerThatAnInputLooksForInVain) {
  const auto rig = rig_with_lines();
  show::Show show;
  show.name = "x", show.length = std::chrono::seconds(1);
  show.markers = {{show::Time{0}, "helo"}};
  const auto said = [&] {
    std::string all;
    for (const auto& finding : show::validate(show, rig, "x")) all += to_text(finding) + "\n";
    return all;
  };
  EXPECT_THAT(said(), HasSubstr("there is no marker 'hello', from which the rig's input 'mat' plays"));
  show.markers[0].name = "hello";
  EXPECT_EQ(said(), "");
}

}  // namespace
}  // namespace mien::store
