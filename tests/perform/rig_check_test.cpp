#include "perform/rig_check.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <limits>
#include <set>

#include "heads.hpp"
#include "perform/render.hpp"
#include "perform/rig_map.hpp"
#include "show/validate.hpp"
#include "support/sample.hpp"

namespace mien::perform {
namespace {

using show::Rig;
using show::Severity;
using testing::small_rig;

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN(), kInf = std::numeric_limits<double>::infinity();

std::string all_text(const show::Findings& findings) {
  std::string text;
  for (const auto& f : findings) text += to_text(f) + "\n";
  return text;
}

void respond(Rig& rig, show::Response response) {
  rig.mappings[1].response = std::move(response);
  rig.mappings[1].axes[0].terms.clear();
}

// 'jaw' and 'lip' tilt a plate, asked for pitches from 0 to `pitch_deg` and rolls of +-roll_deg.
void tilt(Rig& rig, show::TwoRodPlate plate, double pitch_deg = 5, double roll_deg = 5) {
  rig.mappings.resize(2);
  rig.mappings[1] = {{{"neck_pitch", 0, {{"open", pitch_deg}}}, {"neck_roll", 0, {{"smile", roll_deg}}}}, plate, {"jaw", "lip"}};
}

struct Break {
  Severity severity;
  const char* words;
  std::function<void(Rig&)> apply;
};

const Break kBreaks[] = {
    // asin(9 / 12) = 48.59 deg of the horn, whose 0 is the servo's -10
    {Severity::error, "error: head.rig.json: mapping of 'jaw', slider-crank: the rod can't reach beyond 38.6 deg",
     [](Rig& r) { respond(r, show::SliderCrank{12, 9, 0, false, 10}), r.actuators[1].min_deg = 1, r.actuators[1].rest_deg = 2; }},
    {Severity::error, "slider-crank: at 0.0 deg the linkage is singular: the lever arm is zero, and beyond it the motion turns back", [](Rig& r) { respond(r, show::SliderCrank{}); }},
    {Severity::warning, "slider-crank: at -40.0 deg the linkage is singular: the lever arm is zero, at the end of the travel",
     [](Rig& r) { respond(r, show::SliderCrank{12, 40, 0, false, 40}); }},
    {Severity::error, "horn and rod must have a length above zero", [](Rig& r) { respond(r, show::SliderCrank{0, 40, 0, false, 90}); }},
    {Severity::error, "horn and rod must have a length above zero", [](Rig& r) { respond(r, show::SliderCrank{10, -4, 0, false, 90}); }},
    {Severity::error, "horn and rod must have a length above zero", [](Rig& r) { respond(r, show::SliderCrank{10, kNaN, 0, false, 90}); }},
    {Severity::error, "horn and rod must have a length above zero", [](Rig& r) { respond(r, show::SliderCrank{10, 40, 0, false, kInf}); }},
    {Severity::error, "mapping of 'jaw', four-bar: the linkage can't close anywhere", [](Rig& r) { respond(r, show::FourBar{10, 10, 10, 90, false, 80}); }},
    {Severity::error, "four-bar: all four bars must have a length above zero", [](Rig& r) { respond(r, show::FourBar{10, 10, 0, 90}); }},
    {Severity::error, "mapping of 'jaw', measured: y turns back from row 2 (20) to row 3 (10)", [](Rig& r) { respond(r, show::Measured{{{0, -40}, {1, 20}, {2, 10}, {3, 40}}}); }},
    {Severity::error, "measured: x does not rise from row 1 (0) to row 2 (0)", [](Rig& r) { respond(r, show::Measured{{{0, -40}, {0, 40}}}); }},
    {Severity::error, "measured: the table has 1 row; at least 2 are needed", [](Rig& r) { respond(r, show::Measured{{{0, 0}}}); }},
    {Severity::error, "measured: row 2 holds something that is no number", [](Rig& r) { respond(r, show::Measured{{{0, -40}, {kNaN, 0}}}); }},
    {Severity::error, "measured: the rows go from 5 deg to 40 deg, but the servo rests at 0 deg", [](Rig& r) { respond(r, show::Measured{{{0, 5}, {3, 40}}}); }},
    {Severity::warning, "measured: the rows go from -20 deg to 20 deg, but the servo's travel is -40 deg to 40 deg", [](Rig& r) { respond(r, show::Measured{{{-3, -20}, {3, 20}}}); }},
    {Severity::error, "mapping of 'jaw', differential: a gain of the differential is zero", [](Rig& r) {
       respond(r, show::Differential{1, 0});
       r.mappings[1].axes.push_back(r.mappings[2].axes[0]), r.mappings[1].actuators.push_back("lip"), r.mappings.pop_back();
     }},
    {Severity::error, "mapping of 'jaw', two-rod plate: span, arm, horn and rod of the plate must be lengths", [](Rig& r) { tilt(r, {0, 40, 20, 60}); }},
    {Severity::error, "two-rod plate: span, arm, horn and rod of the plate must be lengths", [](Rig& r) { tilt(r, {30, kNaN, 20, 60}); }},
    {Severity::error, "two-rod plate: horn_at_zero_deg is no angle", [](Rig& r) { tilt(r, {30, 40, 20, 60, false, kInf}); }},
    {Severity::error, "two-rod plate: with both servos at rest the rods can't hold the plate", [](Rig& r) { tilt(r, {30, 40, 20, 60, false, 100}); }},
    {Severity::error, "two-rod plate: with both servos at rest the rods can't hold the plate", [](Rig& r) { tilt(r, {5, 40, 20, 60}), r.actuators[1].rest_deg = 40, r.actuators[2].rest_deg = -40; }},
    {Severity::error, "horn and rod of 'jaw' come into line, and the linkage is singular", [](Rig& r) {
       tilt(r, {30, 40, 12, 60}, -25, 0);
       for (auto& a : r.actuators) a.min_deg = -90, a.max_deg = 90;
     }},
    // 11.27 deg by a brute search (tests/motion/plate_test.cpp)
    {Severity::warning, "two-rod plate: the rods can't reach beyond pitch 11.3 deg with roll -10 deg: the travel of 'jaw' ends there", [](Rig& r) { tilt(r, {30, 40, 20, 60}, 25, 10); }},
    {Severity::error, "constraint 'a': the constraints 'a' and 'b' contradict each other", [](Rig& r) {
       r.constraints = {{"a", {{"lid", 1}, {"jaw", -1}}, 4}, {"b", {{"jaw", 1}, {"lid", -1}}, -3}};
     }},
    {Severity::error, "constraint 'a': the constraint can't be met within the travel of 'jaw' at most 40 deg", [](Rig& r) { r.constraints = {{"a", {{"jaw", 1}}, 41}}; }},
    {Severity::error, "constraint 'a': the rest pose of 'lid' and 'jaw' breaks it by 10 deg", [](Rig& r) { r.constraints = {{"a", {{"lid", 1}, {"jaw", -1}}, 30}}; }},
    {Severity::error, "with every control at rest 'lid' is sent to 50 deg, outside its travel of -40 to 40 deg", [](Rig& r) { r.mappings[0].axes[0].offset = 50; }},
    {Severity::warning, "with every control at rest 'lid' is sent to 21.5 deg, but its rest_deg is 20", [](Rig& r) { r.mappings[0].axes[0].offset = 21.5; }},
    {Severity::error, "'lid' is sent to 120 deg", [](Rig& r) { r.controls[0].rest = 1, r.mappings[0].axes[0].terms[0].weight = 100; }},
    {Severity::warning, "'jaw' is sent to", [](Rig& r) { respond(r, show::SliderCrank{12, 40, 0, false, 90}), r.mappings[1].axes[0].offset = 0.5; }},
    {Severity::error, "'jaw' is sent to", [](Rig& r) { respond(r, show::SliderCrank{12, 40, 0, false, 90}), r.mappings[1].axes[0].offset = 30; }},
};

TEST(SoundRig, HasNothingSaidAgainstIt) { EXPECT_EQ(all_text(check_rig(*small_rig(), "x")), ""); }

TEST(SoundRig, MayTiltAPlate) {
  const auto rig = small_rig();
  tilt(*rig, {30, 40, 20, 60}, 11, 10);
  EXPECT_EQ(all_text(check_rig(*rig, "x")), "");
}

// What an axis can ask for: each control anywhere in its range, a closing on top, an eye as far as it squints.
TEST(AxisRange, IsAllThatControlsCanAskFor) {
  const auto rig = small_rig();
  EXPECT_EQ(range_of(*rig, {"", 2, {{"open", 10}, {"smile", -5}}}).min, -3);
  EXPECT_EQ(range_of(*rig, {"", 2, {{"open", 10}, {"smile", -5}}}).max, 17);
  EXPECT_EQ(range_of(*rig, {"", 2, {{"open", 10}}, show::Closing{"blink", -7}}).min, -7);
  EXPECT_EQ(range_of(*rig, {"", 2, {{"nothing", 10}}}).max, 2);
  rig->controls = {{"yaw", "eyes", "deg", -30, 40, 0}, {"far", "eyes", "mm", 250, 5000, 1000}};
  rig->gaze = show::Gaze{"yaw", "", "far", 63, "left eye", "right eye"};
  EXPECT_NEAR(range_of(*rig, {"", 0, {{"left eye", 1}}}).max, 40 + 14.3628 / 2, 1e-4);  // vergence at 250 mm: 2 atan(63 / 500)
}

TEST(SoundRig, MayRestAtTheVeryEndOfTravelWhateverTheRounding) {
  const auto rig = small_rig();
  rig->actuators[0].max_deg = rig->actuators[0].rest_deg = 0.3;
  rig->controls[0].rest = 0.2;
  rig->mappings[0].axes[0] = {"", 0.1, {{"blink", 1}}};
  ASSERT_GT(0.1 + rig->controls[0].rest, rig->actuators[0].max_deg) << "the case needs a sum that rounds upward";
  EXPECT_EQ(all_text(check_rig(*rig, "x")), "");
}

TEST(FaultyRig, IsToldWhereAndWhatToDoAndStaysAtRest) {
  for (const Break& broken : kBreaks) {
    const auto rig = small_rig();
    broken.apply(*rig);
    const show::Findings findings = check_rig(*rig, "head.rig.json");
    EXPECT_TRUE(std::any_of(findings.begin(), findings.end(), [&](const show::Finding& f) {
      return to_text(f).find(broken.words) != std::string::npos && f.severity == broken.severity && f.file == "head.rig.json" && !f.cure.empty();
    })) << "nothing says: " << broken.words << "\nbut:\n" << all_text(findings);
    EXPECT_EQ(show::has_errors(findings), broken.severity == Severity::error) << all_text(findings);

    auto show = testing::empty_show(std::chrono::milliseconds(300));
    testing::add_channel(*show, "open", {{show::Time{0}, 0, show::kLinear}, {std::chrono::milliseconds(200), 1, show::kLinear}});
    const auto plan = compile(rig, show);
    bool still = true;
    render(*plan, [&](const Tick& t) {
      for (int a = 0; a < plan->actuators(); ++a) still = still && t.setpoint_deg[static_cast<std::size_t>(a)] == rig->actuators[static_cast<std::size_t>(a)].rest_deg;
      return true;
    });
    EXPECT_TRUE(still || broken.severity != Severity::error) << broken.words;
  }
}

TEST(SoundRig, IsWhatTheSamplesAreMadeOf) {
  support::Random random(22);
  std::set<std::size_t> kinds;
  for (int i = 0; i < 60; ++i) {
    const Rig rig = support::rig(random, support::whole(random, 1, show::kMaxActuators));
    for (const auto& m : rig.mappings) kinds.insert(m.response.index());
    ASSERT_FALSE(show::has_errors(check_rig(rig, "x"))) << all_text(check_rig(rig, "x"));
  }
  EXPECT_EQ(kinds.size(), std::variant_size_v<show::Response>) << "a sample of every kind";
}

// Whatever a rig says, checking and compiling it ends well.
TEST(AnyRig, CanBeCheckedAndCompiled) {
  support::Random random(23);
  const double odd[] = {kNaN, kInf, -kInf, 0, -1, 1e300, -1e-300, 90, 180};
  for (int i = 0; i < 400; ++i) {
    auto rig = std::make_shared<Rig>(support::rig(random, support::whole(random, 1, 20)));
    const auto spoil = [&](double& number) { if (support::chance(random, 0.05)) number = odd[support::whole(random, 0, 8)]; };
    for (auto& a : rig->actuators) spoil(a.min_deg), spoil(a.max_deg), spoil(a.rest_deg);
    for (auto& m : rig->mappings) {
      if (auto* s = std::get_if<show::SliderCrank>(&m.response)) spoil(s->horn_mm), spoil(s->rod_mm), spoil(s->offset_mm), spoil(s->horn_at_zero_deg);
      if (auto* f = std::get_if<show::FourBar>(&m.response)) spoil(f->crank_mm), spoil(f->coupler_mm), spoil(f->rocker_mm), spoil(f->crank_at_zero_deg);
      if (auto* d = std::get_if<show::Differential>(&m.response)) spoil(d->pitch_gain), spoil(d->roll_gain);
      if (auto* p = std::get_if<show::TwoRodPlate>(&m.response)) spoil(p->half_span_mm), spoil(p->arm_mm), spoil(p->horn_mm), spoil(p->rod_mm), spoil(p->horn_at_zero_deg);
      if (auto* t = std::get_if<show::Measured>(&m.response))
        for (auto& row : t->rows) spoil(row.x), spoil(row.angle_deg);
      if (support::chance(random, 0.1)) m.axes.clear();
      if (support::chance(random, 0.1)) m.actuators.push_back(rig->actuators[0].name);
    }
    for (auto& c : rig->constraints) {
      spoil(c.at_least_deg);
      for (auto& term : c.terms) spoil(term.weight);
    }
    check_rig(*rig, "x");
    const auto plan = compile(rig, testing::empty_show());
    EXPECT_LE(plan->map->axes.size(), rig->actuators.size());
  }
}

}  // namespace
}  // namespace mien::perform
