// The map as a value: its words, and what is wrong with one. Ranges of numbers: MIDI 1.0 (channels 1..16, controllers and notes 0..127, 14-bit pairs
// 0..31); the gamepad's 6 axes and 15 buttons: GLFW 3.3's standard gamepad mapping.
#include "live/hand_map.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "live/hand_rig.hpp"

namespace mien::live {
namespace {

using Kind = Source::Kind;

TEST(Source, IsWrittenAndReadBack) {
  const std::pair<const char*, Source> cases[] = {
      {"controller 7", {"", 0, Kind::controller, 7}}, {"controller-14 1", {"", 0, Kind::controller_14, 1}}, {"note 60", {"", 0, Kind::note, 60}}, {"bend", {"", 0, Kind::bend, 0}},
      {"pressure", {"", 0, Kind::pressure, 0}}, {"key-pressure 61", {"", 0, Kind::key_pressure, 61}}, {"axis 5", {"", 0, Kind::axis, 5}}, {"button 0", {"", 0, Kind::button, 0}},
      {"slot 512", {"", 0, Kind::slot, 512}}, {"osc /desk/fader/1", {"", 0, Kind::osc, 0, "/desk/fader/1"}}};
  for (const auto& [text, source] : cases) {
    EXPECT_EQ(to_text(source), text);
    EXPECT_EQ(parse_source(text), source) << text;
  }
  for (const char* text : {"", "controller", "bend 3", "note", "note x", "note 60 ", "note -1", "note 99999999999", "knob 3", "osc", "osc ", "osc desk", "slot"}) EXPECT_FALSE(parse_source(text)) << text;
}

HandMap good() {
  HandMap map;
  map.name = "Desk";
  map.banks = {"face", "eyes"};
  map.knobs = {{.source = {"keys", 1, Kind::controller, 7}, .control = "jaw"}, {.source = {"", 0, Kind::axis, 0}, .control = "gaze_yaw", .low = -30, .high = 30, .dead_zone = 0.1, .spring_back_s = 0.3}};
  map.triggers = {{.source = {"", 0, Kind::note, 60}, .name = "glad"}, {.source = {"", 0, Kind::note, 61}, .what = Trigger::What::bank, .name = "eyes"}};
  return map;
}

// The characters that OSC 1.0 keeps out of addresses, and Mien's own.
TEST(HandMap, AnAddressIsOneOfYours) {
  for (const char* good_one : {"/a", "/desk/fader/1", "/mienne"}) EXPECT_TRUE(usable_address(good_one)) << good_one;
  for (const char* bad : {"", "/", "a", "/mien/play", "/mien/control/jaw", "/a b", "/a#", "/a*", "/a,b", "/a?", "/[a]", "/{a}", "/\xC3\xA4"}) EXPECT_FALSE(usable_address(bad)) << bad;
  EXPECT_FALSE(usable_address("/" + std::string(120, 'a')));
}

TEST(HandMap, AGoodOneHasNoFindings) {
  EXPECT_THAT(validate(good(), *hand_rig(), "desk.map.json"), testing::IsEmpty());
  EXPECT_THAT(unmet(good(), *hand_show(), "desk.map.json"), testing::IsEmpty());
}

TEST(HandMap, EachMistakeIsNamedWithItsPlace) {
  struct Case { const char* place; std::function<void(HandMap&)> spoil; };
  const Case cases[] = {
      {"knob controller 7, channel", [](HandMap& m) { m.knobs[0].source.channel = 17; }},
      {"knob controller 128, source", [](HandMap& m) { m.knobs[0].source.number = 128; }},
      {"knob controller-14 32, source", [](HandMap& m) { m.knobs[0].source = {"", 0, Kind::controller_14, 32}; }},
      {"knob axis 6, source", [](HandMap& m) { m.knobs[1].source.number = 6; }},
      {"knob axis 0, channel", [](HandMap& m) { m.knobs[1].source.channel = 1; }},
      {"knob slot 0, source", [](HandMap& m) { m.knobs[0].source = {"", 0, Kind::slot, 0}; }},
      {"knob slot 513, source", [](HandMap& m) { m.knobs[0].source = {"", 0, Kind::slot, 513}; }},
      {"knob slot 3, channel", [](HandMap& m) { m.knobs[0].source = {"", 2, Kind::slot, 3}; }},
      {"knob osc /mien/play, source", [](HandMap& m) { m.knobs[0].source = {"", 0, Kind::osc, 0, "/mien/play"}; }},
      {"knob note 3, source", [](HandMap& m) { m.knobs[0].source = {"", 0, Kind::note, 3}; }},
      {"knob controller 7, control", [](HandMap& m) { m.knobs[0].control = "jew"; }},
      {"knob controller 7, high", [](HandMap& m) { m.knobs[0].high = 1.5; }},
      {"knob controller 7, low", [](HandMap& m) { m.knobs[0].low = std::nan(""); }},
      {"knob controller 7", [](HandMap& m) { m.knobs[0].high = 0; }},
      {"knob controller 7, curve", [](HandMap& m) { m.knobs[0].curve = 0; }},
      {"knob axis 0, dead_zone", [](HandMap& m) { m.knobs[1].dead_zone = 1; }},
      {"knob controller 7, smoothing_ms", [](HandMap& m) { m.knobs[0].smoothing_ms = -1; }},
      {"knob axis 0, spring_back_s", [](HandMap& m) { m.knobs[1].spring_back_s = INFINITY; }},
      {"knob controller 7, bank", [](HandMap& m) { m.knobs[0].bank = 3; }},
      {"trigger bend, source", [](HandMap& m) { m.triggers[0].source = {"", 0, Kind::bend, 0}; }},
      {"trigger note 60, name", [](HandMap& m) { m.triggers[0].name = ""; }},
      {"trigger note 61, name", [](HandMap& m) { m.triggers[1].name = "ears"; }},
      {"trigger note 60, fade_in_s", [](HandMap& m) { m.triggers[0].fade_in_s = 61; }},
      {"bank 'face'", [](HandMap& m) { m.banks[1] = "face", m.triggers.pop_back(); }},
      {"fade_s", [](HandMap& m) { m.fade_s = -1; }},
  };
  for (const Case& c : cases) {
    HandMap map = good();
    c.spoil(map);
    const auto findings = validate(map, *hand_rig(), "desk.map.json");
    ASSERT_EQ(findings.size(), 1u) << c.place;
    EXPECT_EQ(findings[0].place, c.place);
    EXPECT_EQ(findings[0].file, "desk.map.json");
    EXPECT_FALSE(findings[0].cure.empty()) << c.place;
  }
}

TEST(HandMap, SaysWhatToDoWhereNothingCouldHaveBeenMeant) {
  HandMap map = good();
  map.banks.clear();
  show::Rig bare = *hand_rig();
  bare.controls.clear();
  const auto findings = validate(map, bare, "desk.map.json");
  EXPECT_GE(findings.size(), 3u);
  for (const auto& finding : findings) EXPECT_FALSE(finding.cure.empty()) << show::to_text(finding);
}

TEST(HandMap, WarnsOfPosesAndClipsThatAShowHasNot) {
  HandMap map = good();
  map.triggers[0].name = "gald";
  const auto findings = unmet(map, *hand_show(), "desk.map.json");
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(show::to_text(findings[0]), "warning: desk.map.json: trigger note 60: the show has no pose 'gald', so the trigger does nothing. Did you mean 'glad'?");
}

}  // namespace
}  // namespace mien::live
