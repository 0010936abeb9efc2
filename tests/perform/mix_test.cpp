#include "perform/mix.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <functional>
#include <random>

#include "heads.hpp"
#include "perform/bake_layers.hpp"
#include "perform/render.hpp"
#include "perform/study.hpp"
#include "show/layer_edit.hpp"
#include "support/sample.hpp"

namespace mien::perform {
namespace {

using namespace testing;
using show::Layer;
using show::Time;
using std::chrono::milliseconds;

show::ChannelPtr channel(const char* control, std::vector<show::Keyframe> keys) { return std::make_shared<show::Channel>(show::Channel{control, std::move(keys)}); }
show::ChannelPtr constant(const char* control, double value) { return channel(control, {{Time{0}, value, show::kHold}}); }

Layer layer(const char* name, Layer::Blend blend, double weight = 1) {
  Layer made;
  made.name = name, made.blend = blend, made.weight = weight;
  return made;
}

double control_at(const show::Show& show, Time t, std::size_t control, std::shared_ptr<const show::Rig> rig = small_rig()) {
  const auto plan = compile(std::move(rig), std::make_shared<show::Show>(show));
  const auto head = std::make_unique<Head>();
  Tick out;
  load(*head, *plan);
  aim(*plan, *head, t, out);
  return out.control[control];
}

TEST(Mix, OfNoLayersIsNothing) {
  auto show = empty_show();
  EXPECT_EQ(compile(small_rig(), show)->mix, nullptr);
  auto muted = layer("muted", Layer::Blend::over);
  muted.muted = true, muted.channels = {constant("smile", 1)};
  EXPECT_EQ(compile(small_rig(), std::make_shared<show::Show>(show::with_layer(*show, muted)))->mix, nullptr);
}

// x + w (y - x), and x + w (y - rest).
TEST(Mix, OverridesAndAdds) {
  show::Show show = *empty_show();
  add_channel(show, "smile", {{Time{0}, 0.2, show::kHold}});
  auto over = layer("over", Layer::Blend::over, 0.25);
  over.channels = {constant("smile", -0.6)};
  EXPECT_DOUBLE_EQ(control_at(show::with_layer(show, over), milliseconds(10), kSmile), 0.2 + 0.25 * (-0.6 - 0.2));
  auto rig = small_rig();
  rig->controls[kSmile].rest = 0.1;
  auto add = layer("add", Layer::Blend::add, 0.5);
  add.channels = {constant("smile", 0.7)};
  EXPECT_DOUBLE_EQ(control_at(show::with_layer(show, add), milliseconds(10), kSmile, rig), 0.2 + 0.5 * (0.7 - 0.1));
  // In order: what is added under an override at full weight is gone.
  over.weight = 1;
  EXPECT_DOUBLE_EQ(control_at(show::with_layer(show::with_layer(show, add), over), milliseconds(10), kSmile), -0.6);
  EXPECT_GT(control_at(show::with_layer(show::with_layer(show, over), add), milliseconds(10), kSmile), -0.6);
}

TEST(Mix, DrawsTheSumInToTheControlsRange) {
  auto add = layer("add", Layer::Blend::add, 3);
  add.channels = {constant("smile", 0.9)};
  EXPECT_EQ(control_at(show::with_layer(*empty_show(), add), milliseconds(10), kSmile), 1);
}

TEST(Mix, FollowsAWeightCurve) {
  auto over = layer("over", Layer::Blend::over);
  over.weight_curve = {{Time{0}, 0, show::kLinear}, {milliseconds(1000), 1, show::kHold}};
  over.channels = {constant("smile", 0.8)};
  const auto show = show::with_layer(*empty_show(), over);
  EXPECT_NEAR(control_at(show, milliseconds(250), kSmile), 0.2, 1e-9);
  EXPECT_NEAR(control_at(show, milliseconds(2000), kSmile), 0.8, 1e-9);
}

TEST(Mix, KeepsToTheMaskOfGroupsAndControls) {
  for (const auto& [mask, smile, open] : {std::tuple{std::vector<std::string>{"mouth"}, 0.5, 0.5}, {{"smile"}, 0.5, 0.0}, {{"eyes"}, 0.0, 0.0}, {{}, 0.5, 0.5}}) {
    auto over = layer("over", Layer::Blend::over);
    over.mask = mask, over.channels = {constant("smile", 0.5), constant("open", 0.5)};
    const auto show = show::with_layer(*empty_show(), over);
    EXPECT_DOUBLE_EQ(control_at(show, milliseconds(10), kSmile), smile);
    EXPECT_DOUBLE_EQ(control_at(show, milliseconds(10), kOpen), open);
  }
}

show::Show with_nod(const show::Placement& placement, Layer::Blend blend = Layer::Blend::over) {
  show::Show show = show::with_clip(*empty_show(std::chrono::seconds(20)), {"nod", milliseconds(1000), {channel("open", {{Time{0}, 0, show::kLinear}, {milliseconds(1000), 1, show::kHold}})}});
  Layer nods = layer("nods", blend);
  nods.placements = {placement};
  return show::with_layer(show, nods);
}

TEST(Placement, PlaysAtItsRateFromItsOffsetAndRepeats) {
  show::Placement p{"nod", milliseconds(2000), milliseconds(250), 2};
  p.repeats = 3;  // (3 - 0.25) / 2 = 1.375 s
  const auto show = with_nod(p);
  EXPECT_EQ(show::duration(p, milliseconds(1000)), milliseconds(1375));
  EXPECT_DOUBLE_EQ(control_at(show, milliseconds(1999), kOpen), 0);
  EXPECT_NEAR(control_at(show, milliseconds(2000), kOpen), 0.25, 1e-9);
  EXPECT_NEAR(control_at(show, milliseconds(2100), kOpen), 0.45, 1e-9);
  EXPECT_NEAR(control_at(show, milliseconds(2500), kOpen), 0.25, 1e-9);  // 1.25 s into the clip: round again
  EXPECT_NEAR(control_at(show, Time{3'374'999'999}, kOpen), 1, 1e-6);
  EXPECT_DOUBLE_EQ(control_at(show, milliseconds(3375), kOpen), 0);
}

// Half a fade with ease-in-out is half the weight, by the symmetry of that curve (CSS Easing 1: ease-in-out(0.5) = 0.5; ease-in-out(0.25) =
// 0.129161931047320 computed with 50 digits).
TEST(Placement, FadesWithItsEasing) {
  show::Placement p{"nod", milliseconds(1000)};
  p.repeats = 4, p.fade_in = milliseconds(400), p.fade_out = milliseconds(800);
  const auto show = with_nod(p);
  EXPECT_NEAR(control_at(show, milliseconds(1200), kOpen), 0.5 * 0.2, 1e-6);
  EXPECT_NEAR(control_at(show, milliseconds(1100), kOpen), 0.129161931047320 * 0.1, 1e-6);
  EXPECT_NEAR(control_at(show, milliseconds(2500), kOpen), 0.5, 1e-6);
  EXPECT_NEAR(control_at(show, milliseconds(4600), kOpen), 0.5 * 0.6, 1e-6);
  p.repeats = 1, p.fade_in = milliseconds(3000), p.fade_out = milliseconds(1000);  // shortened to 750 and 250 ms
  EXPECT_NEAR(control_at(with_nod(p), milliseconds(1375), kOpen), 0.5 * 0.375, 1e-6);
}

// Two that overlap cross over where the fade out of one lies under the fade in of the other: nothing of what lies below shows between.
TEST(Placement, CrossesOverToTheNext) {
  show::Show show = *empty_show(std::chrono::seconds(20));
  add_channel(show, "open", {{Time{0}, 1, show::kHold}});
  show = show::with_clip(show, {"low", milliseconds(1000), {constant("open", 0.2)}});
  show = show::with_clip(show, {"high", milliseconds(1000), {constant("open", 0.6)}});
  Layer over = layer("over", Layer::Blend::over);
  show::Placement a{"low", milliseconds(0)}, b{"high", milliseconds(500)};
  a.fade_out = b.fade_in = milliseconds(500), a.fade_out_easing = b.fade_in_easing = show::kLinear;
  over.placements = {a, b};
  show = show::with_layer(show, over);
  for (int ms = 500; ms < 1000; ms += 50) EXPECT_NEAR(control_at(show, milliseconds(ms), kOpen), 0.2 + 0.4 * (ms - 500) / 500.0, 1e-6) << ms;
}

TEST(Placement, ThatCantBeIsLeftOut) {
  show::Placement p{"nod", milliseconds(0)};
  for (const auto& broken : {std::function<void(show::Placement&)>([](auto& q) { q.rate = 0; }), {[](auto& q) { q.rate = std::nan(""); }}, {[](auto& q) { q.clip = "nobody"; }},
                             {[](auto& q) { q.repeats = 0; }}, {[](auto& q) { q.offset = milliseconds(5000); }}, {[](auto& q) { q.weight = std::nan(""); }}}) {
    auto q = p;
    broken(q);
    EXPECT_EQ(control_at(with_nod(q), milliseconds(500), kOpen), 0);
  }
}

TEST(Mix, TakesStatesWholeOrNotAtAll) {
  auto rig = small_rig();
  rig->controls.push_back({"mood", "eyes", "1", 0, 3, 0, {"calm", "curious", "cross", "glad"}});
  auto over = layer("over", Layer::Blend::over, 0.49);
  over.channels = {constant("mood", 3)};
  EXPECT_EQ(control_at(show::with_layer(*empty_show(), over), milliseconds(1), 3, rig), 0);
  over.weight = 0.5;
  EXPECT_EQ(control_at(show::with_layer(*empty_show(), over), milliseconds(1), 3, rig), 3);
  over.blend = Layer::Blend::add, over.weight = 1;
  EXPECT_EQ(control_at(show::with_layer(*empty_show(), over), milliseconds(1), 3, rig), 0);
}

// A show with everything in it, at random.
show::Show layered(support::Random& random, const show::Rig& rig) {
  show::Show show = support::show(random, rig, 20);
  show.length = std::chrono::seconds(30), show.loop.reset();
  for (int c = 0; c < 4; ++c) {
    show::Clip clip{"clip" + std::to_string(c), milliseconds(support::whole(random, 100, 3000)), {}};
    for (const auto& control : rig.controls)
      if (support::chance(random, 0.4)) clip.channels.push_back(support::channel(random, control, clip.length, 8));
    show = show::with_clip(show, clip);
  }
  for (int l = 0; l < 4; ++l) {
    Layer one = layer(("layer" + std::to_string(l)).c_str(), l % 2 ? Layer::Blend::add : Layer::Blend::over, support::real(random, 0.2, 1));
    if (l == 3) one.idle = show::IdleLife{static_cast<std::uint32_t>(random()), show::IdleLife::Manner::speaking};
    for (const auto& control : rig.controls)
      if (l < 2 && support::chance(random, 0.3)) one.channels.push_back(support::channel(random, control, show.length, 20));
    for (int p = 0; p < 12; ++p) {
      show::Placement placed{"clip" + std::to_string(random() % 4), milliseconds(random() % 30'000), milliseconds(random() % 90), support::real(random, 0.3, 3), support::real(random, 0.1, 1), support::whole(random, 1, 4)};
      placed.fade_in = milliseconds(random() % 500), placed.fade_out = milliseconds(random() % 500), placed.fade_in_easing = support::easing(random);
      one.placements.push_back(placed);
    }
    if (support::chance(random, 0.5)) one.weight_curve = {{Time{0}, 0, show::kSmooth}, {milliseconds(9000), 1, show::kEaseOut}, {milliseconds(20'000), 0.2, show::kHold}};
    show = show::with_layer(show, one);
  }
  return show;
}

TEST(Mix, SeeksToTheSameBitsAsItPlays) {
  support::Random random(8);
  for (int round = 0; round < 6; ++round) {
    auto rig = std::make_shared<show::Rig>(support::rig(random));
    const auto plan = compile(rig, std::make_shared<show::Show>(layered(random, *rig)));
    ASSERT_NE(plan->mix, nullptr);
    const auto playing = std::make_unique<Head>(), seeking = std::make_unique<Head>();
    load(*playing, *plan), load(*seeking, *plan);
    std::vector<Tick> played(3000);
    for (int n = 0; n < 3000; ++n) aim(*plan, *playing, milliseconds(10 * n), played[static_cast<std::size_t>(n)]);
    Tick found;
    for (int k = 0; k < 3000; ++k) {
      const auto n = random() % 3000;
      aim(*plan, *seeking, milliseconds(10 * n), found);
      const auto count = static_cast<std::size_t>(plan->controls());
      ASSERT_EQ(std::memcmp(found.control.data(), played[n].control.data(), count * sizeof(double)), 0) << "round " << round << ", tick " << n;
    }
  }
}

TEST(Mix, LeavesTheLimitsToTheLimiter) {
  support::Random random(21);
  for (int round = 0; round < 4; ++round) {
    auto rig = std::make_shared<show::Rig>(support::rig(random));
    const auto plan = compile(rig, std::make_shared<show::Show>(layered(random, *rig)));
    const double tick_s = show::to_seconds(plan->tick);
    std::vector<double> before;
    render(*plan, [&](const Tick& tick) {
      for (std::size_t a = 0; a < rig->actuators.size(); ++a) {
        EXPECT_GE(tick.setpoint_deg[a], rig->actuators[a].min_deg - 1e-9);
        EXPECT_LE(tick.setpoint_deg[a], rig->actuators[a].max_deg + 1e-9);
        const double moved_deg = before.empty() ? 0 : std::abs(tick.setpoint_deg[a] - before[a]);
        EXPECT_LE(moved_deg, rig->actuators[a].velocity_deg_s * tick_s + 1e-9);
      }
      before.assign(tick.setpoint_deg.begin(), tick.setpoint_deg.begin() + static_cast<std::ptrdiff_t>(rig->actuators.size()));
      return !::testing::Test::HasFailure();
    });
  }
}

TEST(Plan, LendsShapesToAnEditOfALayer) {
  show::Placement p{"nod", milliseconds(100)};
  p.fade_in = milliseconds(100);
  const auto rig = small_rig();
  const auto first = compile(rig, std::make_shared<show::Show>(with_nod(p)));
  auto moved = std::make_shared<show::Show>(*first->show);
  p.start = milliseconds(200);
  *moved = show::with_placement_changed(*moved, "nods", 0, p);
  EXPECT_EQ(compile(rig, moved, first.get())->shapes, first->shapes);
}

TEST(Study, NamesTheLayerThatAskedForTooMuch) {
  auto over = layer("leap", Layer::Blend::over);
  over.channels = {channel("open", {{Time{0}, 0, show::kHold}, {milliseconds(1000), 1, show::kHold}})};
  show::Show show = *empty_show();
  add_channel(show, "open", {{Time{0}, 0.5, show::kHold}});
  const auto plan = compile(small_rig(), std::make_shared<show::Show>(show::with_layer(show, over)));
  const auto found = study(*plan);
  ASSERT_FALSE(found.shortfalls.empty());
  EXPECT_EQ(found.shortfalls[0].control, -1);
  EXPECT_EQ(found.shortfalls[0].layer, 0);
  EXPECT_EQ(finding_of(*plan, found.shortfalls[0]).place.substr(0, 12), "layer 'leap'");
}

// What the head is asked for, tick by tick, before and after.
double most_apart(std::shared_ptr<const show::Rig> rig, const show::Show& a, const show::Show& b) {
  const auto one = compile(rig, std::make_shared<show::Show>(a)), other = compile(rig, std::make_shared<show::Show>(b));
  const auto first = std::make_unique<Head>(), second = std::make_unique<Head>();
  load(*first, *one), load(*second, *other);
  Tick x, y;
  double most = 0;
  for (std::int64_t n = 0; n < tick_count(*one); ++n) {
    aim(*one, *first, tick_time(*one, n), x), aim(*other, *second, tick_time(*one, n), y);
    for (std::size_t c = 0; c < rig->controls.size(); ++c)
      most = std::max(most, std::abs(x.control[c] - y.control[c]) / (rig->controls[c].max - rig->controls[c].min));
  }
  return most;
}

TEST(BakeDown, AsksForTheSameWithinTheError) {
  support::Random random(31);
  for (int round = 0; round < 4; ++round) {
    auto rig = std::make_shared<show::Rig>(support::rig(random, 6));
    rig->tick_hz = 100;
    const show::Show show = layered(random, *rig);
    const auto baked = baked_down(rig, show, "layer3", {0.01});
    EXPECT_EQ(baked.layers, 4);
    EXPECT_TRUE(baked.show.layers.empty());
    EXPECT_LE(most_apart(rig, show, baked.show), 0.01 * (1 + 1e-6)) << "round " << round;
    EXPECT_GT(baked.keys, 0u);
  }
}

TEST(BakeDown, TakesWhatLiesUnderItAndLeavesWhatLiesAbove) {
  show::Show show = *empty_show();
  for (const char* name : {"first", "muted", "second", "third"}) {
    auto one = layer(name, Layer::Blend::add);
    one.muted = one.name == "muted", one.channels = {constant("smile", 0.1)};
    show = show::with_layer(show, one);
  }
  const auto baked = baked_down(small_rig(), show, "second");
  ASSERT_EQ(baked.show.layers.size(), 2u);
  EXPECT_EQ(baked.show.layers[0], show.layers[1]);
  EXPECT_EQ(baked.show.layers[1], show.layers[3]);
  ASSERT_EQ(baked.show.channels.size(), 1u);
  ASSERT_EQ(baked.show.channels[0]->keys.size(), 1u);
  EXPECT_NEAR(baked.show.channels[0]->keys[0].value, 0.2, 1e-12);
  EXPECT_TRUE(same(baked_down(small_rig(), show, "nobody").show, show));
}

TEST(BakeDown, CanBeStopped) {
  auto one = layer("one", Layer::Blend::add);
  one.channels = {constant("smile", 0.1)};
  const auto show = show::with_layer(*empty_show(), one);
  const auto baked = baked_down(small_rig(), show, "one", {0.01, [](double) { return false; }});
  EXPECT_TRUE(baked.stopped);
  EXPECT_TRUE(same(baked.show, show));
}

}  // namespace
}  // namespace mien::perform
