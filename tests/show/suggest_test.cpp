#include "show/suggest.hpp"

#include <gmock/gmock.h>

#include <algorithm>
#include <set>

#include "show/text.hpp"
#include "show/validate.hpp"

namespace mien::tests {
namespace {
using namespace mien::show;
using testing::HasSubstr;

ServoSheet sheet_of(std::string_view line) {
  const auto sheet = parse_servo_sheet(line);
  EXPECT_TRUE(sheet) << line << ": " << to_text(sheet.problem());
  return sheet ? *sheet : ServoSheet{};
}

TEST(ServoSheet, ReadsALineOfADataSheetInAnyOrderAndSpelling) {
  const ServoSheet all{"Micro 9 g", 0.12, 180, 500, 2500, 4.8, 1.6 * 0.0980665};
  EXPECT_EQ(sheet_of("Micro 9 g, 0.12 s/60 deg, 180 deg, 500..2500 us, 4.8 V, 1.6 kg cm"), all);
  EXPECT_EQ(sheet_of("500-2500\xC2\xB5s; 180\xC2\xB0; 0.12sec/60\xC2\xB0; Micro 9 g; 1.6kg\xC2\xB7""cm; 4.8V"), all);
  EXPECT_EQ(sheet_of("500 to 2500 us,1.6 kgf cm,0.12 s/60deg,4.8 V,180 degrees,Micro 9 g\r"), all);
  EXPECT_EQ(sheet_of(""), ServoSheet{});
  EXPECT_NEAR(sheet_of("0.16 N m").torque_n_m, 0.16, 1e-12);
  EXPECT_NEAR(sheet_of("0.16 Nm").torque_n_m, 0.16, 1e-12);
}

// 1 kgf is 9.80665 N by definition (3rd General Conference on Weights and Measures, 1901), so 10 kgf cm are 0.980665 N m.
TEST(ServoSheet, TurnsKilogramForcesIntoNewtons) { EXPECT_NEAR(sheet_of("10 kg cm").torque_n_m, 0.980665, 1e-12); }

TEST(ServoSheet, RefusesWhatNoServoSaysAndNamesThePart) {
  for (const auto& [line, part] : {std::pair{"Micro, 12 s/60 deg", "12 s/60 deg"}, std::pair{"500 us", "500 us"}, std::pair{"2500..500 us", "2500..500 us"}, std::pair{"100..9000 us", "100..9000 us"},
                                   std::pair{"3 deg", "3 deg"}, std::pair{"0.12", "0.12"}, std::pair{"180 deg, 17 parsecs", "17 parsecs"}, std::pair{"400 V", "400 V"}, std::pair{"one, two", "two"}}) {
    const auto sheet = parse_servo_sheet(line, "table.csv", "line 3");
    ASSERT_FALSE(sheet) << line;
    EXPECT_THAT(sheet.problem().what, HasSubstr(std::string("'") + part + "'"));
    EXPECT_EQ(sheet.problem().file, "table.csv");
    EXPECT_EQ(sheet.problem().place, "line 3");
    EXPECT_FALSE(sheet.problem().cure.empty());
  }
}

// By hand: 0.1 s/60 deg is 600 deg/s free, 480 at four fifths, reached in 0.05 s at 9600 deg/s^2; 500..2500 us over 180 deg are 11.11 us a degree about 1500 us.
TEST(ServoSheet, GivesAnActuatorItsLimitsAndPulses) {
  const ServoSheet sheet = sheet_of("0.1 s/60 deg, 180 deg, 500..2500 us");
  Actuator a;
  a.min_deg = -9, a.max_deg = 36;
  EXPECT_FALSE(put_limits(sheet, a));
  EXPECT_NEAR(a.velocity_deg_s, 480, 1e-9);
  EXPECT_NEAR(a.acceleration_deg_s2, 9600, 1e-9);
  EXPECT_NEAR(a.pulse_min_us, 1400, 1e-9);
  EXPECT_NEAR(a.pulse_max_us, 1900, 1e-9);
  EXPECT_NEAR(pulse_us(a, 0), 1500, 1e-9);
  a.reversed = true;
  put_limits(sheet, a);
  EXPECT_NEAR(pulse_us(a, -9), 1600, 1e-9);
  EXPECT_NEAR(pulse_us(a, 36), 1100, 1e-9);
  EXPECT_NEAR(pulse_us(a, 0), 1500, 1e-9);
}

TEST(ServoSheet, CutsATravelThatTheServoHasNot) {
  Actuator a;
  a.min_deg = -80, a.max_deg = 30, a.rest_deg = -70;
  EXPECT_TRUE(put_limits(sheet_of("90 deg, 1000..2000 us"), a));
  EXPECT_EQ(a.min_deg, -45);
  EXPECT_EQ(a.max_deg, 30);
  EXPECT_EQ(a.rest_deg, -45);
  EXPECT_NEAR(a.pulse_min_us, 1000, 1e-9);
}

TEST(Roles, AreFoundInTheNamesThatMakersGive) {
  for (const auto& [text, role] : {std::pair{"Left upper eyelid", Role::lid_upper_left}, std::pair{"L top lid", Role::lid_upper_left}, std::pair{"eyelidLowerRight", Role::lid_lower_right},
                                   std::pair{"lids", Role::lid_upper}, std::pair{"eye pan R", Role::eye_yaw_right}, std::pair{"Eyes up/down pitch", Role::eye_pitch}, std::pair{"Jaw", Role::jaw_open},
                                   std::pair{"jaw sideways", Role::jaw_side}, std::pair{"inner brow (left)", Role::brow_inner_left}, std::pair{"eyebrow_R", Role::brow_raise_right},
                                   std::pair{"mouth corner left", Role::lip_corner_wide_left}, std::pair{"smile right", Role::lip_corner_up_right}, std::pair{"Upper lip", Role::lip_upper_centre},
                                   std::pair{"lower lip L", Role::lip_lower_left}, std::pair{"cheek left", Role::cheek_left}, std::pair{"nose", Role::nose_wrinkle}, std::pair{"neck turn", Role::neck_yaw},
                                   std::pair{"head nod pitch", Role::neck_pitch}, std::pair{"neck tilt", Role::neck_roll}})
    EXPECT_EQ(role_of(text), role) << text;
  for (int r = 0; r < kRoleCount; ++r) EXPECT_EQ(role_of(name(static_cast<Role>(r))), static_cast<Role>(r));
  for (const char* text : {"", "servo 7", "brow", "ear left", "relay"}) EXPECT_EQ(role_of(text), std::nullopt) << text;
}

Head head_of(const std::vector<std::string>& names) {
  Head head;
  head.name = "Test head";
  head.servo = sheet_of("0.12 s/60 deg, 180 deg, 500..2500 us");
  int line = 2;
  for (const std::string& n : names) {
    HeadRow row;
    row.name = n, row.line = line++;
    head.rows.push_back(row);
  }
  return head;
}
std::vector<std::string> every_role() {
  std::vector<std::string> names;
  for (int r = 0; r < kRoleCount; ++r) names.emplace_back(name(static_cast<Role>(r)));
  return names;
}
std::string all_of(const Findings& findings) {
  std::string text;
  for (const Finding& f : findings) text += to_text(f) + "\n";
  return text;
}

TEST(Suggest, MakesAValidRigOfEveryPartOfAFace) {
  const auto made = suggest_rig(head_of(every_role()), "table.csv");
  EXPECT_TRUE(made.notes.empty()) << all_of(made.notes);
  const auto findings = validate(made.rig, "head.rig.json");
  EXPECT_FALSE(has_errors(findings)) << all_of(findings);
  EXPECT_EQ(made.rig.actuators.size(), static_cast<std::size_t>(kRoleCount));
  EXPECT_EQ(made.rig.boards.size(), 3u) << "37 servos need three boards of 16 outputs";
  std::set<std::pair<std::string, int>> outputs;
  for (const Actuator& a : made.rig.actuators) EXPECT_TRUE(outputs.insert({a.board, a.output}).second) << a.name;
}

// Each part alone, too: no control without an axis, no axis without a control.
TEST(Suggest, MakesAValidRigOfAnySinglePartAndOfAnyTwo) {
  const auto names = every_role();
  for (std::size_t i = 0; i < names.size(); ++i)
    for (std::size_t j = i; j < names.size(); ++j) {
      const auto made = suggest_rig(head_of(i == j ? std::vector{names[i]} : std::vector{names[i], names[j]}), "t");
      const auto findings = validate(made.rig, "r");
      ASSERT_FALSE(has_errors(findings) || has_errors(made.notes)) << names[i] << " and " << names[j] << "\n" << all_of(findings) << all_of(made.notes);
      std::set<std::string> used;
      for (const Mapping& m : made.rig.mappings)
        for (const Axis& a : m.axes) {
          EXPECT_TRUE(!a.terms.empty() || a.closing) << names[i] << " and " << names[j];
          for (const Term& t : a.terms) used.insert(t.control);
          if (a.closing) used.insert(a.closing->control);
        }
      if (made.rig.gaze) used.insert({made.rig.gaze->yaw, made.rig.gaze->pitch, made.rig.gaze->distance});
      for (const Control& c : made.rig.controls) EXPECT_TRUE(used.contains(c.name)) << c.name << " of " << names[i] << " and " << names[j];
      std::set<std::string> distinct;
      for (const Control& c : made.rig.controls) EXPECT_TRUE(distinct.insert(c.name).second) << c.name << " twice";
    }
}

TEST(Suggest, KeepsEveryControlAloneWithinTheTravel) {
  const auto made = suggest_rig(head_of(every_role()), "t");
  for (const Mapping& m : made.rig.mappings) {
    const auto actuator = std::find_if(made.rig.actuators.begin(), made.rig.actuators.end(), [&](const Actuator& a) { return a.name == m.actuators[0]; });
    for (const Term& t : m.axes[0].terms) {
      const auto control = std::find_if(made.rig.controls.begin(), made.rig.controls.end(), [&](const Control& c) { return c.name == t.control; });
      if (control == made.rig.controls.end()) continue;  // an eye's yaw, which Gaze limits
      for (const double value : {control->min, control->max}) {
        const double at = m.axes[0].offset + t.weight * value;
        EXPECT_GE(at, actuator->min_deg - 1e-9) << actuator->name << " by " << t.control;
        EXPECT_LE(at, actuator->max_deg + 1e-9) << actuator->name << " by " << t.control;
      }
    }
    if (m.axes[0].closing) {
      EXPECT_GE(m.axes[0].closing->value, actuator->min_deg);
      EXPECT_LT(m.axes[0].closing->value, actuator->rest_deg);
    }
  }
}

TEST(Suggest, LetsLidsMeetAndNotCrossAndLipsPressOnlySoFar) {
  const auto made = suggest_rig(head_of({"left upper lid", "left lower lid", "upper lip", "lower lip"}), "t");
  ASSERT_EQ(made.rig.constraints.size(), 2u);
  const Constraint& lids = made.rig.constraints[0];
  EXPECT_THAT(lids.name, HasSubstr("left lids"));
  EXPECT_EQ(lids.terms, (std::vector<Constraint::Term>{{"left upper lid", 1}, {"left lower lid", -1}}));
  // -35 deg is closed on a lower lid at rest (travel_of); a lower lid 5 deg up must be met 5 deg earlier.
  EXPECT_NEAR(lids.at_least_deg, -35, 1e-9);
  const Constraint& lips = made.rig.constraints[1];
  EXPECT_THAT(lips.name, HasSubstr("lips"));
  EXPECT_NEAR(lips.at_least_deg, -0.75 * 40, 1e-9);
}

TEST(Suggest, TakesWhatTheTableSaysBeforeWhatIsUsual) {
  Head head = head_of({"left upper lid", "flap"});
  head.rows[0].min_deg = -12, head.rows[0].max_deg = 8, head.rows[0].rest_deg = 2, head.rows[0].reversed = true, head.rows[0].group = "eyelids", head.rows[0].board = "face", head.rows[0].output = 5;
  head.rows[0].servo = "Quick, 0.06 s/60 deg, 120 deg, 900..2100 us";
  head.rows[1].role = "jaw open";
  const auto made = suggest_rig(head, "t");
  const Actuator& lid = made.rig.actuators[0];
  EXPECT_EQ(std::tuple(lid.min_deg, lid.max_deg, lid.rest_deg, lid.reversed, lid.group, lid.board, lid.output), std::tuple(-12.0, 8.0, 2.0, true, "eyelids", "face", 5));
  EXPECT_EQ(lid.servo, "Quick");
  EXPECT_NEAR(lid.velocity_deg_s, 800, 1e-9);
  EXPECT_EQ(made.rig.mappings[1].axes[0].role, "jaw_open");
  EXPECT_EQ(made.rig.actuators[1].board, "face");
  EXPECT_NE(made.rig.actuators[1].output, 5);
  EXPECT_FALSE(has_errors(validate(made.rig, "r")));
}

TEST(Suggest, GivesEachBoardARailOfTheSupplyThatIsToldAtTheServosVoltage) {
  Head head = head_of({"jaw", "nose"});
  head.boards = 2, head.supply_a = 5, head.servo.voltage_v = 6;
  const auto made = suggest_rig(head, "t");
  ASSERT_EQ(made.rig.boards.size(), 2u);
  for (const Board& b : made.rig.boards) {
    ASSERT_EQ(b.rails.size(), 1u);
    EXPECT_EQ(b.rails[0].rating_a, 5);
    EXPECT_EQ(b.rails[0].voltage_v, 6);
  }
  EXPECT_TRUE(validate(made.rig, "r").empty()) << all_of(validate(made.rig, "r"));
}

TEST(Suggest, NamesTheLineOfARowThatCantBeUsedAndKeepsTheRest) {
  Head head = head_of({"jaw", "jaw", "", "left eye pan", "right eye pan", "cheek left", "cheek right", "nose"});
  head.rows[3].output = 0, head.rows[4].output = 0;
  head.rows[5].min_deg = 10, head.rows[5].max_deg = -10;
  head.rows[6].servo = "5 furlongs";
  head.rows[7].output = 99;
  const auto made = suggest_rig(head, "table.csv");
  EXPECT_EQ(made.rig.actuators.size(), 2u) << all_of(made.notes);
  std::vector<std::string> places;
  for (const Finding& f : made.notes) {
    EXPECT_EQ(f.severity, Severity::error);
    EXPECT_EQ(f.file, "table.csv");
    places.push_back(f.place.substr(0, 6));
  }
  EXPECT_EQ(places, (std::vector<std::string>{"line 3", "line 4", "line 6", "line 7", "line 8", "line 9"}));
}

TEST(Suggest, GivesAServoThatIsCalledAsAControlOneOfAnotherName) {
  Head head = head_of({"jaw", "jaw_open", "left eye pan", "right eye pan", "eye_left"});
  head.rows[1].role = head.rows[4].role = "none";
  const auto made = suggest_rig(head, "t");
  EXPECT_FALSE(has_errors(validate(made.rig, "r"))) << all_of(validate(made.rig, "r"));
  EXPECT_EQ(made.rig.mappings[1].axes[0].terms[0].control, "jaw_open own");
}

TEST(Suggest, GivesWhatHasNoPartAControlOfItsOwn) {
  const auto made = suggest_rig(head_of({"left ear"}), "t");
  ASSERT_EQ(made.rig.controls.size(), 1u);
  EXPECT_EQ(made.rig.controls[0].name, "left ear");
  EXPECT_EQ(made.rig.controls[0].unit, "deg");
  EXPECT_EQ(made.rig.mappings[0].axes[0].role, "");
  ASSERT_EQ(made.notes.size(), 1u);
  EXPECT_EQ(made.notes[0].severity, Severity::note);
}

}  // namespace
}  // namespace mien::tests
