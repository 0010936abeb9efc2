// Worked examples of linkages, tables and eyes through the whole tick: from a control's value to a servo's angle, and back to the face.
#include "perform/rig_map.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "heads.hpp"
#include "motion/linkage.hpp"
#include "motion/plate.hpp"
#include "perform/render.hpp"

namespace mien::perform {
namespace {

using namespace testing;

// One servo behind a response, one control that is x.
std::shared_ptr<show::Rig> one_servo(show::Response response, double min_deg, double max_deg, double rest_deg) {
  auto rig = small_rig();
  rig->actuators.resize(1), rig->mappings.resize(1);
  rig->actuators[0].min_deg = min_deg, rig->actuators[0].max_deg = max_deg, rig->actuators[0].rest_deg = rest_deg;
  rig->controls = {{"x", "eyes", "mm", -1000, 1000, 0}};
  rig->mappings[0] = {{{"lid_upper", 0, {{"x", 1}}}}, std::move(response), {"lid"}};
  return rig;
}

// The rig's controls at these values: what the tick makes of them once the servos have arrived.
Tick arrived(const std::shared_ptr<show::Rig>& rig, const std::vector<double>& controls) {
  auto show = empty_show();
  for (std::size_t c = 0; c < controls.size(); ++c) add_channel(*show, rig->controls[c].name.c_str(), {{show::Time{0}, controls[c], show::kHold}});
  const auto plan = compile(rig, show);
  const auto head = std::make_unique<Head>();
  Tick out;
  load(*head, *plan);
  for (int a = 0; a < plan->actuators(); ++a) motion::seed(head->limiter, plan->limits, a, plan->rest_deg[static_cast<std::size_t>(a)], 0, 0);
  for (int n = 0; n < 200; ++n) tick(*plan, *head, show::Time{0}, 1, out);
  return out;
}

double angle(const std::shared_ptr<show::Rig>& rig, double x) { return arrived(rig, {x}).setpoint_deg[0]; }

// Positions: 50-digit evaluation of x = r cos t + sqrt(l^2 - (r sin t - e)^2). The servo's 0 is put at a horn angle of 90 deg.
TEST(SliderCrankTick, SendsTheServoWhereTheWorkedExamplesSay) {
  const auto jaw = one_servo(show::SliderCrank{12, 40, 0, false, 90}, -70, 70, -60);
  const double rest = 49.939744712;  // at 30 deg of the horn
  EXPECT_NEAR(angle(jaw, 0), -60, kTableError_deg);
  EXPECT_NEAR(angle(jaw, 47.574921946 - rest), -45, kTableError_deg);
  EXPECT_NEAR(angle(jaw, 44.626415832 - rest), -30, kTableError_deg);
  EXPECT_NEAR(angle(jaw, 38.157568057 - rest), 0, kTableError_deg);
  EXPECT_NEAR(angle(jaw, 44 - rest), 62.964308211 - 90, kTableError_deg);
  const auto beside = one_servo(show::SliderCrank{10, 35, 5, false, 90}, -70, 70, -60);
  EXPECT_NEAR(angle(beside, 39.808081538 - 43.660254038), -30, kTableError_deg);
  EXPECT_NEAR(angle(beside, 34.641016151 - 43.660254038), 0, kTableError_deg);
}

// 20/50/25/55 at 60 and at 90 deg of the crank: 50-digit evaluation of Freudenstein's equation.
TEST(FourBarTick, SendsTheServoWhereTheWorkedExamplesSay) {
  const auto lid = one_servo(show::FourBar{20, 50, 25, 55, false, 75}, -30, 30, -15);
  EXPECT_NEAR(angle(lid, 0), -15, kTableError_deg);
  EXPECT_NEAR(angle(lid, 102.0021988209 - 79.7056978922), 15, kTableError_deg);
}

TEST(MeasuredTick, PassesThroughEveryRow) {
  const show::Measured rows{{{-4, -30}, {-1, -12}, {0, 0}, {3, 14}, {7, 40}}};
  const auto lip = one_servo(rows, -30, 40, 0);
  for (const auto& row : rows.rows) EXPECT_NEAR(angle(lip, row.x), row.angle_deg, 1e-9);
}

TEST(DifferentialTick, MovesTwoServosByRaiseAndTilt) {
  auto rig = small_rig();
  rig->mappings.erase(rig->mappings.begin() + 1);
  rig->controls = {{"raise", "eyes", "deg", -20, 20, 0}, {"tilt", "eyes", "deg", -20, 20, 0}};
  rig->mappings = {{{{"brow_raise_left", 0, {{"raise", 1}}}, {"brow_tilt_left", 0, {{"tilt", 1}}}}, show::Differential{}, {"jaw", "lip"}}};
  const Tick out = arrived(rig, {10, 5});
  EXPECT_NEAR(out.setpoint_deg[1], 15, 1e-9);
  EXPECT_NEAR(out.setpoint_deg[2], 5, 1e-9);
  EXPECT_EQ(out.setpoint_deg[0], 20);  // nothing moves it: it stays at rest
  const auto face = face_of(map_of(*rig), out.setpoint_deg.data());
  EXPECT_NEAR(face[show::Role::brow_raise_left].share, 10 / 40.0, 1e-12);
  EXPECT_NEAR(face[show::Role::brow_tilt_left].share, 5 / 40.0, 1e-12);
}

// A neck: 'jaw' stands for the servo at the head's right, 'lip' for the one at its left.
std::shared_ptr<show::Rig> neck(const show::TwoRodPlate& plate = {30, 40, 20, 60}) {
  auto rig = small_rig();
  rig->controls = {{"nod", "eyes", "deg", -20, 20, 0}, {"tilt", "eyes", "deg", -20, 20, 0}};
  rig->mappings = {{{{"lid_upper", 20, {}}}, show::Straight{}, {"lid"}}, {{{"neck_pitch", 0, {{"nod", 1}}}, {"neck_roll", 0, {{"tilt", 1}}}}, plate, {"jaw", "lip"}}};
  return rig;
}

// The angles: a brute search for where the rod closes between tip and pin (tests/motion/plate_test.cpp).
TEST(TwoRodPlateTick, SendsBothServosWhereTheBruteSearchSays) {
  const Tick out = arrived(neck(), {10, 8});
  EXPECT_NEAR(out.setpoint_deg[1], -8.142197536982, 1e-9);
  EXPECT_NEAR(out.setpoint_deg[2], -33.450403484064, 1e-9);
  const auto face = face_of(map_of(*neck()), out.setpoint_deg.data());
  EXPECT_NEAR(face[show::Role::neck_pitch].deg, 10, 1e-9);
  EXPECT_NEAR(face[show::Role::neck_roll].deg, 8, 1e-9);
  EXPECT_NEAR(face[show::Role::neck_pitch].share, 10 / 18.828532248850, 1e-6);
  EXPECT_NEAR(face[show::Role::neck_roll].share, 8 / 24.852417921939, 1e-6);
}

TEST(TwoRodPlateTick, CountsPosesFromWhereTheServosRest) {
  const auto rig = neck();
  const double rest = motion::servos_deg({30, 40, 20, 60}, {6, 0}).deg.left;
  rig->actuators[1].rest_deg = rig->actuators[2].rest_deg = rest;
  const Tick at_rest = arrived(rig, {0, 0}), out = arrived(rig, {4, 8});
  EXPECT_NEAR(at_rest.setpoint_deg[1], rest, 1e-9);
  EXPECT_NEAR(at_rest.setpoint_deg[2], rest, 1e-9);
  EXPECT_NEAR(out.setpoint_deg[1], -8.142197536982, 1e-9);
  EXPECT_NEAR(out.setpoint_deg[2], -33.450403484064, 1e-9);
  EXPECT_NEAR(face_of(map_of(*rig), out.setpoint_deg.data())[show::Role::neck_pitch].deg, 4, 1e-9);
}

// A smooth nod and tilt that the servos can follow is the exact plate on every tick, with no lag; one that jumps about keeps the servos' own limits, by the
// quotients of their setpoints.
TEST(TwoRodPlateTick, FollowsTheExactPlateWithinTheServosLimits) {
  const auto rig = neck();
  using std::chrono::milliseconds;
  for (const bool jumps : {false, true}) {
    auto show = empty_show();
    const show::Easing easing = jumps ? show::kHold : show::kSmooth;
    add_channel(*show, "nod", {{milliseconds(0), 0, easing}, {milliseconds(1000), 11, easing}, {milliseconds(2200), -9, easing}, {milliseconds(3500), 5, easing}});
    add_channel(*show, "tilt", {{milliseconds(0), 0, easing}, {milliseconds(800), -9, easing}, {milliseconds(2000), 10, easing}, {milliseconds(3500), 0, easing}});
    const auto plan = compile(rig, show);
    double off = 0, speed = 0, force = 0, moved = 0;
    std::vector<std::array<double, 2>> at;
    render(*plan, [&](const Tick& t) {
      const auto exact = motion::servos_deg({30, 40, 20, 60}, {t.control[0], t.control[1]});
      EXPECT_TRUE(exact.reached);
      off = std::max({off, std::abs(t.setpoint_deg[1] - exact.deg.left), std::abs(t.setpoint_deg[2] - exact.deg.right)});
      at.push_back({t.setpoint_deg[1], t.setpoint_deg[2]});
      return true;
    });
    for (std::size_t n = 2; n < at.size(); ++n)
      for (const std::size_t a : {0u, 1u}) {
        const double step = at[n][a] - at[n - 1][a], before = at[n - 1][a] - at[n - 2][a];
        moved = std::max(moved, std::abs(at[n][a]));
        speed = std::max(speed, std::abs(step) * rig->tick_hz / rig->actuators[a + 1].velocity_deg_s);
        force = std::max(force, std::abs(step - before) * rig->tick_hz * rig->tick_hz / rig->actuators[a + 1].acceleration_deg_s2);
      }
    EXPECT_GT(moved, 25);
    EXPECT_LE(std::max(speed, force), 1 + 1e-9);
    if (jumps) EXPECT_GT(force, 0.99);
    else EXPECT_LT(off, 1e-9);
  }
}

TEST(TwoRodPlateTick, AskedForMoreThanItReachesStandsAtTheEndAndTells) {
  const Tick out = arrived(neck(), {20, 0});
  EXPECT_EQ(out.setpoint_deg[1], -40);
  EXPECT_LT(out.target_deg[1], -42);
}

std::shared_ptr<show::Rig> two_eyes() {
  auto rig = small_rig();
  rig->controls = {{"yaw", "eyes", "deg", -40, 40, 0}, {"pitch", "eyes", "deg", -40, 40, 0}, {"distance", "eyes", "mm", 100, 10000, 1000}};
  rig->gaze = show::Gaze{"yaw", "pitch", "distance", 63, "left eye", "right eye"};
  rig->mappings[0] = {{{"eye_yaw_left", 0, {{"left eye", 1}}}}, show::Straight{}, {"jaw"}};
  rig->mappings[1] = {{{"eye_yaw_right", 0, {{"right eye", 1}}}}, show::Straight{}, {"lip"}};
  rig->mappings[2] = {{{"lid_upper", 20, {{"pitch", 0.5}}}}, show::Straight{}, {"lid"}};
  return rig;
}

// Vergence 2 atan(IPD / 2D), and two points off the axis, all in 50 digits. Yaw is positive to the head's left.
TEST(Eyes, MeetAtThePointThatTheyLookAt) {
  struct Case { double yaw, distance_mm, left, right; };
  for (const Case& c : {Case{0, 500, -7.2097 / 2, 7.2097 / 2}, {0, 250, -14.3628 / 2, 14.3628 / 2}, {0, 5000, -0.7219 / 2, 0.7219 / 2},
                        {-20, 500, -23.316691328584, -16.537577702398}, {15, 300, 9.048104228907, 20.639043021661}}) {
    const Tick out = arrived(two_eyes(), {c.yaw, 7, c.distance_mm});
    const double tolerance = c.yaw == 0 ? 5e-5 : 1e-9;
    EXPECT_NEAR(out.target_deg[1], c.left, tolerance) << c.yaw << " deg, " << c.distance_mm << " mm";
    EXPECT_NEAR(out.target_deg[2], c.right, tolerance) << c.yaw << " deg, " << c.distance_mm << " mm";
    EXPECT_NEAR(out.target_deg[0], 20 + 0.5 * 7, 1e-12);  // the lid follows the gaze by its share
  }
}

TEST(Closing, ArrivesWhateverElseMovesTheLid) {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> any(-1, 1);
  auto rig = small_rig();
  rig->controls = {{"blink", "eyes", "1", 0, 1, 0}, {"pitch", "eyes", "deg", -40, 40, 0}, {"wide", "eyes", "1", -1, 1, 0}};
  for (const bool bent : {false, true}) {
    if (bent) rig->mappings[0].response = show::FourBar{20, 60, 50, 70, false, 82}, rig->actuators[0].rest_deg = 0;
    rig->mappings[0].axes[0] = {"lid_upper", bent ? 0.0 : 20.0, {{"pitch", 0.4}, {"wide", 9}}, show::Closing{"blink", -7}};
    for (auto& m : rig->mappings)
      if (m.actuators[0] != "lid") m.axes[0].terms.clear();
    const double shut = arrived(rig, {1, 0, 0}).setpoint_deg[0];
    for (int i = 0; i < 50; ++i) EXPECT_NEAR(arrived(rig, {1, 40 * any(random), any(random)}).setpoint_deg[0], shut, 1e-9);
    EXPECT_NEAR(face_of(map_of(*rig), arrived(rig, {1, 30, 1}).setpoint_deg.data())[show::Role::lid_upper].deg, -7, 1e-4);
    const double open = arrived(rig, {0, 10, 0.2}).target_deg[0], half = arrived(rig, {0.5, 10, 0.2}).target_deg[0];
    EXPECT_LT(half, open);
    EXPECT_GT(half, shut);
  }
}

TEST(Table, OfALinkageKeepsToTheClosedForm) {
  std::mt19937 random(6);
  const auto real = [&](double low, double high) { return std::uniform_real_distribution<double>(low, high)(random); };
  double worst = 0;
  for (int i = 0; i < 400; ++i) {
    show::Actuator a;
    a.min_deg = real(-60, -10), a.max_deg = real(10, 60), a.rest_deg = real(a.min_deg, a.max_deg);
    const double horn = real(5, 20);
    const show::SliderCrank slider{horn, horn * real(2, 5), horn * real(-0.5, 0.5), i % 2 == 0, i % 3 == 0 ? 90.0 : -90.0};
    const show::FourBar bars{real(10, 30), real(40, 80), real(20, 60), real(40, 80), i % 2 == 0, real(-180, 180)};
    const auto error_of = [&](const auto& linkage, auto position, double margin) {
      if (show::has_errors(motion::check(linkage, {a.min_deg - margin, a.max_deg + margin}))) return;
      const auto table = table_of(linkage, a);
      ASSERT_TRUE(table);
      const double rest = position(linkage, a.rest_deg).value;
      for (int k = 0; k <= 1000; ++k) {
        const double angle = a.min_deg + k * (a.max_deg - a.min_deg) / 1000;
        const double x = std::is_same_v<decltype(linkage), const show::FourBar&> ? std::remainder(position(linkage, angle).value - rest, 360) : position(linkage, angle).value - rest;
        worst = std::max(worst, std::abs(table->value(x) - angle));
      }
    };
    error_of(slider, [](const auto& l, double angle) { return motion::position_mm(l, angle); }, 2);
    error_of(bars, [](const auto& l, double angle) { return motion::rocker_deg(l, angle); }, 2);
  }
  EXPECT_LT(worst, kTableError_deg);
  EXPECT_GT(worst, 0);
  RecordProperty("worst_deg", std::to_string(worst));
}

TEST(Linkage, AskedForMoreThanItReachesStandsAtTheEndAndTellsHowMuch) {
  const auto jaw = one_servo(show::SliderCrank{12, 40, 0, false, 90}, -40, 40, 0);
  const Tick out = arrived(jaw, {-50});  // 24 mm is all that the horn has
  EXPECT_EQ(out.setpoint_deg[0], 40);
  EXPECT_GT(out.target_deg[0], 100);
  EXPECT_EQ(out.allowed_deg, out.target_deg);
}

TEST(Face, OfALinkageIsTheShareOfTheSkinsWay) {
  const auto jaw = one_servo(show::SliderCrank{12, 40, 0, false, -90}, -70, 70, -60);
  const auto map = map_of(*jaw);
  const auto skin = [](double servo) { return motion::position_mm({12, 40, 0, false, -90}, servo).value; };
  for (double servo = -70; servo <= 70; servo += 3.5) {
    const double away = skin(servo) - skin(-60), room = servo >= -60 ? skin(70) - skin(-60) : skin(-60) - skin(-70);
    EXPECT_NEAR(face_of(map, &servo)[show::Role::lid_upper].share, away / room, 1e-6) << servo;
  }
}

TEST(FaultyRig, StaysAtRestWholly) {
  auto rig = small_rig();
  rig->mappings[1].response = show::SliderCrank{12, 8, 0};  // can't close
  const Tick out = arrived(rig, {1, 1, 1});
  EXPECT_EQ(out.setpoint_deg[0], 20);
  EXPECT_EQ(out.setpoint_deg[1], 0);
  EXPECT_EQ(out.setpoint_deg[2], 0);
}

}  // namespace
}  // namespace mien::perform
