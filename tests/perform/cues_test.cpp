// Cues tick by tick. What is expected is worked out from the words of show/cue.hpp beside each check; fades are smoothsteps of a weight that moves evenly,
// as common practice has them (3w^2 - 2w^3).
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <thread>

#include "cue_show.hpp"
#include "motion/curve.hpp"
#include "perform/cue_side.hpp"
#include "perform/performer.hpp"
#include "perform/render.hpp"

namespace mien::perform {
namespace {

using namespace testing;

struct Sampled {
  std::vector<std::array<double, 3>> control;  // by tick
  std::vector<std::array<double, 3>> setpoint;
  double at(show::Time t, int c) const { return control[static_cast<std::size_t>(t.count() / 10'000'000)][static_cast<std::size_t>(c)]; }
};

Sampled perform_cues(const PlanPtr& plan, show::Time length, std::vector<CueCall> calls, bool stands = true, std::int64_t day_ns = -1) {
  Sampled all;
  render(*plan, Rehearsal{.length = length, .calls = calls, .stands = stands, .day_ns = day_ns}, [&](const Tick& t) {
    all.control.push_back({t.control[0], t.control[1], t.control[2]});
    all.setpoint.push_back({t.setpoint_deg[0], t.setpoint_deg[1], t.setpoint_deg[2]});
    return true;
  });
  return all;
}
Sampled perform_cues(std::vector<show::Cue> cues, show::Time length, std::vector<CueCall> calls, bool stands = true, std::int64_t day_ns = -1) {
  return perform_cues(compile(small_rig(), cued_show(std::move(cues))), length, std::move(calls), stands, day_ns);
}
CueCall at(std::int64_t t_ms, int cue, bool start = true) { return {t_ms * 1'000'000, cue, start}; }

double faded(double share) { return share * share * (3 - 2 * share); }

TEST(Cues, FadeAPoseInAndOut_AndHoldItUntilItIsReleased) {
  const auto s = perform_cues({cue("gape", show::CuePose{"agape"}, ms(200), ms(400))}, ms(2000), {at(100, 0), at(1000, 0, false)});
  EXPECT_EQ(s.at(ms(80), kOpen), 0);
  EXPECT_NEAR(s.at(ms(190), kOpen), 0.6 * faded(0.5), 1e-9) << "half way: ten ticks, the first of them at 100 ms";
  EXPECT_NEAR(s.at(ms(300), kOpen), 0.6, 1e-12);
  EXPECT_NEAR(s.at(ms(990), kOpen), 0.6, 1e-12);
  EXPECT_NEAR(s.at(ms(1190), kOpen), 0.6 * faded(0.5), 1e-9);
  EXPECT_EQ(s.at(ms(1400), kOpen), 0);
}

TEST(Cues, WeighAPoseFromRest) {
  const auto s = perform_cues({cue("half", show::CuePose{"agape", 0.5})}, ms(200), {at(0, 0)});
  EXPECT_DOUBLE_EQ(s.at(ms(100), kOpen), 0.3);
}

TEST(Cues, HoldAPoseAsLongAsTheySay) {
  auto gape = cue("gape", show::CuePose{"agape"}, ms(100), ms(100));
  gape.hold = ms(500);
  const auto s = perform_cues({gape}, ms(1500), {at(0, 0)});
  EXPECT_NEAR(s.at(ms(580), kOpen), 0.6, 1e-12);
  EXPECT_LT(s.at(ms(650), kOpen), 0.5);
  EXPECT_EQ(s.at(ms(720), kOpen), 0);
}

// A clip is read as the curve itself (motion::evaluate, which has its own tests against CSS Easing) at the clip's own time.
TEST(Cues, PlayAClipOnce_ThenHoldItsLastValue_ThenFade) {
  auto yawn = cue("yawn", show::CueClip{"yawn"}, ms(0), ms(200));
  yawn.hold = ms(300);
  const auto show = cued_show({yawn});
  const auto s = perform_cues(compile(small_rig(), show), ms(2000), {at(200, 0)});
  const show::Channel& curve = *show->clips[0]->channels[0];
  for (int n = 0; n < 99; ++n) EXPECT_NEAR(s.at(ms(200 + 10 * n), kOpen), motion::evaluate(curve, ms(10 * (n + 1)), 0), 2e-6) << n;
  EXPECT_NEAR(s.at(ms(1400), kOpen), 0.25, 1e-9);
  EXPECT_NEAR(s.at(ms(1580), kOpen), 0.25 * faded(0.5), 0.03);
  EXPECT_EQ(s.at(ms(1800), kOpen), 0);
}

TEST(Cues, GoRoundWithAClipThatLoops) {
  const auto show = cued_show({cue("wink", show::CueClip{"wink", true})});
  const auto s = perform_cues(compile(small_rig(), show), ms(3000), {at(0, 0)});
  for (int n = 10; n < 290; ++n) EXPECT_NEAR(s.at(ms(10 * n), kBlink), motion::evaluate(*show->clips[1]->channels[0], ms((10 * n + 10) % 400), 0), 2e-6);
}

TEST(Cues, Follow_AndPause_AndAreNotHeardInAPause) {
  auto first = cue("first", show::CueClip{"wink"}), second = cue("second", show::CuePose{"agape"});
  first.follow = "second", first.pause = ms(1000), second.hold = ms(200);
  // It plays from 0 to 400 ms, pauses until 1400; asked for at 800 (not heard) and 1500 (heard).
  const auto s = perform_cues({first, second}, ms(2500), {at(0, 0), at(800, 0), at(1500, 0)});
  EXPECT_EQ(s.at(ms(380), kOpen), 0);
  EXPECT_DOUBLE_EQ(s.at(ms(450), kOpen), 0.6) << "the second follows as the first ends";
  EXPECT_EQ(s.at(ms(650), kOpen), 0);
  EXPECT_EQ(s.at(ms(900), kBlink), 0);
  EXPECT_GT(s.at(ms(1650), kBlink), 0.5);
}

TEST(Cues, AReleasedOneHasNoFollower) {
  auto first = cue("first", show::CuePose{"glad"}), second = cue("second", show::CuePose{"agape"});
  first.follow = "second";
  const auto s = perform_cues({first, second}, ms(1000), {at(0, 0), at(300, 0, false)});
  EXPECT_TRUE(std::all_of(s.control.begin(), s.control.end(), [](const auto& c) { return c[kOpen] == 0; }));
}

TEST(Cues, TheWeakerGivesWay_WhereBothMoveTheSame) {
  auto weak = cue("weak", show::CuePose{"agape", 0.5}, ms(100), ms(100)), strong = cue("strong", show::CuePose{"agape", 1}, ms(100), ms(100)), other = cue("other", show::CueClip{"wink", true});
  strong.priority = 5;
  // The strong one ends the weak one; while it is on the weak one doesn't begin, but one that moves something else does.
  const auto s = perform_cues({weak, strong, other}, ms(3000), {at(0, 0), at(500, 1), at(1000, 0), at(1000, 2), at(2000, 1, false), at(2500, 0)});
  EXPECT_DOUBLE_EQ(s.at(ms(400), kOpen), 0.3);
  EXPECT_DOUBLE_EQ(s.at(ms(700), kOpen), 0.6);
  EXPECT_DOUBLE_EQ(s.at(ms(1500), kOpen), 0.6);
  EXPECT_GT(s.at(ms(1590), kBlink), 0.9);
  EXPECT_EQ(s.at(ms(2300), kOpen), 0) << "the weak one was ended, it is not under it";
  EXPECT_DOUBLE_EQ(s.at(ms(2700), kOpen), 0.3);
}

TEST(Cues, OfEqualsTheNewerWins_AndStopEndsAllThatAreNotStronger) {
  auto a = cue("a", show::CuePose{"agape", 0.5}), b = cue("b", show::CuePose{"agape", 1}), stop = cue("stop", show::CueStop{}), strong = cue("strong", show::CuePose{"glad"});
  strong.priority = 9;
  const auto s = perform_cues({a, b, stop, strong}, ms(1000), {at(0, 0), at(0, 3), at(200, 1), at(600, 2)});
  EXPECT_DOUBLE_EQ(s.at(ms(100), kOpen), 0.3);
  EXPECT_DOUBLE_EQ(s.at(ms(400), kOpen), 0.6);
  EXPECT_EQ(s.at(ms(700), kOpen), 0);
  EXPECT_DOUBLE_EQ(s.at(ms(900), kSmile), 0.8);
}

// Which one a choice took is seen by the value that its pose has.
std::vector<int> choices_of(std::uint32_t seed, std::size_t of, int starts) {
  std::vector<show::Cue> cues;
  std::vector<std::string> names;
  for (std::size_t n = 0; n < of; ++n) {
    names.push_back("look " + std::to_string(n));
    cues.push_back(cue(names.back(), show::CuePose{"agape", 0.1 * double(n + 1)}));
    cues.back().hold = ms(50);
  }
  cues.push_back(cue("any", show::CueChoice{names, seed}));
  std::vector<CueCall> calls;
  for (int n = 0; n < starts; ++n) calls.push_back(at(200 * n, static_cast<int>(of)));
  const auto s = perform_cues(cues, ms(200 * starts), calls);
  std::vector<int> chosen;
  for (int n = 0; n < starts; ++n) chosen.push_back(static_cast<int>(std::lround(s.at(ms(200 * n + 30), kOpen) / 0.06)) - 1);
  return chosen;
}

TEST(Cues, ChooseBySeed_EachOfThem_NeverTheSameTwice) {
  const auto chosen = choices_of(3, 4, 400);
  EXPECT_EQ(chosen, choices_of(3, 4, 400));
  EXPECT_NE(chosen, choices_of(4, 4, 400));
  std::array<int, 4> times{};
  for (std::size_t n = 0; n < chosen.size(); ++n) {
    ASSERT_TRUE(chosen[n] >= 0 && chosen[n] < 4) << chosen[n];
    ++times[static_cast<std::size_t>(chosen[n])];
    if (n > 0) {
      EXPECT_NE(chosen[n], chosen[n - 1]) << n;
    }
  }
  // 400 draws, each of the others with 1 in 3: 100 of each are expected, give or take 4 sigma of what is at most a binomial's.
  for (const int t : times) EXPECT_NEAR(t, 100, 4 * std::sqrt(400 * 0.25 * 0.75));
  EXPECT_EQ(choices_of(3, 1, 3), (std::vector<int>{0, 0, 0})) << "one to choose from is no choice";
}

TEST(Cues, AChainOfChoicesGoesOnAfterAStrongerCueCameBetween) {
  auto one = cue("one", show::CuePose{"agape", 0.5}), two = cue("two", show::CuePose{"agape", 0.6}), strong = cue("strong", show::CuePose{"agape", 1}), any = cue("any", show::CueChoice{{"one", "two"}, 1});
  one.hold = two.hold = ms(100), any.follow = "any", any.pause = ms(50), strong.priority = 1, strong.hold = ms(1000);
  const auto s = perform_cues({one, two, strong, any}, ms(4000), {at(0, 3), at(1020, 2)});
  const auto share = [&](int from, int to, auto is) {
    int count = 0;
    for (int n = from; n < to; n += 10) count += is(s.at(ms(n), kOpen));
    return count;
  };
  EXPECT_GT(share(0, 1000, [](double v) { return v > 0.2 && v < 0.4; }), 50);
  EXPECT_EQ(share(1050, 2000, [](double v) { return v < 0.59; }), 0) << "nothing comes between while the strong one is on";
  EXPECT_GT(share(2100, 4000, [](double v) { return v > 0.2 && v < 0.4; }), 90);
}

TEST(Cues, PlayAStretchOfTheShow_AndGoBackToWhereItStood) {
  const auto s = perform_cues({cue("middle", show::CueStretch{"middle", "late"}, ms(0), ms(0))}, ms(3000), {at(500, 0)});
  EXPECT_EQ(s.at(ms(400), kSmile), 0);
  for (int n = 0; n < 70; ++n) EXPECT_NEAR(s.at(ms(760 + 10 * n), kSmile), (1000 + 260 + 10 * n) / 4000.0, 2e-6) << n;  // once the jump is made good for
  EXPECT_EQ(s.at(ms(2000), kSmile), 0);
}

TEST(Cues, TheShowGoesOnWhereAStretchBrokeIn) {
  const auto s = perform_cues({cue("start", show::CueStretch{"", "middle"})}, ms(4000), {at(2000, 0)}, false);
  EXPECT_NEAR(s.at(ms(1900), kSmile), 1900 / 4000.0, 2e-6);
  EXPECT_NEAR(s.at(ms(2500), kSmile), 500 / 4000.0, 2e-6);
  EXPECT_NEAR(s.at(ms(3500), kSmile), (2000 + 500) / 4000.0, 0.005);
}

// Nothing jumps: what is asked of the servos moves no faster than the fades and the curves themselves would.
TEST(Cues, NothingJumps_WhateverIsAskedWhenever) {
  auto stretch = cue("middle", show::CueStretch{"late", ""}, ms(500), ms(500)), yawn = cue("yawn", show::CueClip{"yawn"}, ms(300), ms(300)), glad = cue("glad", show::CuePose{"glad"}, ms(300), ms(300));
  const auto s = perform_cues({stretch, yawn, glad}, ms(8000), {at(300, 0), at(500, 1), at(900, 2), at(1100, 0, false), at(1300, 1, false), at(1400, 1), at(1500, 0), at(1600, 2, false), at(1700, 2), at(1900, 1)});
  double most = 0;
  for (std::size_t n = 1; n < s.control.size(); ++n)
    for (std::size_t c = 0; c < 3; ++c) most = std::max(most, std::abs(s.control[n][c] - s.control[n - 1][c]));
  // A smoothstep's steepest is 1.5 of its mean, a quintic's 1.875: 1 unit in 300 ms is 0.0625 a tick at most; two of them and the curve's 0.02 may fall together.
  EXPECT_LT(most, 2 * 0.0625 + 0.02);
  EXPECT_GT(most, 0.01);
}

TEST(Cues, StartAtATimeOfTheShow_AndOfTheDay) {
  auto by_show = cue("by show", show::CuePose{"agape"}), by_day = cue("by day", show::CueClip{"wink", true});
  by_show.at_time = ms(1500), by_day.at_clock = show::parse_clock("00:00:01");
  const auto plays = perform_cues({by_show, by_day}, ms(3000), {}, false);
  EXPECT_EQ(plays.at(ms(1480), kOpen), 0);
  EXPECT_DOUBLE_EQ(plays.at(ms(1500), kOpen), 0.6);
  EXPECT_EQ(plays.at(ms(2600), kBlink), 0) << "nobody told the time of day, and nobody waits for cues";
  // Begun two seconds before midnight: one second past it is 3 s later.
  const auto waits = perform_cues({by_show, by_day}, ms(4000), {}, true, show::kDay.count() - 2'000'000'000);
  EXPECT_EQ(waits.at(ms(3900), kOpen), 0) << "the show stands";
  EXPECT_EQ(waits.at(ms(2980), kBlink), 0);
  EXPECT_GT(waits.at(ms(3150), kBlink), 0.7);
}

TEST(Cues, WaitingLivesAsPlayingDoes) {
  const auto show = cued_show({cue("gape", show::CuePose{"agape"})});
  show->channels.clear();
  show->length = ms(60'000);
  show::Layer life;
  life.name = "life", life.blend = show::Layer::Blend::add, life.idle = show::IdleLife{};
  show->layers = {std::make_shared<const show::Layer>(life)};
  const auto plan = compile(small_rig(), show);
  const auto plays = perform_cues(plan, ms(20'000), {}, false), stands = perform_cues(plan, ms(20'000), {});
  // While the show stands life goes on by a clock of its own, a tick ahead.
  std::size_t moved = 0;
  for (std::size_t n = 1; n + 1 < plays.control.size(); ++n) {
    EXPECT_DOUBLE_EQ(stands.control[n][kBlink], plays.control[n + 1][kBlink]) << n;
    moved += plays.control[n][kBlink] > 0;
  }
  EXPECT_GT(moved, 50u);
}

TEST(Cues, TheSameCallsGiveTheSameBits_AndAShowWithoutCallsTheBitsOfOneWithoutCues) {
  std::vector<show::Cue> cues{cue("gape", show::CuePose{"agape"}, ms(70), ms(90)), cue("middle", show::CueStretch{"middle", "late"}, ms(30), ms(200)), cue("any", show::CueChoice{{"gape", "middle"}, 8})};
  cues[2].follow = "any", cues[0].hold = ms(100);
  const std::vector<CueCall> calls{at(300, 2), at(1700, 0)};
  EXPECT_EQ(perform_cues(cues, ms(9000), calls).setpoint, perform_cues(cues, ms(9000), calls).setpoint);
  EXPECT_EQ(perform_cues(cues, ms(4000), {}, false).setpoint, perform_cues(std::vector<show::Cue>{}, ms(4000), {}, false).setpoint);
}

TEST(Cues, WhatNamesNothingDoesNothing) {
  const auto s = perform_cues({cue("clip", show::CueClip{"none"}), cue("pose", show::CuePose{"none"}), cue("stretch", show::CueStretch{"none", ""}), cue("state", show::CueState{"none", "on"}), cue("choice", show::CueChoice{{"none"}, 1}),
                               cue("upside", show::CueStretch{"late", "middle"})}, ms(500), {at(0, 0), at(0, 1), at(0, 2), at(0, 3), at(0, 4), at(0, 5), at(0, 77), at(0, -1)});
  for (const auto& c : s.control) EXPECT_EQ(c, (std::array<double, 3>{0, 0, 0}));
}

TEST(Cues, TellAnAuxiliaryAState) {
  const auto rig = small_rig();
  rig->controls.push_back({"lamp", "eyes", "%", 0, 100, 0});
  rig->controls.push_back({"sign", "eyes", "1", 0, 2, 0, {"dark", "open", "closed"}});
  rig->auxiliaries = {{"bulb", "one", "lamp", 0, show::Dimmer{}}, {"plate", "one", "sign", 1, show::Code{2}}};
  auto show = cued_show({cue("light", show::CueState{"bulb", "on"}, ms(200), ms(200)), cue("open", show::CueState{"plate", "open"}), cue("some", show::CueState{"bulb", "40"})});
  const auto plan = compile(rig, show);
  std::vector<double> lamp, sign;
  const std::vector<CueCall> calls{at(100, 0), at(200, 1), at(600, 2)};
  render(*plan, Rehearsal{.length = ms(1000), .calls = calls, .stands = true}, [&](const Tick& t) { return lamp.push_back(t.control[3]), sign.push_back(t.control[4]), true; });
  EXPECT_NEAR(lamp[19], 50, 1e-6) << "a dimmer fades";
  EXPECT_DOUBLE_EQ(lamp[50], 100);
  EXPECT_DOUBLE_EQ(lamp[99], 40);
  EXPECT_DOUBLE_EQ(sign[15], 0);
  EXPECT_DOUBLE_EQ(sign[30], 1);
}

TEST(Cues, HandsStartThem) {
  const auto rig = small_rig();
  const auto show = cued_show({cue("gape", show::CuePose{"agape"}), cue("wink", show::CueClip{"wink"})});
  using S = live::Source::Kind;
  live::HandMap map;
  map.triggers = {{.source = {"", 0, S::note, 1}, .what = live::Trigger::What::cue, .name = "gape", .hold = live::Trigger::Hold::momentary}, {.source = {"", 0, S::note, 2}, .what = live::Trigger::What::cue, .name = "gape", .hold = live::Trigger::Hold::latch},
                  {.source = {"", 0, S::button, 3}, .what = live::Trigger::What::cue, .name = "wink", .hold = live::Trigger::Hold::once}};
  EXPECT_TRUE(live::validate(map, *rig, "m").empty());
  EXPECT_TRUE(live::unmet(map, *show, "m").empty());
  const auto plan = compile(rig, show, nullptr, live::compile(map, rig, show, {}));
  const auto note = [](std::int64_t t_ms, int number, int velocity) {
    live::Touch touch;
    touch.at_ns = t_ms * 1'000'000;
    touch.midi = {velocity ? live::MidiMessage::Kind::note_on : live::MidiMessage::Kind::note_off, 0, static_cast<std::uint8_t>(number), static_cast<std::uint16_t>(velocity), {}};
    return touch;
  };
  std::vector<live::Touch> touches{note(100, 1, 90), note(300, 1, 0), note(500, 2, 90), note(550, 2, 0), note(900, 2, 90), note(950, 2, 0)};
  touches.push_back({.at_ns = 1'000'000'000, .kind = live::Touch::Kind::button, .number = 3, .value = 1});
  std::vector<double> open, blink;
  render(*plan, Rehearsal{.length = ms(2000), .touches = touches, .stands = true}, [&](const Tick& t) { return open.push_back(t.control[kOpen]), blink.push_back(t.control[kBlink]), true; });
  EXPECT_DOUBLE_EQ(open[20], 0.6);
  EXPECT_DOUBLE_EQ(open[40], 0);
  EXPECT_DOUBLE_EQ(open[70], 0.6);
  EXPECT_DOUBLE_EQ(open[92], 0);
  EXPECT_GT(blink[118], 0.9);
}

TEST(Cues, GoOnThroughAnEditOfTheShow_AndFadeWhereTheyAreTakenOut) {
  const auto rig = small_rig();
  const auto show = cued_show({cue("gape", show::CuePose{"agape"}), cue("wink", show::CueClip{"wink", true})});
  const auto plan = compile(rig, show);
  auto head = std::make_unique<Head>();
  stand_at(*head, *plan, ms(0));
  start(*plan->cues, head->cues, 0);
  Tick out;
  const auto go = [&](const Plan& on, Head& with) {
    step(on.cues.get(), with.cues, {ms(0), false, 10'000'000, -1});
    tick(on, with, ms(0), 1, out);
    return out.control[kOpen];
  };
  for (int n = 0; n < 20; ++n) go(*plan, *head);
  auto other = *show;
  std::swap(other.cues[0], other.cues[1]);
  const auto swapped = compile(rig, std::make_shared<const show::Show>(other));
  auto next = std::make_unique<Head>();
  load(*next, *swapped);
  carry_over(next->cues, swapped->cues.get(), head->cues, plan->cues.get());
  EXPECT_DOUBLE_EQ(go(*swapped, *next), 0.6) << "found again by its name";
  other.cues.clear();
  const auto none = compile(rig, std::make_shared<const show::Show>(other));
  auto last = std::make_unique<Head>();
  load(*last, *none);
  carry_over(last->cues, none->cues.get(), next->cues, swapped->cues.get());
  EXPECT_NEAR(go(*none, *last), 0.6, 0.02);
  for (int n = 0; n < 60; ++n) go(*none, *last);
  EXPECT_EQ(out.control[kOpen], 0);
}

// ------------------------------------------------------------------------------------------------- on the performing thread

TEST(CuesOnTheStage, AreStartedByNameFromAnyThread_AndTellWhatBecameOfThem) {
  Performer performer(nullptr, nullptr);
  performer.publish(compile(small_rig(), cued_show({cue("gape", show::CuePose{"agape"}), cue("middle", show::CueStretch{"middle", "late"})})));
  const auto wait = [&](auto done) {
    for (int n = 0; n < 1000 && !done(); ++n) std::this_thread::sleep_for(std::chrono::milliseconds(5));
    return done();
  };
  std::thread other([&] {
    EXPECT_FALSE(performer.start_cue("nobody"));
    EXPECT_TRUE(performer.start_cue("gape"));
    EXPECT_TRUE(wait([&] { return performer.cue_phase(0) == CuePhase::playing; }));
  });
  other.join();
  EXPECT_TRUE(wait([&] { return performer.latest().cues.cue[0].phase == CuePhase::playing && performer.latest().control[kOpen] == 0.6; }));
  EXPECT_EQ(performer.latest().cues.count, 2);
  EXPECT_TRUE(performer.start_cue("middle"));
  EXPECT_TRUE(wait([&] { return performer.latest().playing; }));
  EXPECT_TRUE(wait([&] { return !performer.latest().playing && performer.latest().time == ms(0); })) << "it goes back by itself";
  EXPECT_TRUE(performer.release_cue("gape"));
  EXPECT_TRUE(wait([&] { return performer.cue_phase(0) == CuePhase::ready; }));
}

}  // namespace
}  // namespace mien::perform
