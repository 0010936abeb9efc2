// The cue list as a value: edits, words and what validate() says.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>

#include "show/cue_edit.hpp"
#include "show/cue_value.hpp"
#include "show/layer_edit.hpp"
#include "show/validate.hpp"

namespace mien::show {
namespace {

using std::chrono::milliseconds;
using ::testing::HasSubstr;

Rig cue_rig() {
  Rig rig;
  rig.name = "r";
  rig.groups = {{"mouth"}};
  rig.controls = {{"open", "mouth", "1", 0, 1, 0}, {"lamp", "mouth", "%", 0, 100, 0}, {"sign", "mouth", "1", 0, 1, 0, {"dark", "lit"}}};
  rig.mappings = {{{{"jaw_open", 0, {{"open", 10}}}}, Straight{}, {"jaw"}}};
  rig.auxiliaries = {{"bulb", "b", "lamp", 0, Dimmer{}}, {"plate", "b", "sign", 1, Code{1}}, {"blower", "b", "", 2, Fan{}}};
  return rig;
}

Show show_with(std::vector<Cue> cues) {
  Show show;
  show.name = "s", show.rig_file = "r", show.length = std::chrono::seconds(5);
  show.markers = {{milliseconds(1000), "one"}, {milliseconds(2000), "two"}};
  show.poses = {std::make_shared<const Pose>(Pose{"glad", {}, "", {{"open", 0.8}}})};
  show.clips = {std::make_shared<const Clip>(Clip{"chew", milliseconds(500), {std::make_shared<const Channel>(Channel{"open", {{milliseconds(0), 0.1}, {milliseconds(500), 0.4}}})}})};
  show.cues = std::move(cues);
  return show;
}
Cue cue(std::string name, CueDeed deed = CueStop{}) {
  Cue c;
  c.name = std::move(name), c.deed = std::move(deed);
  return c;
}

TEST(CueList, IsFineAsItIsMeant) {
  auto a = cue("a", CueClip{"chew", true}), b = cue("b", CuePose{"glad", 0.5}), c = cue("c", CueStretch{"one", "two"}), d = cue("d", CueState{"bulb", "40"}), e = cue("e", CueState{"plate", "lit"}), f = cue("f", CueChoice{{"a", "b"}, 3}), g = cue("g");
  a.follow = "f", a.key = "A", b.key = "7", c.at_time = milliseconds(500), d.at_clock = parse_clock("23:59:59"), g.priority = 100, f.pause = kLongestWait;
  for (const Finding& finding : validate(show_with({a, b, c, d, e, f, g}), cue_rig(), "x")) ADD_FAILURE() << to_text(finding);
}

TEST(CueList, NamesThePlaceAndTheCureOfWhatIsWrong) {
  const std::vector<std::pair<std::string, std::function<void(std::vector<Cue>&)>>> cases{
      {"error: x: cue 1 (counted from 1): has no name", [](auto& c) { c[0].name.clear(); }},
      {"error: x: cue 'a': there is more than one cue of this name", [](auto& c) { c[1].name = "a"; }},
      {"error: x: cue 'a', fade_in: is -1 s. Give 0 to 60 s", [](auto& c) { c[0].fade_in = milliseconds(-1000); }},
      {"error: x: cue 'a', hold: is 86401 s", [](auto& c) { c[0].hold = std::chrono::seconds(86401); }},
      {"error: x: cue 'a', priority: is 101. Give 0 to 100", [](auto& c) { c[0].priority = 101; }},
      {"error: x: cue 'a', follow: there is no cue 'bb'. Did you mean 'b'?", [](auto& c) { c[0].follow = "bb"; }},
      {"error: x: cue 'a', key: is 'ab'", [](auto& c) { c[0].key = "ab"; }},
      {"error: x: cue 'b', key: 'K' starts another cue, too", [](auto& c) { c[0].key = c[1].key = "K"; }},
      {"error: x: cue 'a', at_clock: is no time of day", [](auto& c) { c[0].at_clock = kDay; }},
      {"warning: x: cue 'a', at_time: is 7 s, outside the show", [](auto& c) { c[0].at_time = std::chrono::seconds(7); }},
      {"warning: x: cue 'a', clip: there is no clip 'chwe', so the cue does nothing. Did you mean 'chew'?", [](auto& c) { c[0].deed = CueClip{"chwe"}; }},
      {"warning: x: cue 'a', pose: there is no pose 'glum', so the cue does nothing", [](auto& c) { c[0].deed = CuePose{"glum"}; }},
      {"error: x: cue 'a', weight: is 9", [](auto& c) { c[0].deed = CuePose{"glad", 9}; }},
      {"warning: x: cue 'a', from: there is no marker 'three'", [](auto& c) { c[0].deed = CueStretch{"three", ""}; }},
      {"warning: x: cue 'a': ends at 1 s", [](auto& c) { c[0].deed = CueStretch{"two", "one"}; }},
      {"warning: x: cue 'a', auxiliary: there is no auxiliary 'bulp', so the cue does nothing. Did you mean 'bulb'?", [](auto& c) { c[0].deed = CueState{"bulp", "on"}; }},
      {"warning: x: cue 'a', state: 'bright' is nothing that 'bulb' can be told", [](auto& c) { c[0].deed = CueState{"bulb", "bright"}; }},
      {"warning: x: cue 'a', state: 'blower' has no control", [](auto& c) { c[0].deed = CueState{"blower", "on"}; }},
      {"error: x: cue 'a', cues: has nothing to choose from", [](auto& c) { c[0].deed = CueChoice{}; }},
      {"error: x: cue 'a', cues: there is no cue 'z'", [](auto& c) { c[0].deed = CueChoice{{"z"}}; }},
      {"error: x: cue 'a', cues: 'a' chooses, too", [](auto& c) { c[0].deed = CueChoice{{"a"}}; }},
  };
  for (const auto& [expected, spoil] : cases) {
    std::vector<Cue> cues{cue("a"), cue("b")};
    spoil(cues);
    std::string all;
    for (const Finding& finding : validate(show_with(cues), cue_rig(), "x")) all += to_text(finding) + "\n";
    EXPECT_THAT(all, HasSubstr(expected));
  }
  EXPECT_THAT(to_text(validate(show_with(std::vector<Cue>(kMaxCues + 1, cue("a"))), cue_rig(), "x").front()), HasSubstr("there are 129"));
}

TEST(CueList, TellsARigsInputWhoseCueIsNotThere) {
  Rig with = cue_rig();
  with.inputs = {{"mat", "b", 0, false, 20, StartCue{"helo"}}};
  std::string all;
  for (const Finding& finding : validate(show_with({cue("hello")}), with, "x")) all += to_text(finding) + "\n";
  EXPECT_THAT(all, HasSubstr("warning: x: cues: there is no cue 'helo', which the rig's input 'mat' starts. Did you mean 'hello'?"));
}

TEST(CueList, IsEdited) {
  auto first = cue("first"), second = cue("second", CueChoice{{"first", "third"}, 1});
  first.follow = "second", second.follow = "first";
  const Show show = show_with({first, second, cue("third")});
  const Show renamed = with_cue_renamed(show, "first", "one");
  EXPECT_EQ(renamed.cues[0].name, "one");
  EXPECT_EQ(renamed.cues[1].follow, "one");
  EXPECT_EQ(std::get<CueChoice>(renamed.cues[1].deed).cues, (std::vector<std::string>{"one", "third"}));
  EXPECT_TRUE(same(with_cue_renamed(show, "first", "third"), show)) << "taken";
  EXPECT_TRUE(same(with_cue_renamed(show, "first", ""), show));
  const Show without = without_cue(show, "first");
  EXPECT_EQ(without.cues.size(), 2u);
  EXPECT_EQ(without.cues[0].follow, "");
  EXPECT_EQ(std::get<CueChoice>(without.cues[0].deed).cues, (std::vector<std::string>{"third"}));
  EXPECT_EQ(with_cue_at(show, "third", 0).cues[0].name, "third");
  EXPECT_EQ(with_cue_at(show, "first", 99).cues[2].name, "first");
  EXPECT_TRUE(same(with_cue_at(show, "none", 0), show));
  EXPECT_EQ(with_cue(show, cue("second")).cues.size(), 3u);
  EXPECT_EQ(with_cue(show, cue("fourth")).cues.back().name, "fourth");
  EXPECT_FALSE(same(with_cue(show, cue("fourth")), show));
}

TEST(CueList, KeepsToItsPosesAndClipsUnderNewNames) {
  const Show show = show_with({cue("a", CueClip{"chew"}), cue("b", CuePose{"glad"})});
  EXPECT_EQ(std::get<CueClip>(with_clip_renamed(show, "chew", "munch").cues[0].deed).clip, "munch");
  EXPECT_EQ(std::get<CuePose>(with_pose_renamed(show, "glad", "merry").cues[1].deed).pose, "merry");
  EXPECT_EQ(std::get<CuePose>(with_pose_renamed(show, "none", "merry").cues[1].deed).pose, "glad");
}

TEST(CueWords, AreRead) {
  EXPECT_EQ(parse_clock("08:30"), Time{30'600'000'000'000});
  EXPECT_EQ(parse_clock("23:59:59"), Time{86'399'000'000'000});
  for (const char* none : {"", "8:30", "24:00", "12:60", "12:00:60", "12.30", "12:3a", "12:30:0", "noon"}) EXPECT_FALSE(parse_clock(none)) << none;
  EXPECT_EQ(clock_text(Time{30'600'000'000'000}), "08:30:00");
  EXPECT_EQ(to_text(CueDeed{CueClip{"nod", true}}), "clip nod, round and round");
  EXPECT_EQ(to_text(CueDeed{CueStretch{"", "two"}}), "the show from its beginning to two");
  EXPECT_EQ(to_text(CueDeed{CueChoice{{"a", "b"}}}), "one of a, b");
  EXPECT_EQ(std::string(kind_name(CueState{})), "state");
}

TEST(CueWords, ComeToValues) {
  const auto value = [](const char* auxiliary, const char* state) {
    const auto v = state_value({auxiliary, state}, cue_rig());
    return v ? v->value : -1;
  };
  EXPECT_EQ(value("bulb", "on"), 100);
  EXPECT_EQ(value("bulb", "off"), 0);
  EXPECT_EQ(value("bulb", "12.5"), 12.5);
  EXPECT_EQ(value("bulb", "101"), -1);
  EXPECT_EQ(value("plate", "lit"), 1);
  EXPECT_EQ(value("plate", "1"), -1) << "a control with states goes by their names";
  EXPECT_EQ(value("blower", "on"), -1);
  const Show show = show_with({});
  EXPECT_EQ(stretch_of({"one", "two"}, show), (Range{milliseconds(1000), milliseconds(2000)}));
  EXPECT_EQ(stretch_of({"", ""}, show), (Range{milliseconds(0), milliseconds(5000)}));
  EXPECT_FALSE(stretch_of({"one", "none"}, show));
}

}  // namespace
}  // namespace mien::show
