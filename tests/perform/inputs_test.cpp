#include "perform/inputs.hpp"

#include <gtest/gtest.h>

#include "support/time.hpp"

namespace mien::perform {
namespace {

using support::kMs;
using Acting = std::vector<int>;

std::shared_ptr<show::Rig> rig_with_inputs() {
  auto rig = std::make_shared<show::Rig>();
  rig->boards = {{"one", 0, 16, {}}, {"two", 1, 16, {}}};
  rig->controls = {{"glow", "", "1", 0, 1, 0}, {"mood", "", "1", 0, 2, 0, {"calm", "curious", "cross"}}};
  rig->auxiliaries = {{"lamp", "one", "glow", 0, show::Switch{}}, {"display", "one", "mood", 1, show::Code{2, -1, 1}}};
  rig->inputs = {{"button", "one", 3, false, 20, show::PlayShow{}},
                 {"end", "one", 3, true, 20, show::StopShow{}},
                 {"mat", "two", 0, false, 0, show::PlayFrom{"hello"}},
                 {"touch", "two", 1, false, 5, show::SetState{"display", "cross"}}};
  return rig;
}

/// Both boards heard, all lines low.
struct InputBench {
  std::shared_ptr<show::Rig> rig = rig_with_inputs();
  InputWatch watch;
  link::Status link;
  std::int64_t now_ns = 5 * kMs;

  InputBench() {
    watch.set_rig(rig);
    for (const auto& board : rig->boards) {
      link::BoardStatus b;
      b.name = board.name, b.answering = b.reported = true;
      link.boards.push_back(b);
    }
  }
  Acting at(int ms, std::uint16_t one, std::uint16_t two = 0) {
    now_ns = ms * kMs;
    link.boards[0].inputs = one, link.boards[1].inputs = two;
    return watch.look(link, now_ns);
  }
};

TEST(InputWatch, ActsOnceWhenALineHasStoodAtTheLevelThatCounts) {
  InputBench b;
  EXPECT_EQ(b.at(0, 0), Acting{});
  EXPECT_EQ(b.at(10, 8), Acting{});
  EXPECT_EQ(b.at(29, 8), Acting{});
  EXPECT_EQ(b.at(30, 8), Acting{0});
  EXPECT_EQ(b.at(31, 8), Acting{});
  EXPECT_EQ(b.at(5000, 8), Acting{});
  EXPECT_EQ(b.at(5010, 0), Acting{});
  EXPECT_EQ(b.at(5030, 0), Acting{1}) << "the other level is another input's";
  EXPECT_EQ(b.at(5040, 8), Acting{});
  EXPECT_EQ(b.at(5060, 8), Acting{0});
}

TEST(InputWatch, TakesABouncingContactForOne) {
  InputBench b;
  b.at(0, 0);
  int acted = 0;
  for (int ms = 1; ms < 200; ++ms) {
    const bool closed = ms > 60 || (ms < 50 && ms % 7 < 4);  // never 20 ms at a level until it is closed for good
    acted += static_cast<int>(b.at(ms, closed ? 8 : 0).size());
  }
  EXPECT_EQ(acted, 1);
}

TEST(InputWatch, SeesWhereThingsStandWhenABoardIsFirstHeardAndAfterItWasAway) {
  InputBench b;
  EXPECT_EQ(b.at(0, 8, 1), Acting{});
  EXPECT_EQ(b.at(1000, 8, 1), Acting{});
  b.link.boards[1].reported = false;
  EXPECT_EQ(b.at(1001, 8, 0), Acting{});
  b.link.boards[1].reported = true;
  EXPECT_EQ(b.at(1002, 8, 1), Acting{}) << "closed while it was away, or ever since: nobody knows";
  EXPECT_EQ(b.at(1003, 8, 0), Acting{});
  EXPECT_EQ(b.at(1004, 8, 1), Acting{2}) << "without a time to settle at once";
}

TEST(InputWatch, LooksAtBoardsByName) {
  InputBench b;
  b.at(0, 0, 0);
  EXPECT_EQ(b.at(1, 0, 3), Acting{2});
  EXPECT_EQ(b.at(6, 0, 3), Acting{3});
  std::swap(b.link.boards[0], b.link.boards[1]);
  EXPECT_EQ(b.at(7, 3, 0), Acting{}) << "the same levels, told in another order";
}

TEST(InputWatch, ForgetsAnotherRigsInputs) {
  InputBench b;
  b.at(0, 0);
  b.at(1, 8);
  b.watch.set_rig(std::make_shared<show::Rig>(*b.rig));
  EXPECT_EQ(b.at(100, 8), Acting{});
  b.watch.set_rig(nullptr);
  EXPECT_EQ(b.at(200, 0), Acting{});
}

TEST(Order, IsWhatTheStageIsToDo) {
  const auto rig = rig_with_inputs();
  show::Show show;
  show.markers = {{std::chrono::seconds(1), "bye"}, {std::chrono::seconds(2), "hello"}, {std::chrono::seconds(3), "hello"}};
  const auto order = [&](int n, bool playing = false) { return order_of(rig->inputs[static_cast<std::size_t>(n)], *rig, show, playing); };
  using Do = Order::Do;
  EXPECT_EQ(order(0).what, Do::play);
  EXPECT_EQ(order(0, true).what, Do::nothing) << "a show that plays goes on";
  EXPECT_EQ(order(1).what, Do::stop);
  EXPECT_EQ(order(2, true).what, Do::play_from);
  EXPECT_EQ(order(2).from, show::Time(std::chrono::seconds(2)));
  EXPECT_EQ(order(3).what, Do::set_state);
  EXPECT_EQ(order(3).auxiliary, 1);
  EXPECT_EQ(order(3).value, 2);
  show.markers.clear();
  EXPECT_EQ(order(2).what, Do::nothing);
  rig->auxiliaries.pop_back();
  EXPECT_EQ(order(3).what, Do::nothing);
}

}  // namespace
}  // namespace mien::perform
