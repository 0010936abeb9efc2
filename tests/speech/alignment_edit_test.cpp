// Corrections of words and phones by hand.
#include <gtest/gtest.h>

#include <random>

#include "speech/alignment_edit.hpp"

#include "support/time.hpp"

namespace mien::speech {
namespace {

using show::Range;
using show::Time;

using support::ms;

// "keep" and "me" touch; "bread" stands apart; the word between them was not found.
Alignment line() {
  Alignment a;
  a.words = {{{ms(100), ms(400)}, "keep", 0.5}, {{ms(400), ms(600)}, "me", 0.5}, {{ms(600), ms(600)}, "xyz", 0, Origin::missing}, {{ms(900), ms(1300)}, "bread", 0.5}};
  a.phones = {{{ms(100), ms(200)}, "K", 0.5, 0}, {{ms(200), ms(300)}, "IY", 0.5, 0}, {{ms(300), ms(400)}, "P", 0.5, 0}, {{ms(400), ms(500)}, "M", 0.5, 1}, {{ms(500), ms(600)}, "IY", 0.5, 1},
              {{ms(900), ms(1000)}, "B", 0.5, 3}, {{ms(1000), ms(1300)}, "R", 0.5, 3}};
  a.length = ms(2000);
  return a;
}

TEST(AlignmentEdit, AnEdgeOfAPhoneTakesItsNeighbourAndItsWordAlong) {
  const auto inner = with_boundary(line(), {false, 1, false}, ms(240));
  EXPECT_EQ(inner.phones[0].range, (Range{ms(100), ms(240)}));
  EXPECT_EQ(inner.phones[1].range, (Range{ms(240), ms(300)}));
  EXPECT_EQ(inner.words, line().words);
  EXPECT_EQ(inner.phones[1].confidence, 1);
  const auto between = with_boundary(line(), {false, 2, true}, ms(430));
  EXPECT_EQ(between.words[0].range, (Range{ms(100), ms(430)}));
  EXPECT_EQ(between.words[1].range, (Range{ms(430), ms(600)}));
  EXPECT_EQ(between.phones[3].range.begin, ms(430));
}

TEST(AlignmentEdit, AWordsPhonesStretchWithIt) {
  const auto longer = with_boundary(line(), {true, 3, true}, ms(1700));
  EXPECT_EQ(longer.words[3].range, (Range{ms(900), ms(1700)}));
  EXPECT_EQ(longer.phones[5].range, (Range{ms(900), ms(1100)}));
  EXPECT_EQ(longer.phones[6].range, (Range{ms(1100), ms(1700)}));
  EXPECT_EQ(longer.words[3].origin, Origin::given);
  const auto both = with_boundary(line(), {true, 1, false}, ms(340));
  EXPECT_EQ(both.words[0].range, (Range{ms(100), ms(340)}));
  EXPECT_EQ(both.phones[2].range, (Range{ms(260), ms(340)}));
  EXPECT_EQ(both.phones[3].range.begin, ms(340));
}

TEST(AlignmentEdit, NeighboursLeaveOnlySoMuchRoom) {
  EXPECT_EQ(time_of(with_boundary(line(), {true, 3, false}, ms(0)), {true, 3, false}), ms(600)) << "not before the word before it";
  EXPECT_EQ(time_of(with_boundary(line(), {true, 3, true}, ms(9000)), {true, 3, true}), ms(2000)) << "not beyond the sound";
  EXPECT_EQ(time_of(with_boundary(line(), {false, 1, false}, ms(0)), {false, 1, false}), ms(110));
  EXPECT_EQ(time_of(with_boundary(line(), {false, 1, false}, ms(2000)), {false, 1, false}), ms(290));
  for (const Boundary& none : {Boundary{true, 2, false}, {true, 4, false}, {false, 7, true}}) EXPECT_EQ(with_boundary(line(), none, ms(100)), line());
}

TEST(AlignmentEdit, NothingEverOverlapsOrRunsBackward) {
  std::mt19937 random(4);
  auto a = line();
  for (int round = 0; round < 2000; ++round) {
    const bool word = random() % 2;
    a = with_boundary(a, {word, random() % (word ? a.words.size() : a.phones.size()), random() % 2 == 0}, ms(static_cast<int>(random() % 2200) - 100));
    Time last{0};
    for (const auto& p : a.phones) {
      ASSERT_TRUE(p.range.begin >= last && p.range.end > p.range.begin);
      last = p.range.end;
    }
    last = Time{0};
    for (const auto& w : a.words) {
      if (w.range.empty()) continue;
      ASSERT_GE(w.range.begin, last);
      last = w.range.end;
    }
    ASSERT_LE(last, a.length);
    for (const auto& p : a.phones) {
      const auto& w = a.words[static_cast<std::size_t>(p.word)].range;
      ASSERT_TRUE(p.range.begin >= w.begin && p.range.end <= w.end);
    }
  }
}

TEST(AlignmentEdit, APartHasWhatLiesInIt_CutAtItsEnds) {
  const auto all = line();
  const Range first = all.words[0].range, last = all.words.back().range;
  EXPECT_EQ(part_of(all, {ms(0), all.length}), all);
  const auto part = part_of(all, {first.begin + ms(10), last.end - ms(10)});
  ASSERT_EQ(part.words.size(), all.words.size());
  EXPECT_EQ(part.words[0].range.begin, ms(0));
  EXPECT_EQ(part.words.back().range.end, part.length);
  EXPECT_EQ(part.length, last.end - first.begin - ms(20));
  const auto later = part_of(all, {first.end, all.length});
  ASSERT_EQ(later.words.size(), all.words.size() - 1);
  EXPECT_EQ(later.words[0].text, all.words[1].text);
  for (const auto& phone : later.phones) EXPECT_TRUE(phone.word >= -1 && phone.word < static_cast<int>(later.words.size()));
  EXPECT_EQ(moved(later, first.end, all.length).words[0].range, all.words[1].range);
  EXPECT_TRUE(part_of(all, {ms(7), ms(7)}).words.empty());
}

TEST(AlignmentEdit, AWordBecomesOthers_OrNone) {
  Alignment said;
  said.words = {{{ms(50), ms(150)}, "a"}, {{ms(150), ms(250)}, "b"}};
  said.phones = {{{ms(50), ms(150)}, "AH", 1, 0}, {{ms(150), ms(250)}, "B", 1, 1}};
  EXPECT_EQ(room_of(line(), 2), (Range{ms(600), ms(900)}));
  const auto more = with_words(line(), 2, 1, said, ms(600), ms(900));
  ASSERT_EQ(more.words.size(), 5u);
  EXPECT_EQ(more.words[2].range, (Range{ms(650), ms(750)}));
  EXPECT_EQ(more.phones[5].word, 2);
  EXPECT_EQ(more.phones[6].word, 3);
  EXPECT_EQ(more.phones[7].word, 4) << "bread";
  const auto fewer = with_words(line(), 1, 1, {}, ms(400), ms(600));
  ASSERT_EQ(fewer.words.size(), 3u);
  EXPECT_EQ(fewer.phones.size(), 5u);
  EXPECT_EQ(fewer.phones[3].word, 2);
}

}  // namespace
}  // namespace mien::speech
