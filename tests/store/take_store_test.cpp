#include "store/take_store.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/folder.hpp"

namespace mien::store {
namespace {

using show::Time;

std::vector<live::Take> two_takes() {
  live::Track jaw{"jaw \"upper\"", {{Time{0}, 0.1}, {Time{10'000'000}, 1.0 / 3}, {Time{20'000'000}, -2}}, {{Time{0}, Time{0}}, {Time{10'000'000}, Time{20'000'000}}}};
  live::Track smile{"smile", {{Time{5}, 1}}, {{Time{5}, Time{5}}}};
  return {{"take 1", {jaw, smile}}, {"take 2", {smile}}};
}

TEST(TakeStore, ATakeSurvivesItsFileToTheLastBit) {
  support::Folder folder;
  ASSERT_FALSE(save_takes(folder / "a.take.json", two_takes()));
  const auto back = load_takes(folder / "a.take.json");
  ASSERT_TRUE(back) << to_text(back.problem());
  EXPECT_EQ(*back, two_takes());
}

TEST(TakeStore, SaysWhatIsWrong) {
  support::Folder folder;
  ASSERT_FALSE(save_takes(folder / "a.take.json", two_takes()));
  const std::string text = support::read(folder / "a.take.json");
  const std::tuple<const char*, const char*, const char*> cases[] = {{"0.01 0.3333333333333333 linear", "0 0.5 linear", "times that do not rise"}, {"0.01 0.02", "0.01 0.5", "touched_s"}, {"mien takes", "mien show", "format"}};
  for (const auto& [from, to, what] : cases) {
    std::string spoilt = text;
    const auto at = spoilt.find(from);
    ASSERT_NE(at, std::string::npos) << from << text;
    support::write(folder / "b.take.json", spoilt.replace(at, std::string(from).size(), to));
    const auto takes = load_takes(folder / "b.take.json");
    ASSERT_FALSE(takes) << from;
    EXPECT_THAT(to_text(takes.problem()), testing::HasSubstr(what));
  }
  ASSERT_FALSE(save_takes(folder / "none.take.json", {}));
  EXPECT_THAT(to_text(load_takes(folder / "none.take.json").problem()), testing::HasSubstr("holds no take"));
}

}  // namespace
}  // namespace mien::store
