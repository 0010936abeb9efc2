// What OSC may say to a head: touches and orders out of messages, and nothing else out of anything.
#include "live/osc_ear.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "live/hand_rig.hpp"

namespace mien::live {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;
using Bytes = std::vector<std::uint8_t>;

constexpr NetAddress kMe{kLoopback, 9000};
constexpr std::int64_t kUnix = 1'800'000'000'000'000'000;

struct OscBench {
  OscBench() {
    know_controls(*hand_rig(), addresses);
    addresses.push_back("/desk/fader/1");
    ear.know(addresses);
  }
  void say(std::string_view address, std::vector<OscValue> values = {}) { ear.hear(write_osc(address, values), kMe, 5, kUnix); }
  std::vector<Touch> heard() {
    std::vector<Touch> touches;
    inlet.drain([&](const Touch& t) { touches.push_back(t); });
    return touches;
  }
  std::uint16_t number(const std::string& address) const { return static_cast<std::uint16_t>(std::find(addresses.begin(), addresses.end(), address) - addresses.begin()); }
  Inlet inlet;
  OscEar ear{inlet, 2};
  std::vector<std::string> addresses;
};

Touch osc(std::uint16_t number, float value) { return {.at_ns = 5, .device = 2, .kind = Touch::Kind::osc, .number = number, .value = value}; }

TEST(OscEar, MakesTouchesOfControlsAndTheMapsAddresses) {
  OscBench e;
  e.say("/mien/control/jaw", {0.25f});
  e.say("/desk/fader/1", {1});
  EXPECT_THAT(e.heard(), ElementsAre(osc(e.number("/mien/control/jaw"), 0.25f), osc(e.number("/desk/fader/1"), 1)));
  e.say("/mien/control/j?w", {0.5f});
  e.say("/mien/control/{jaw,smile}", {0.75f});
  EXPECT_THAT(e.heard(), ElementsAre(osc(1, 0.5f), osc(1, 0.75f), osc(2, 0.75f)));
  e.say("/desk/fader/1");
  EXPECT_THAT(e.heard(), ElementsAre(osc(4, 1), osc(4, 0))) << "a message without arguments is a tap";
  EXPECT_EQ(e.ear.counts().unknown, 0u);
  for (const char* nobody : {"/mien/control/ear", "/desk/fader/2", "/mien/control/x*", "/mien/arm", "/mien/jog", "/mien/", "/mien", "/mien/take_over"}) e.say(nobody, {1.0f});
  e.say("/mien/control/jaw", {std::string_view("wide")});
  e.say("/mien/control/jaw", {std::nanf("")});
  EXPECT_EQ(e.ear.counts().unknown, 10u);
  EXPECT_THAT(e.heard(), IsEmpty());
  EXPECT_THAT(e.ear.take_orders(), IsEmpty());
}

TEST(OscEar, MakesOrdersOfTheRest) {
  using K = NetworkOrder::Kind;
  OscBench e;
  e.say("/mien/play"), e.say("/mien/stop"), e.say("/mien/locate", {1.5f}), e.say("/mien/locate", {-3}), e.say("/mien/marker", {std::string_view("Wakes up")});
  e.say("/mien/cue/greet"), e.say("/mien/cue", {std::string_view("two words")});
  EXPECT_THAT(e.ear.take_orders(), ElementsAre(NetworkOrder{K::play}, NetworkOrder{K::stop}, NetworkOrder{K::locate, show::Time{1'500'000'000}}, NetworkOrder{K::locate},
                                               NetworkOrder{K::marker, show::Time{0}, "Wakes up"}, NetworkOrder{K::cue, show::Time{0}, "greet"}, NetworkOrder{K::cue, show::Time{0}, "two words"}));
  e.say("/mien/locate"), e.say("/mien/marker", {3}), e.say("/mien/cue/"), e.say("/mien/pl?y"), e.say("/mien/*");
  EXPECT_THAT(e.ear.take_orders(), IsEmpty()) << "no pattern starts or stops anything";
  e.say("/mien/state");
  EXPECT_THAT(e.ear.take_askers(), ElementsAre(kMe));
}

TEST(OscEar, ReleasesOneControlOrAll) {
  OscBench e;
  e.say("/mien/release", {std::string_view("smile")});
  e.say("/mien/release");
  const auto heard = e.heard();
  ASSERT_EQ(heard.size(), 2u);
  EXPECT_EQ(heard[0].kind, Touch::Kind::let_go);
  EXPECT_EQ(heard[0].number, 2);
  EXPECT_EQ(heard[1].number, kEveryAddress);
  e.say("/mien/release", {std::string_view("nobody")});
  EXPECT_THAT(e.heard(), IsEmpty());
}

TEST(OscEar, TouchesNoMoreThanItMay) {
  OscBench e;
  const auto speak = [&] {
    e.say("/mien/control/jaw", {1.0f}), e.say("/desk/fader/1", {1.0f}), e.say("/mien/release"), e.say("/mien/play"), e.say("/mien/locate", {1}), e.say("/mien/marker", {std::string_view("a")}), e.say("/mien/cue/a");
    return std::pair(e.heard().size(), e.ear.take_orders().size());
  };
  EXPECT_EQ(speak(), std::pair(std::size_t{3}, std::size_t{4}));
  e.ear.let({.control = true, .cue = false, .transport = false});
  EXPECT_EQ(speak(), std::pair(std::size_t{3}, std::size_t{0}));
  e.ear.let({.control = false, .cue = true, .transport = false});
  EXPECT_EQ(speak(), std::pair(std::size_t{0}, std::size_t{1}));
  e.ear.let({.control = false, .cue = false, .transport = true});
  EXPECT_EQ(speak(), std::pair(std::size_t{0}, std::size_t{3}));
  EXPECT_EQ(e.ear.counts().forbidden, 4u + 6u + 4u);
}

TEST(OscEar, ObeysBundlesWhenTheirTimeComes) {
  OscBench e;
  const OscValue v[] = {0.5f};
  const Bytes one[] = {write_osc("/mien/control/jaw", v)};
  const auto at = [&](std::int64_t ns) { e.ear.hear(write_osc_bundle(time_tag_of(kUnix + ns), one), kMe, 5, kUnix); };
  at(-1'000'000'000);
  EXPECT_EQ(e.heard().size(), 1u) << "late: at once";
  at(200'000'000), at(100'000'000);
  EXPECT_TRUE(e.ear.any_waits());
  EXPECT_THAT(e.heard(), IsEmpty());
  e.ear.catch_up(6, kUnix + 99'000'000);
  EXPECT_THAT(e.heard(), IsEmpty());
  e.ear.catch_up(7, kUnix + 100'000'001);
  const auto heard = e.heard();
  ASSERT_EQ(heard.size(), 1u);
  EXPECT_EQ(heard[0].at_ns, 7);
  e.ear.catch_up(8, kUnix + 250'000'000);
  EXPECT_EQ(e.heard().size(), 1u);
  EXPECT_FALSE(e.ear.any_waits());
  at(OscEar::kMostAhead_ns + 1'000'000);
  EXPECT_EQ(e.ear.counts().far_off, 1u);
  for (std::size_t n = 0; n <= OscEar::kMostWaiting; ++n) at(1'000'000'000);
  EXPECT_EQ(e.ear.counts().far_off, 2u) << "and no more wait than fit";
}

TEST(OscEar, InAFloodTheNewestOfEachAddressArrives) {
  OscBench e;
  for (int n = 0; n < 10'000; ++n) e.say(n % 2 ? "/mien/control/jaw" : "/mien/control/smile", {static_cast<float>(n)});
  float jaw = 0, smile = 0;
  const auto listen = [&] {
    for (const auto& t : e.heard()) (t.number == 1 ? jaw : smile) = t.value;
  };
  listen();
  EXPECT_LT(jaw, 9999);
  EXPECT_TRUE(e.ear.any_waits());
  e.ear.catch_up(9, kUnix);
  listen();
  EXPECT_EQ(jaw, 9999);
  EXPECT_EQ(smile, 9998);
  EXPECT_FALSE(e.ear.any_waits());
}

TEST(OscEar, NoiseSaysNothing) {
  OscBench e;
  std::mt19937 random(8);
  for (int n = 0; n < 20'000; ++n) {
    Bytes noise(random() % 64);
    for (auto& byte : noise) byte = static_cast<std::uint8_t>(random());
    e.ear.hear(noise, kMe, 5, kUnix);
  }
  EXPECT_EQ(e.ear.counts().packets, 20'000u);
  EXPECT_EQ(e.ear.counts().broken, 20'000u);
  EXPECT_THAT(e.heard(), IsEmpty());
}

TEST(OscMay, IsReadAndWritten) {
  EXPECT_EQ(to_text(*parse_may("cue,control", "--osc-may")), "control,cue");
  EXPECT_EQ(*parse_may("control,cue,transport", ""), OscMay{});
  for (const char* text : {"", "arm", "cue,", "cue, control"}) EXPECT_FALSE(parse_may(text, "--osc-may")) << text;
}

// ---- what becomes of it in the hands

HandProgramPtr program(const HandMap& map, const std::vector<std::string>& addresses) { return compile(map, hand_rig(), hand_show(), {}, addresses); }

struct Head {
  explicit Head(const HandMap& map = {}) {
    know_controls(*hand_rig(), addresses);
    know_addresses(map, addresses);
    made = program(map, addresses);
    load(state, made.get());
  }
  void say(const std::string& address, float value) {
    hear(*made, state, osc(static_cast<std::uint16_t>(std::find(addresses.begin(), addresses.end(), address) - addresses.begin()), value));
  }
  double jaw(int ticks = 1) {
    for (int n = 0; n < ticks; ++n) {
      now = {0, 0.2, 0, 0};
      play(*made, state, 0.01, now);
    }
    return now[kJaw];
  }
  std::vector<std::string> addresses;
  HandProgramPtr made;
  HandState state;
  std::vector<double> now;
};

TEST(DirectControl, FadesIn_IsHeldForItsTime_AndFadesOut) {
  Head h;
  EXPECT_EQ(h.jaw(), 0.2);
  h.say("/mien/control/jaw", 1);
  double last = h.jaw();
  EXPECT_LT(last, 0.25) << "no jump";
  for (int n = 0; n < 60; ++n) {
    const double now = h.jaw();
    EXPECT_GE(now, last);
    EXPECT_LT(now - last, 0.02);
    last = now;
  }
  EXPECT_DOUBLE_EQ(last, 1);
  EXPECT_DOUBLE_EQ(h.jaw(230), 1) << "held for 3 s";
  EXPECT_DOUBLE_EQ(h.jaw(70), 0.2) << "then it is the show's again";
}

TEST(DirectControl, IsClampedToTheControlsRange) {
  Head h;
  h.say("/mien/control/jaw", 1e30f);
  EXPECT_DOUBLE_EQ(h.jaw(100), 1);
  h.say("/mien/control/jaw", -7);
  EXPECT_NEAR(h.jaw(100), 0, 1e-9);
}

TEST(DirectControl, IsLetGoByReleaseAndWhenOscIsGone) {
  for (const Touch::Kind kind : {Touch::Kind::let_go, Touch::Kind::osc_gone}) {
    Head h;
    h.say("/mien/control/jaw", 1);
    h.jaw(60);
    hear(*h.made, h.state, {.kind = kind, .number = kEveryAddress});
    EXPECT_DOUBLE_EQ(h.jaw(60), 0.2);
  }
}

TEST(DirectControl, AfterPanicASenderThatGoesOnIsNotHeardUntilItLetGoOrWasSilent) {
  Head h;
  const auto send = [&](int ticks) {
    double now = 0;
    for (int n = 0; n < ticks; ++n) h.say("/mien/control/jaw", 1), now = h.jaw();
    return now;
  };
  send(60);
  panic(*h.made, h.state);
  EXPECT_DOUBLE_EQ(send(1000), 0.2);
  h.jaw(310);
  EXPECT_DOUBLE_EQ(send(60), 1) << "silent for 3 s";
  panic(*h.made, h.state);
  EXPECT_DOUBLE_EQ(send(100), 0.2);
  hear(*h.made, h.state, {.kind = Touch::Kind::let_go, .number = kEveryAddress});
  EXPECT_DOUBLE_EQ(send(60), 1) << "let go";
}

TEST(ControlAddress, LeavesOutWhatNoAddressCanHold) {
  EXPECT_EQ(control_address("jaw"), "/mien/control/jaw");
  EXPECT_EQ(control_address("left brow/2 [deg]"), "/mien/control/left_brow_2__deg_");
}

TEST(MappedAddress, IsAKnobLikeAnyOther_AndGlideTakesHoldAtOnceWithoutAJump) {
  HandMap map;
  map.knobs = {{.source = *parse_source("osc /desk/jaw"), .control = "jaw", .takeover = Takeover::glide}};
  Head h(map);
  h.say("/desk/jaw", 0.9f);
  double last = h.jaw();
  EXPECT_LT(last, 0.3);
  for (int n = 0; n < 60; ++n) {
    const double now = h.jaw();
    EXPECT_LT(now - last, 0.08);
    last = now;
  }
  EXPECT_NEAR(last, 0.9, 0.01);
  hear(*h.made, h.state, {.kind = Touch::Kind::gone});
  EXPECT_NEAR(h.jaw(100), 0.9, 0.01) << "another device was unplugged";
  hear(*h.made, h.state, {.kind = Touch::Kind::slots_gone});
  EXPECT_NEAR(h.jaw(100), 0.9, 0.01) << "another network";
  hear(*h.made, h.state, {.kind = Touch::Kind::osc_gone});
  EXPECT_DOUBLE_EQ(h.jaw(60), 0.2);
}

TEST(MappedAddress, KeepsItsNumberWhenTheMapChanges) {
  HandMap map;
  map.knobs = {{.source = *parse_source("osc /b"), .control = "jaw"}};
  std::vector<std::string> known;
  know_addresses(map, known);
  map.knobs.insert(map.knobs.begin(), Knob{.source = *parse_source("osc /a"), .control = "smile"});
  know_addresses(map, known);
  EXPECT_THAT(known, ElementsAre("/b", "/a"));
  EXPECT_EQ(program(map, known)->knobs[1].ear.number, 0);
  EXPECT_EQ(program(map, {})->knobs[1].ear.number, -2) << "nobody listens to it";
}

}  // namespace
}  // namespace mien::live
