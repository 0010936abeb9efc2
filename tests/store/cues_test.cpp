#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "store/document.hpp"
#include "store/map_store.hpp"
#include "store/samples.hpp"
#include "support/folder.hpp"
#include "support/sample.hpp"

namespace mien::store {
namespace {

using ::testing::HasSubstr;

TEST(CueDocument, IsWrittenAsTheSampleIs) {
  const std::string text = support::read(kSamples / "cues.show.json");
  const auto read = read_show(text, "x");
  ASSERT_TRUE(read) << to_text(read.problem());
  EXPECT_TRUE(read->notes.empty());
  EXPECT_EQ(write_document(read->content), text);
  const auto& cues = read->content.cues;
  ASSERT_EQ(cues.size(), 6u);
  EXPECT_EQ(std::get<show::CueClip>(cues[0].deed), (show::CueClip{"chew", true}));
  EXPECT_EQ(cues[0].at_clock, show::parse_clock("08:30:00"));
  EXPECT_EQ(std::get<show::CueChoice>(cues[4].deed).seed, 4'000'000'000u);
  EXPECT_EQ(cues[4].pause, show::Time{12'500'000'000});
}

// A show without cues is the file that it was.
TEST(CueDocument, RaisesTheVersionOnlyOfShowsThatHaveThem) {
  for (const char* name : {"small.show.json", "layers.show.json"}) {
    const std::string old = support::read(kSamples / name);
    const auto read = read_show(old, "x");
    ASSERT_TRUE(read);
    EXPECT_EQ(write_document(read->content), old);
  }
  EXPECT_THAT(support::read(kSamples / "cues.show.json"), HasSubstr("\"version\": 3"));
}

TEST(CueDocument, SurvivesItsFile) {
  support::Random random(9);
  for (int round = 0; round < 30; ++round) {
    show::Show show = support::show(random, support::rig(random), 3);
    const auto time = [&] { return show::Time{static_cast<std::int64_t>(random() % 50'000'000'000)}; };
    const std::vector<show::CueDeed> deeds{show::CueClip{support::name(random, "clip", 1), support::chance(random, 0.5)}, show::CuePose{"p", support::real(random, 0, 2)}, show::CueStretch{"", support::name(random, "marker", 1)},
                                           show::CueState{"lamp", "on"}, show::CueChoice{{"cue 0", "cue 1"}, static_cast<std::uint32_t>(random())}, show::CueStop{}};
    for (int n = 0; n < 6; ++n) {
      show::Cue cue;
      cue.name = "cue " + std::to_string(n), cue.deed = deeds[static_cast<std::size_t>(n)], cue.fade_in = time(), cue.fade_out = time(), cue.hold = n % 2 ? time() : show::Time{0};
      cue.follow = n % 3 ? "cue 0" : "", cue.priority = support::whole(random, 0, 100), cue.pause = n % 2 ? show::Time{0} : time(), cue.key = n ? "" : "Q";
      if (n % 2) cue.at_time = time(), cue.at_clock = show::Time{static_cast<std::int64_t>(random() % 86'400) * 1'000'000'000};
      show.cues.push_back(cue);
    }
    const auto read = read_show(write_document(show), "x");
    ASSERT_TRUE(read) << to_text(read.problem());
    EXPECT_EQ(read->content.cues, show.cues);
  }
}

TEST(CueDocument, SaysWhereItIsBroken) {
  const std::string text = support::read(kSamples / "cues.show.json");
  const auto problem = [&](const std::string& from, const std::string& to) {
    const auto read = read_show(replaced(text, from, to), "x");
    return read ? "read" : to_text(read.problem());
  };
  EXPECT_THAT(problem("\"does\": \"clip\"", "\"does\": \"sing\""), HasSubstr("x: cue 'munch', does: 'sing' is nothing that a cue does. Write \"clip\", \"pose\""));
  EXPECT_THAT(problem("\"08:30:00\"", "\"8 am\""), HasSubstr("cue 'munch', at_clock: '8 am' is no time of day"));
  EXPECT_THAT(problem("\"12.5\"", "\"soon\""), HasSubstr("pause_s"));
  EXPECT_THAT(problem("\"fade_in_s\": \"0.2\"", "\"fade_in_s\": 0.2"), HasSubstr("fade_in_s"));
}

TEST(CueDocument, AMapStartsThem) {
  live::HandMap map;
  map.triggers = {{.source = {"", 0, live::Source::Kind::note, 60}, .what = live::Trigger::What::cue, .name = "munch", .hold = live::Trigger::Hold::once}};
  const auto read = read_map(write_map(map), "m");
  ASSERT_TRUE(read) << to_text(read.problem());
  EXPECT_EQ(*read, map);
}

}  // namespace
}  // namespace mien::store
