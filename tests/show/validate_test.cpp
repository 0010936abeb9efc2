#include "show/validate.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "support/numbers.hpp"
#include "support/sample.hpp"

namespace mien::show {
namespace {

using ::testing::HasSubstr;
using support::kInf;
using support::kNan;

Rig small_rig() {
  Rig rig;
  rig.name = "Pebble";
  rig.groups = {{"eyes"}, {"mouth"}};
  rig.boards = {{"face", 0, 8, {{"servos", 5}}}, {"chin", 1, 4, {{"servos", 3}}}};
  rig.actuators = {{"lids", "eyes", "face", "servos", 0}, {"jaw", "mouth", "chin", "servos", 1}};
  rig.controls = {{"blink", "eyes", "1"}, {"mouth_open", "mouth", "1"}};
  rig.mappings = {{{{"lid_upper", 0, {{"blink", 10}}}}, Straight{}, {"lids"}}, {{{"jaw_open", 0, {{"mouth_open", 20}}}}, Straight{}, {"jaw"}}};
  return rig;
}

Rig fed_rig() {
  Rig rig = small_rig();
  rig.servos = {{"micro", {}}};
  for (Actuator& a : rig.actuators) a.servo = "micro";
  rig.boards[0].rails[0] = {"servos", 5, 6, 8, 5, Wire{18, 0, 1, 20}, true};
  return rig;
}

Show small_show() {
  Show show;
  show.name = "Morning";
  show.length = Time{1000};
  show.markers = {{Time{0}, "a"}, {Time{10}, "b"}};
  show.channels = {std::make_shared<const Channel>(Channel{"blink", {{Time{0}, 0}, {Time{500}, 1}}})};
  return show;
}

std::string all_text(const Findings& findings) {
  std::string text;
  for (const Finding& f : findings) text += to_text(f) + "\n";
  return text;
}

// What a break does to the small rig, and words that the finding about it must have.
struct Break {
  Severity severity;
  const char* words;
  std::function<void(Rig&)> apply;
};

TEST(ValidRig, HasNothingSaidAgainstIt) {
  EXPECT_EQ(all_text(validate(small_rig(), "x")), "");
  EXPECT_EQ(all_text(validate(fed_rig(), "x")), "");
}

TEST(ValidRig, IsWhatTheSamplesAreMadeOf) {
  support::Random random(21);
  for (int i = 0; i < 60; ++i) {
    Rig rig = support::rig(random, support::whole(random, 1, kMaxActuators));
    if (i % 2) support::electrify(random, rig);
    ASSERT_EQ(all_text(validate(rig, "x")), "");
    ASSERT_EQ(all_text(validate(support::show(random, rig), rig, "y")), "");
  }
}

const Break kBreaks[] = {
    {Severity::error, "group 'eyes': there is more than one group of this name", [](Rig& r) { r.groups.push_back({"eyes"}); }},
    {Severity::error, "board 'face': there is more than one board", [](Rig& r) { r.boards[1].name = "face"; }},
    {Severity::error, "actuator 'lids': there is more than one actuator", [](Rig& r) { r.actuators[1].name = "lids"; }},
    {Severity::error, "control 'blink': there is more than one control", [](Rig& r) { r.controls[1].name = "blink"; }},
    {Severity::error, "board 'face', rail 'servos': there is more than one rail", [](Rig& r) { r.boards[0].rails.push_back({"servos", 1}); }},
    {Severity::error, "actuator 2 (counted from 1): has no name", [](Rig& r) { r.actuators[1].name = ""; }},
    {Severity::error, "has a control character in its name", [](Rig& r) { r.controls[1].name = "a\nb"; }},
    {Severity::warning, "the rig has no name", [](Rig& r) { r.name = ""; }},
    {Severity::error, "there is no group 'eye'. Did you mean 'eyes'?", [](Rig& r) { r.actuators[0].group = "eye"; }},
    {Severity::error, "control 'blink', group: there is no group 'moth'. Did you mean 'mouth'?", [](Rig& r) { r.controls[0].group = "moth"; }},
    {Severity::warning, "actuator 'lids', group: has no group", [](Rig& r) { r.actuators[0].group = ""; }},
    {Severity::error, "actuator 'jaw', board: there is no board 'shin'. Did you mean 'chin'?", [](Rig& r) { r.actuators[1].board = "shin"; }},
    {Severity::error, "there is no board 'x'. Add the board", [](Rig& r) { r.boards.clear(); r.actuators[0].board = "x"; }},
    {Severity::error, "there is no rail 'servo'. Did you mean 'servos'?", [](Rig& r) { r.actuators[0].rail = "servo"; }},
    {Severity::warning, "has no rail", [](Rig& r) { r.actuators[0].rail = ""; }},
    {Severity::error, "there is no control 'blnik'. Did you mean 'blink'?", [](Rig& r) { r.mappings[0].axes[0].terms[0].control = "blnik"; }},
    {Severity::error, "there is no actuator 'lid'. Did you mean 'lids'?", [](Rig& r) { r.mappings[0].actuators[0] = "lid"; }},
    {Severity::error, "output 0 of board 'face' drives actuator 'lids' already", [](Rig& r) { r.actuators[1].board = "face"; r.actuators[1].output = 0; }},
    {Severity::error, "board 'chin', address: is 0, which board 'face' has already", [](Rig& r) { r.boards[1].address = 0; }},
    {Severity::error, "board 'chin', address: is 2, but 2 boards have addresses 0 to 1", [](Rig& r) { r.boards[1].address = 2; }},
    {Severity::error, "address: is -1", [](Rig& r) { r.boards[1].address = -1; }},
    {Severity::error, "board 'face', outputs: is 0", [](Rig& r) { r.boards[0].outputs = 0; }},
    {Severity::error, "board 'face', outputs: is 17", [](Rig& r) { r.boards[0].outputs = 17; }},
    {Severity::error, "actuator 'jaw', output: is 4, but board 'chin' has outputs 0 to 3", [](Rig& r) { r.actuators[1].output = 4; }},
    {Severity::error, "output: is -1", [](Rig& r) { r.actuators[1].output = -1; }},
    {Severity::error, "velocity_deg_s: is 0 deg/s", [](Rig& r) { r.actuators[0].velocity_deg_s = 0; }},
    {Severity::error, "velocity_deg_s: is -5 deg/s", [](Rig& r) { r.actuators[0].velocity_deg_s = -5; }},
    {Severity::error, "velocity_deg_s: is nan", [](Rig& r) { r.actuators[0].velocity_deg_s = kNan; }},
    {Severity::error, "acceleration_deg_s2: is inf", [](Rig& r) { r.actuators[0].acceleration_deg_s2 = kInf; }},
    {Severity::error, "acceleration_deg_s2: is 0", [](Rig& r) { r.actuators[0].acceleration_deg_s2 = 0; }},
    {Severity::error, "min_deg: travel from 45 to 45 deg is empty", [](Rig& r) { r.actuators[0].min_deg = 45; }},
    {Severity::error, "rest_deg: is 46 deg, outside the travel of -45 to 45 deg", [](Rig& r) { r.actuators[0].rest_deg = 46; }},
    {Severity::error, "max_deg: is nan", [](Rig& r) { r.actuators[0].max_deg = kNan; }},
    {Severity::error, "pulse_min_us: pulses from 2000 to 1000 us", [](Rig& r) { std::swap(r.actuators[0].pulse_min_us, r.actuators[0].pulse_max_us); }},
    {Severity::error, "pulse_min_us: is 399 us, which no servo takes", [](Rig& r) { r.actuators[0].pulse_min_us = 399; }},
    {Severity::error, "pulse_max_us: is 2601 us", [](Rig& r) { r.actuators[0].pulse_max_us = 2601; }},
    {Severity::error, "pulse_max_us: is nan", [](Rig& r) { r.actuators[0].pulse_max_us = kNan; }},
    {Severity::error, "control 'blink', min: the range 1 to 1 is empty", [](Rig& r) { r.controls[0].min = 1; }},
    {Severity::error, "control 'blink', rest: is 2, outside the range 0 to 1", [](Rig& r) { r.controls[0].rest = 2; }},
    {Severity::error, "control 'blink', max: is inf", [](Rig& r) { r.controls[0].max = kInf; }},
    {Severity::error, "actuator 'jaw': no mapping drives it", [](Rig& r) { r.mappings.pop_back(); }},
    {Severity::error, "actuator 'jaw': 2 mappings drive it", [](Rig& r) { r.mappings.push_back(r.mappings.back()); }},
    {Severity::error, "mapping of 'lids': 2 axes for 1 actuator", [](Rig& r) { r.mappings[0].axes.push_back({}); }},
    {Severity::error, "mapping 1 (counted from 1): 0 axes for 0 actuators", [](Rig& r) { r.mappings[0] = {}; }},
    {Severity::error, "weight of 'blink': is nan", [](Rig& r) { r.mappings[0].axes[0].terms[0].weight = kNan; }},
    {Severity::error, "offset: is inf", [](Rig& r) { r.mappings[0].axes[0].offset = kInf; }},
    {Severity::error, "257 terms", [](Rig& r) { r.mappings[0].axes[0].terms.resize(257, {"blink", 0}); }},
    {Severity::warning, "'jaw_opn' is no part of a face that the preview can draw. Did you mean 'jaw_open'?", [](Rig& r) { r.mappings[1].axes[0].role = "jaw_opn"; }},
    {Severity::warning, "'jaw_open' is moved by another axis too", [](Rig& r) { r.mappings[0].axes[0].role = "jaw_open"; }},
    {Severity::warning, "board 'chin', rail 'servos', rating_a: the rail has no rating", [](Rig& r) { r.boards[1].rails[0].rating_a = 0; }},
    {Severity::error, "rating_a: is -1 A", [](Rig& r) { r.boards[1].rails[0].rating_a = -1; }},
    {Severity::error, "rating_a: is nan", [](Rig& r) { r.boards[1].rails[0].rating_a = kNan; }},
    {Severity::error, "9 rails. Keep to 8 rails", [](Rig& r) { for (int i = 1; i < 9; ++i) r.boards[0].rails.push_back({"r" + std::to_string(i), 1}); }},
    {Severity::error, "tick_hz: is 9", [](Rig& r) { r.tick_hz = 9; }},
    {Severity::error, "tick_hz: is 1001", [](Rig& r) { r.tick_hz = 1001; }},
    {Severity::error, "latch_lead_ms: is -1", [](Rig& r) { r.latch_lead_ms = -1; }},
    {Severity::error, "latch_lead_ms: is nan", [](Rig& r) { r.latch_lead_ms = kNan; }},
    {Severity::error, "latch_lead_ms: is 501", [](Rig& r) { r.latch_lead_ms = 501; }},
    {Severity::error, "tolerance_deg: is 0", [](Rig& r) { r.tolerance_deg = 0; }},
    {Severity::error, "tolerance_ms: is nan", [](Rig& r) { r.tolerance_ms = kNan; }},
    {Severity::error, "link_latency_ms: is -1", [](Rig& r) { r.link_latency_ms = -1; }},
    {Severity::error, "actuator 'jaw', servo_response_ms: is inf", [](Rig& r) { r.actuators[1].servo_response_ms = kInf; }},
    {Severity::error, "creep_share: is 0", [](Rig& r) { r.creep_share = 0; }},
    {Severity::error, "creep_share: is 1.1", [](Rig& r) { r.creep_share = 1.1; }},
    {Severity::error, "creep_share: is nan", [](Rig& r) { r.creep_share = kNan; }},
    {Severity::error, "watchdog, hold_after_ms: is 0 ms", [](Rig& r) { r.watchdog.hold_after_ms = 0; }},
    {Severity::error, "watchdog, ramp_after_ms: is nan ms", [](Rig& r) { r.watchdog.ramp_after_ms = kNan; }},
    {Severity::error, "watchdog, release_after_ms: is -1 ms", [](Rig& r) { r.watchdog.release_after_ms = -1; }},
    {Severity::error, "9 boards: a rig can have 8", [](Rig& r) { r.boards.resize(9); }},
    {Severity::error, "65 actuators: a rig can have 64", [](Rig& r) { r.actuators.resize(65); }},
    {Severity::error, "257 controls: a rig can have 256", [](Rig& r) { r.controls.resize(257); }},
    {Severity::warning, "the rig has no actuators", [](Rig& r) { r = {}; r.name = "x"; }},
};

const Break kPowerBreaks[] = {
    {Severity::error, "servo 'micro': there is more than one servo of this name", [](Rig& r) { r.servos.push_back(r.servos[0]); }},
    {Severity::error, "65 servos: a rig can have 64 kinds", [](Rig& r) { for (int i = 1; i < 65; ++i) r.servos.push_back({"k" + std::to_string(i), {}}); }},
    {Severity::error, "actuator 'jaw', servo: there is no servo 'mirco'. Did you mean 'micro'?", [](Rig& r) { r.actuators[1].servo = "mirco"; }},
    {Severity::warning, "actuator 'jaw', servo: has no kind of servo", [](Rig& r) { r.actuators[1].servo = ""; }},
    {Severity::error, "servo 'micro', voltage_v: is 0 V. Give 1 to 60 V", [](Rig& r) { r.servos[0].figures.voltage_v = 0; }},
    {Severity::error, "no_load_deg_s: is nan", [](Rig& r) { r.servos[0].figures.no_load_deg_s = kNan; }},
    {Severity::error, "no_load_deg_s: is 0 deg/s", [](Rig& r) { r.servos[0].figures.no_load_deg_s = 0; }},
    {Severity::error, "stall_torque_n_m: is -1 N m", [](Rig& r) { r.servos[0].figures.stall_torque_n_m = -1; }},
    {Severity::error, "stall_current_a: is inf A", [](Rig& r) { r.servos[0].figures.stall_current_a = kInf; }},
    {Severity::error, "stall_current_a: is 0.1 A, less than the idle current", [](Rig& r) { r.servos[0].figures.stall_current_a = 0.1; r.servos[0].figures.idle_current_a = 0.2; }},
    {Severity::error, "idle_current_a: is -1 A", [](Rig& r) { r.servos[0].figures.idle_current_a = -1; }},
    {Severity::error, "friction_n_m: is nan", [](Rig& r) { r.servos[0].figures.friction_n_m = kNan; }},
    {Severity::error, "inertia_kg_m2: is 0 kg m2", [](Rig& r) { r.servos[0].figures.inertia_kg_m2 = 0; }},
    {Severity::error, "full_drive_error_deg: is 0 deg", [](Rig& r) { r.servos[0].figures.full_drive_error_deg = 0; }},
    {Severity::error, "dead_band_deg: is -1 deg", [](Rig& r) { r.servos[0].figures.dead_band_deg = -1; }},
    {Severity::error, "actuator 'lids', skin_n_m_per_deg: is -1", [](Rig& r) { r.actuators[0].skin_n_m_per_deg = -1; }},
    {Severity::error, "load_kg_m2: is nan", [](Rig& r) { r.actuators[0].load_kg_m2 = kNan; }},
    {Severity::error, "rail 'servos', voltage_v: is -5 V", [](Rig& r) { r.boards[0].rails[0].voltage_v = -5; }},
    {Severity::error, "voltage_v: is nan V", [](Rig& r) { r.boards[0].rails[0].voltage_v = kNan; }},
    {Severity::error, "connector_a: is -1 A", [](Rig& r) { r.boards[0].rails[0].connector_a = -1; }},
    {Severity::error, "fuse_a: is inf", [](Rig& r) { r.boards[0].rails[0].fuse_a = kInf; }},
    {Severity::error, "wire: has both a gauge and an area", [](Rig& r) { r.boards[0].rails[0].wire->area_mm2 = 1; }},
    {Severity::error, "wire, awg: is 41. Give 1 to 40", [](Rig& r) { r.boards[0].rails[0].wire->awg = 41; }},
    {Severity::error, "wire, area_mm2: is 0 mm2", [](Rig& r) { r.boards[0].rails[0].wire->awg = 0; }},
    {Severity::error, "wire, length_m: is 0 m", [](Rig& r) { r.boards[0].rails[0].wire->length_m = 0; }},
    {Severity::error, "wire, temperature_c: is nan", [](Rig& r) { r.boards[0].rails[0].wire->temperature_c = kNan; }},
    {Severity::error, "governed: a rail with no rating can't be governed", [](Rig& r) { r.boards[0].rails[0].rating_a = 0; }},
};

void expect_said(const Break& broken, Rig rig) {
  broken.apply(rig);
  const Findings findings = validate(rig, "head.rig.json");
  const auto is_about_it = [&](const Finding& f) { return to_text(f).find(broken.words) != std::string::npos && f.severity == broken.severity; };
  const auto about = std::find_if(findings.begin(), findings.end(), is_about_it);
  ASSERT_NE(about, findings.end()) << "nothing says: " << broken.words << "\nbut:\n" << all_text(findings);
  EXPECT_EQ(about->file, "head.rig.json");
  EXPECT_FALSE(about->cure.empty()) << broken.words;
  EXPECT_EQ(has_errors(findings), broken.severity == Severity::error) << all_text(findings);
}

TEST(BrokenRig, IsToldWhereAndWhatToDo) {
  for (const Break& broken : kBreaks) expect_said(broken, small_rig());
}

TEST(BrokenRig, IsToldOfItsServosAndRails) {
  for (const Break& broken : kPowerBreaks) expect_said(broken, fed_rig());
}

// Two eyes, a linkage of each kind and a constraint: names and shapes only, numbers are for perform::check_rig().
Rig rich_rig() {
  Rig rig = small_rig();
  rig.actuators.push_back({"eye", "eyes", "face", "servos", 1});
  rig.actuators.push_back({"brow_inner", "eyes", "face", "servos", 2});
  rig.actuators.push_back({"brow_outer", "eyes", "face", "servos", 3});
  rig.controls.insert(rig.controls.end(), {{"yaw", "eyes", "deg", -30, 30, 0}, {"pitch", "eyes", "deg", -20, 20, 0}, {"far", "eyes", "mm", 200, 5000, 1000}});
  rig.gaze = Gaze{"yaw", "pitch", "far", 63, "left eye", "right eye"};
  rig.mappings[0].axes[0].closing = Closing{"blink", -20};
  rig.mappings[0].response = FourBar{};
  rig.mappings[1].response = SliderCrank{};
  rig.mappings.push_back({{{"eye_yaw_left", 0, {{"left eye", 1}}}}, Measured{{{-30, -40}, {30, 40}}}, {"eye"}});
  rig.mappings.push_back({{{"brow_raise_left", 0, {{"pitch", 1}}}, {"brow_tilt_left", 0, {}}}, Differential{}, {"brow_inner", "brow_outer"}});
  rig.constraints = {{"lids stay clear of the jaw", {{"lids", 1}, {"jaw", -1}}, -60}};
  return rig;
}

TEST(ValidRig, MayHaveLinkagesEyesAndConstraints) { EXPECT_EQ(all_text(validate(rich_rig(), "x")), ""); }

const Break kRichBreaks[] = {
    {Severity::error, "gaze, yaw: there is no control 'yow'. Did you mean 'yaw'?", [](Rig& r) { r.gaze->yaw = "yow"; }},
    {Severity::error, "gaze, pitch: there is no control ''", [](Rig& r) { r.gaze->pitch = ""; }},
    {Severity::error, "gaze, distance: there is no control 'fra'", [](Rig& r) { r.gaze->distance = "fra"; }},
    {Severity::error, "control 'far', min: is 0 mm: eyes can't look at a point between them", [](Rig& r) { r.controls[4].min = 0; }},
    {Severity::error, "control 'yaw': turns the gaze beyond 89 deg", [](Rig& r) { r.controls[2].max = 90; }},
    {Severity::error, "gaze, ipd_mm: is 0 mm", [](Rig& r) { r.gaze->ipd_mm = 0; }},
    {Severity::error, "gaze, ipd_mm: is nan mm", [](Rig& r) { r.gaze->ipd_mm = kNan; }},
    {Severity::error, "gaze, left: 'blink' is the name of a control", [](Rig& r) { r.gaze->left = "blink"; r.mappings[2].axes[0].terms.clear(); }},
    {Severity::error, "gaze, right: 'left eye' is the name of both eyes", [](Rig& r) { r.gaze->right = "left eye"; }},
    {Severity::error, "gaze, right: has no name", [](Rig& r) { r.gaze->right = ""; }},
    {Severity::error, "there is no control 'left eye'", [](Rig& r) { r.gaze.reset(); }},
    {Severity::error, "closing: there is no control 'blik'. Did you mean 'blink'?", [](Rig& r) { r.mappings[0].axes[0].closing->control = "blik"; }},
    {Severity::error, "closing, value: is nan", [](Rig& r) { r.mappings[0].axes[0].closing->value = kNan; }},
    {Severity::error, "'yaw' goes from -30 to 30, but a closing is a share", [](Rig& r) { r.mappings[0].axes[0].closing->control = "yaw"; }},
    {Severity::error, "mapping of 'brow_inner': 2 axes for a response that has one", [](Rig& r) { r.mappings[3].response = FourBar{}; }},
    {Severity::error, "mapping of 'lids': 1 axis for a response that has two", [](Rig& r) { r.mappings[0].response = Differential{}; }},
    {Severity::error, "mapping of 'lids': 1 axis for a response that has two", [](Rig& r) { r.mappings[0].response = TwoRodPlate{}; }},
    {Severity::error, "mapping of 'brow_inner': 2 axes for 1 actuator", [](Rig& r) { r.mappings[3].response = TwoRodPlate{}, r.mappings[3].actuators.pop_back(); }},
    {Severity::error, "mapping of 'eye': 257 measured rows", [](Rig& r) { std::get<Measured>(r.mappings[2].response).rows.resize(257); }},
    {Severity::error, "constraint 'lids stay clear of the jaw': there is no actuator 'jow'. Did you mean 'jaw'?", [](Rig& r) { r.constraints[0].terms[1].actuator = "jow"; }},
    {Severity::error, "weight of 'jaw': is 0, so the term says nothing", [](Rig& r) { r.constraints[0].terms[1].weight = 0; }},
    {Severity::error, "weight of 'jaw': is inf", [](Rig& r) { r.constraints[0].terms[1].weight = kInf; }},
    {Severity::error, "at_least_deg: is nan", [](Rig& r) { r.constraints[0].at_least_deg = kNan; }},
    {Severity::error, "constraint 'lids stay clear of the jaw': 0 terms", [](Rig& r) { r.constraints[0].terms.clear(); }},
    {Severity::error, "'lids' is in it twice", [](Rig& r) { r.constraints[0].terms[1].actuator = "lids"; }},
    {Severity::error, "there is more than one constraint of this name", [](Rig& r) { r.constraints.push_back(r.constraints[0]); }},
    {Severity::error, "65 constraints: a rig can have 64", [](Rig& r) {
       for (int i = 0; i < 64; ++i) r.constraints.push_back({"c" + std::to_string(i), {{"jaw", 1}}, -90});
     }},
};

TEST(BrokenRig, IsToldAboutItsMappingsEyesAndConstraints) {
  for (const Break& broken : kRichBreaks) {
    Rig rig = rich_rig();
    broken.apply(rig);
    const Findings findings = validate(rig, "head.rig.json");
    EXPECT_TRUE(std::any_of(findings.begin(), findings.end(), [&](const Finding& f) {
      return to_text(f).find(broken.words) != std::string::npos && f.severity == broken.severity && !f.cure.empty();
    })) << "nothing says: " << broken.words << "\nbut:\n" << all_text(findings);
  }
}

TEST(EmptyRig, IsCheckedLikeAnyOther) { EXPECT_FALSE(has_errors(validate(Rig{}, "x"))); }

struct ShowBreak {
  Severity severity;
  const char* words;
  std::function<void(Show&)> apply;
};

void set_keys(Show& show, std::vector<Keyframe> keys) { show.channels[0] = std::make_shared<const Channel>(Channel{"blink", std::move(keys)}); }

const ShowBreak kShowBreaks[] = {
    {Severity::warning, "the show has no name", [](Show& s) { s.name = ""; }},
    {Severity::error, "length: is 0 s", [](Show& s) { s.length = Time{0}; }},
    {Severity::error, "length: is -0.000000001 s", [](Show& s) { s.length = Time{-1}; }},
    {Severity::error, "channel 'blnk': the rig has no control 'blnk'. Did you mean 'blink'?", [](Show& s) { s.channels = {std::make_shared<const Channel>(Channel{"blnk", {}})}; }},
    {Severity::error, "there is more than one channel for this control", [](Show& s) { s.channels.push_back(s.channels[0]); }},
    {Severity::error, "channel 'blink' at 0.000000003 s: 1 key stands after a key of a later time", [](Show& s) { set_keys(s, {{Time{5}, 0}, {Time{3}, 0}}); }},
    {Severity::error, "channel 'blink' at 0.000000005 s: 2 keys have the time of the key before", [](Show& s) { set_keys(s, {{Time{5}, 0}, {Time{5}, 0}, {Time{5}, 1}}); }},
    {Severity::warning, "1 key lies outside the show, which is 0.000001 s long", [](Show& s) { set_keys(s, {{Time{1001}, 0}}); }},
    {Severity::warning, "channel 'blink' at -0.000000001 s: 1 key lies outside", [](Show& s) { set_keys(s, {{Time{-1}, 0}}); }},
    {Severity::error, "channel 'blink' at 0.000000007 s: 2 values are not a finite number", [](Show& s) { set_keys(s, {{Time{7}, kNan}, {Time{8}, kInf}}); }},
    {Severity::warning, "at 0.000000008 s: 2 keys go beyond the control's range 0 to 1; this one is -3, 3 too low", [](Show& s) { set_keys(s, {{Time{7}, 1.5}, {Time{8}, -3}}); }},
    {Severity::error, "1 key has an easing that can't be", [](Show& s) { set_keys(s, {{Time{7}, 1, {Easing::Kind::bezier, 2, 0, 1, 1}}}); }},
    {Severity::error, "1 key has an easing that can't be", [](Show& s) { set_keys(s, {{Time{7}, 1, {Easing::Kind::bezier, 0, NAN, 1, 1}}}); }},
    {Severity::error, "loop: from 0.000000005 to 0.000000005 s is empty", [](Show& s) { s.loop = Range{Time{5}, Time{5}}; }},
    {Severity::error, "loop: from 0.0000005 to 0.000001001 s is not inside the show", [](Show& s) { s.loop = Range{Time{500}, Time{1001}}; }},
    {Severity::error, "loop: from -0.000000001 to", [](Show& s) { s.loop = Range{Time{-1}, Time{10}}; }},
    {Severity::error, "marker 'b' at 0.00000001 s: comes after a marker of a later time", [](Show& s) { s.markers[0].time = Time{11}; }},
    {Severity::warning, "lies outside the show", [](Show& s) { s.markers[1].time = Time{2000}; }},
    {Severity::warning, "marker 2 (counted from 1) at 0.00000001 s: has no name", [](Show& s) { s.markers[1].name = ""; }},
    {Severity::error, "sound 1 (counted from 1): names no file", [](Show& s) { s.sounds = {{}}; }},
    {Severity::error, "sound 'a.wav', trim: is -1 s", [](Show& s) { s.sounds = {{"a.wav", Time{0}, Time{-1'000'000'000}}}; }},
    {Severity::error, "sound 'a.wav', trim_end: is -1 s", [](Show& s) { s.sounds = {{"a.wav", Time{0}, Time{0}, 0, Time{-1'000'000'000}}}; }},
    {Severity::error, "gain_db: is nan dB", [](Show& s) { s.sounds = {{"a.wav", Time{0}, Time{0}, kNan}}; }},
};

TEST(Sound, IsHeardWithinItsTrims) {
  const Time second{1'000'000'000};
  const auto heard = [&](Time trim, Time trim_end, Time length) { return heard_of({"a.wav", Time{7}, trim, 0, trim_end}, length); };
  EXPECT_EQ(heard(Time{0}, Time{0}, second), (Range{Time{0}, second}));
  EXPECT_EQ(heard(Time{3}, Time{4}, second), (Range{Time{3}, second - Time{4}}));
  EXPECT_TRUE(heard(second / 2, second / 2, second).empty());
  EXPECT_TRUE(heard(2 * second, Time{0}, second).empty());
  EXPECT_TRUE(heard(Time{0}, 2 * second, second).empty());
  EXPECT_EQ(heard(Time{-5}, Time{-5}, second), (Range{Time{0}, second}));
  EXPECT_TRUE(heard(Time{0}, Time{0}, Time{0}).empty());
  EXPECT_TRUE(heard(Time::max(), Time::max(), second).empty());
}

TEST(ValidShow, HasNothingSaidAgainstIt) { EXPECT_EQ(all_text(validate(small_show(), small_rig(), "x")), ""); }

TEST(BrokenShow, IsToldWhereAndWhatToDo) {
  for (const ShowBreak& broken : kShowBreaks) {
    Show show = small_show();
    broken.apply(show);
    const Findings findings = validate(show, small_rig(), "a.show.json");
    const auto is_about_it = [&](const Finding& f) { return to_text(f).find(broken.words) != std::string::npos && f.severity == broken.severity; };
    const auto about = std::find_if(findings.begin(), findings.end(), is_about_it);
    ASSERT_NE(about, findings.end()) << "nothing says: " << broken.words << "\nbut:\n" << all_text(findings);
    EXPECT_EQ(about->file, "a.show.json");
    EXPECT_FALSE(about->cure.empty()) << broken.words;
    EXPECT_EQ(has_errors(findings), broken.severity == Severity::error) << all_text(findings);
  }
}

TEST(BrokenShow, OfAMillionFaultsIsToldInAFewLines) {
  Show show = small_show();
  set_keys(show, std::vector<Keyframe>(1'000'000, {Time{5}, kNan}));
  EXPECT_LE(validate(show, small_rig(), "x").size(), 4u);
}

}  // namespace
}  // namespace mien::show
