#include "store/csv.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/sample.hpp"

namespace mien::store {
namespace {

using ::testing::HasSubstr;

show::Rig two_controls() {
  show::Rig rig;
  rig.controls = {{"blink", "eyes", "1"}, {"jaw, open", "mouth", "1"}};
  return rig;
}

TEST(Csv, ExportThenImportGivesTheSameChannels) {
  support::Random random(41);
  for (int i = 0; i < 100; ++i) {
    const show::Rig rig = support::rig(random, support::whole(random, 1, 20));
    show::Show show = support::show(random, rig);
    std::erase_if(show.channels, [](const auto& channel) { return channel->keys.empty(); });
    const auto imported = import_keys(export_keys(show), rig, "x");
    ASSERT_TRUE(imported) << to_text(imported.problem());
    ASSERT_EQ(imported->channels.size(), show.channels.size());
    for (std::size_t c = 0; c < show.channels.size(); ++c) ASSERT_EQ(*imported->channels[c], *show.channels[c]);
  }
}

TEST(Csv, IsAHeaderAndARowForEachKey) {
  show::Show show;
  show.channels.push_back(std::make_shared<const show::Channel>(
      show::Channel{"jaw, open", {{show::Time{1'250'000'000}, 0.8, show::kSmooth}, {show::Time{2'000'000'000}, 0, {show::Easing::Kind::bezier, 0.25f, 0, 0.5f, 1}}}}));
  EXPECT_EQ(export_keys(show), "channel,time_s,value,easing\n\"jaw, open\",1.25,0.8,smooth\n\"jaw, open\",2,0,bezier(0.25 0 0.5 1)\n");
}

TEST(Csv, IsReadInAnyOrderQuotedWithEitherLineEnding) {
  const auto show = import_keys("\xEF\xBB\xBF" "channel,time_s,value,easing\r\n\"jaw, open\",\"2\",1,\"hold\"\r\n\r\nblink,0.5,0.25,ease\r\n\"jaw, open\",1,0,linear", two_controls(), "x");
  ASSERT_TRUE(show) << to_text(show.problem());
  ASSERT_EQ(show->channels.size(), 2u);
  EXPECT_EQ(*show->channels[0], (show::Channel{"jaw, open", {{std::chrono::seconds(1), 0, show::kLinear}, {std::chrono::seconds(2), 1, show::kHold}}}));
  EXPECT_EQ(*show->channels[1], (show::Channel{"blink", {{std::chrono::milliseconds(500), 0.25, show::kEase}}}));
  EXPECT_EQ(show->length, std::chrono::seconds(2));
}

TEST(Csv, OfTheHeaderAloneIsAShowWithoutKeys) {
  const auto show = import_keys("channel,time_s,value,easing\n", two_controls(), "x");
  ASSERT_TRUE(show);
  EXPECT_TRUE(show->channels.empty());
  EXPECT_EQ(show->length, std::chrono::seconds(1));
}

TEST(BrokenCsv, IsToldTheLineAndTheCure) {
  const std::string header = "channel,time_s,value,easing\n";
  const std::pair<std::string, const char*> cases[] = {
      {"", "line 1: there is nothing in it. Begin with the line channel,time_s,value,easing"},
      {"channel;time_s;value;easing\n", "line 1: the first line is 'channel;time_s;value;easing'"},
      {header + "blink,1,0,hold\nblnk,1,0,hold\n", "line 3: the rig has no control 'blnk'. Did you mean 'blink'?"},
      {header + "blink,1,0\n", "line 2: there are 3 fields, not 4"},
      {header + "blink,1,0,hold,\n", "line 2: there are 5 fields, not 4"},
      {header + "blink,nan,0,hold\n", "line 2: 'nan' is not a time"},
      {header + "blink,-1,0,hold\n", "line 2: '-1' is not a time"},
      {header + "blink,1,nan,hold\n", "line 2: 'nan' is not a finite number"},
      {header + "blink,1,inf,hold\n", "line 2: 'inf' is not a finite number"},
      {header + "blink,1,,hold\n", "line 2: '' is not a finite number"},
      {header + "blink,1,0,jump\n", "line 2: 'jump' is not an easing"},
      {header + "blink,1,0,bezier(0.25, 0, 0.5, 1)\n", "line 2: there are 7 fields"},
      {header + "blink,2,0,hold\nblink,1,0,hold\nblink,2.0,0.5,hold\n", "line 4: 'blink' has a key at 2 s on line 2 already"},
      {header + "\"bli\nnk\",1,0,hold\nblink,1,x,hold\n", "line 2: the rig has no control 'bli?nk'"},
      {header + "\"a\nb\",1,0,hold\n", "line 2"},
      {header + "\"blink,1,0,hold\n", "line 2: a quote that opens here is never closed"},
  };
  for (const auto& [text, words] : cases) {
    const auto show = import_keys(text, two_controls(), "keys.csv");
    ASSERT_FALSE(show) << text;
    EXPECT_THAT(to_text(show.problem()), HasSubstr(words));
    EXPECT_FALSE(show.problem().cure.empty());
  }
}

TEST(BrokenCsv, OfRandomBytesNeverHarms) {
  support::Random random(42);
  const std::string good = "channel,time_s,value,easing\nblink,1,0.5,bezier(0 0 1 1)\n\"jaw, open\",2,0,hold\n";
  for (int i = 0; i < 5'000; ++i) {
    std::string text = good;
    for (int changes = support::whole(random, 1, 4); changes > 0; --changes) {
      text[static_cast<std::size_t>(support::whole(random, 0, static_cast<int>(text.size()) - 1))] = "\",\r\n0.x\xff "[support::whole(random, 0, 8)];
    }
    const auto show = import_keys(text, two_controls(), "x");
    ASSERT_TRUE(show || !show.problem().what.empty());
  }
}

}  // namespace
}  // namespace mien::store
