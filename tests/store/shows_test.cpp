// The shows that come with the program: sound files, in the form that a save gives them, and a mouth that does what speech needs.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>
#include <stdexcept>

#include "motion/linkage.hpp"
#include "perform/arrive.hpp"
#include "perform/render.hpp"
#include "perform/rig_check.hpp"
#include "perform/study.hpp"
#include "show/roles.hpp"
#include "store/map_store.hpp"
#include "store/samples.hpp"
#include "support/folder.hpp"

namespace mien::store {
namespace {

std::vector<Path> show_files() {
  std::vector<Path> files;
  for (const auto& entry : std::filesystem::directory_iterator(kShows)) {
    if (entry.path().extension() == ".json") files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

bool is_rig(const Path& path) { return path.stem().extension() == ".rig"; }
bool is_library(const Path& path) { return path.stem().extension() == ".clips"; }
bool is_map(const Path& path) { return path.stem().extension() == ".map"; }

Loaded keeper() {
  auto loaded = load_show(kShows / "keeper.show.json");
  if (!loaded) throw std::runtime_error(show::to_text(loaded.problem()));
  return *std::move(loaded);
}

// Where the controls send the servos, by the rig's index.
std::array<double, show::kMaxActuators> angles_of(const show::Rig& rig, const std::map<std::string, double>& controls) {
  perform::Tick tick;
  for (std::size_t c = 0; c < rig.controls.size(); ++c) tick.control[c] = controls.at(rig.controls[c].name);
  perform::aim(perform::map_of(rig), tick);
  return tick.target_deg;
}

std::map<std::string, double> controls_at_rest(const show::Rig& rig) {
  std::map<std::string, double> values;
  for (const show::Control& control : rig.controls) values[control.name] = control.rest;
  return values;
}

TEST(Shows, AreThere) { EXPECT_GE(show_files().size(), 2u); }

TEST(Shows, LoadWithoutAFinding) {
  for (const Path& file : show_files()) {
    const Checked checked = check_file(file);
    for (const show::Finding& finding : checked.findings) ADD_FAILURE() << show::to_text(finding);
    ASSERT_TRUE(checked.readable);
    if (is_library(file) || is_map(file)) continue;
    ASSERT_TRUE(checked.rig);
    for (const show::Finding& finding : perform::check_rig(*checked.rig, file)) ADD_FAILURE() << show::to_text(finding);
  }
}

TEST(Shows, AreWrittenAsASaveWritesThem) {
  const support::Folder folder;
  for (const Path& file : show_files()) {
    const Path copy = folder / file.filename().string();
    if (is_rig(file)) {
      const auto rig = load_rig(file);
      ASSERT_TRUE(rig) << show::to_text(rig.problem());
      ASSERT_FALSE(save_rig(copy, *rig->rig));
    } else if (is_library(file)) {
      const auto library = load_library(file);
      ASSERT_TRUE(library) << show::to_text(library.problem());
      ASSERT_FALSE(save_library(copy, library->library));
    } else if (is_map(file)) {
      const auto map = load_map(file, *keeper().rig);
      ASSERT_TRUE(map) << show::to_text(map.problem());
      ASSERT_FALSE(save_map(copy, map->map));
    } else {
      const auto loaded = load_show(file);
      ASSERT_TRUE(loaded) << show::to_text(loaded.problem());
      ASSERT_FALSE(save_show(copy, *loaded->show));
    }
    EXPECT_TRUE(support::read(copy) == support::read(file)) << file << " changes when it is saved";
  }
}

TEST(KeeperRig, HasTwentyOneServosOnThreeBoards) {
  const Loaded loaded = keeper();
  std::map<std::string, int> servos;
  for (const show::Actuator& actuator : loaded.rig->actuators) ++servos[actuator.board];
  EXPECT_EQ(servos, (std::map<std::string, int>{{"brows", 4}, {"eyes and lids", 6}, {"mouth", 11}}));
}

TEST(KeeperRig, MovesEveryPartOfAFaceThatItsServosCanDraw) {
  using enum show::Role;
  std::set<show::Role> found;
  const Loaded loaded = keeper();
  for (const show::Mapping& mapping : loaded.rig->mappings) {
    for (const show::Axis& axis : mapping.axes) {
      const auto role = show::parse_role(axis.role);
      ASSERT_TRUE(role) << axis.role;
      found.insert(*role);
    }
  }
  EXPECT_EQ(found, (std::set{brow_raise_left, brow_raise_right, brow_tilt_left, brow_tilt_right, eye_yaw_left, eye_yaw_right, eye_pitch,
                             lid_upper_left, lid_upper_right, lid_lower, jaw_open, lip_corner_wide_left, lip_corner_wide_right,
                             lip_corner_up_left, lip_corner_up_right, lip_upper_left, lip_upper_centre, lip_upper_right, lip_lower_left,
                             lip_lower_centre, lip_lower_right}));
}

TEST(KeeperRig, RestsWithItsControlsAtRestAndReachesTheEndOfEachAlone) {
  const Loaded loaded = keeper();
  const auto rest = controls_at_rest(*loaded.rig);
  const auto resting = angles_of(*loaded.rig, rest);
  for (std::size_t i = 0; i < loaded.rig->actuators.size(); ++i) {
    const show::Actuator& actuator = loaded.rig->actuators[i];
    EXPECT_NEAR(resting[i], actuator.rest_deg, 0.01) << actuator.name;
    for (const show::Control& control : loaded.rig->controls) {
      for (const double value : {control.min, control.max}) {
        auto controls = rest;
        controls[control.name] = value;
        const double angle = angles_of(*loaded.rig, controls)[i];
        EXPECT_TRUE(angle >= actuator.min_deg && angle <= actuator.max_deg) << actuator.name << " at " << angle << " deg with " << control.name << " " << value;
      }
    }
  }
}

// One response of each kind but a two-rod plate, for the head has no neck (tests/samples/plate.rig.json has), and constraints that the show now and then leans on.
TEST(KeeperRig, HasLinkagesOfEveryKindTwoEyesAndConstraints) {
  const Loaded loaded = keeper();
  std::set<std::size_t> kinds;
  for (const show::Mapping& mapping : loaded.rig->mappings) kinds.insert(mapping.response.index());
  EXPECT_EQ(kinds.size(), std::variant_size_v<show::Response> - 1);
  EXPECT_TRUE(loaded.rig->gaze);
  EXPECT_GE(loaded.rig->constraints.size(), 3u);
}

TEST(KeeperShow, EndsInThePoseInWhichItBegins) {
  const Loaded loaded = keeper();
  ASSERT_TRUE(loaded.show->loop);
  EXPECT_EQ(*loaded.show->loop, (show::Range{show::Time{0}, loaded.show->length}));
  ASSERT_EQ(loaded.show->layers.size(), 1u) << "what speaks";
  EXPECT_EQ(loaded.show->channels.size() + loaded.show->layers[0]->channels.size(), loaded.rig->controls.size());
  for (const show::ChannelPtr& channel : loaded.show->channels) {
    ASSERT_FALSE(channel->keys.empty()) << channel->control;
    EXPECT_EQ(channel->keys.front().value, channel->keys.back().value) << channel->control;
  }
  EXPECT_EQ(loaded.show->layers[0]->weight_curve.front().value, 0);
  EXPECT_EQ(loaded.show->layers[0]->weight_curve.back().value, 0);
}

// Where the sound needs the lips, in show time: a middle of the closure (p, b, m) or of the friction (f, v). From espeak-ng's phoneme
// events for the line in shows/README.md; the show's sound starts at 1.3 s.
struct Sound {
  double begin_s, end_s;
  const char* word;
};
constexpr Sound kClosures[] = {{4.35, 4.41, "kept"}, {4.97, 5.10, "lamp"}, {5.73, 5.79, "Point"}, {6.85, 6.90, "ships"}, {7.09, 7.12, "passed"},
                               {8.66, 8.79, "came"}, {9.65, 9.73, "morning"}, {10.60, 10.74, "somebody"}, {11.05, 11.08, "brought"}, {11.37, 11.44, "me"},
                               {11.52, 11.54, "bread"}, {12.33, 12.42, "but"}, {12.83, 12.86, "nobody"}, {13.97, 14.00, "about"}, {14.47, 14.55, "moths"}};
constexpr Sound kFrictions[] = {{1.71, 1.77, "evening"}, {2.51, 2.58, "for"}, {2.77, 2.83, "forty"}, {5.39, 5.46, "Ferrow"},
                                {7.99, 8.06, "fog"}, {9.42, 9.48, "every"}, {13.29, 13.35, "ever"}};

// The head's measures, from shows/README.md.
constexpr double kJaw_mm_per_rod_mm = 4.36, kLip_mm_per_deg = 0.5, kTeeth_mm = 1.8;

struct Lips {
  double upper_mm, lower_mm;  // above the line of the mouth at rest, in its middle
};

Lips lips(const show::Rig& rig, const double* angle_deg) {
  const auto at = [&](const char* name) { return angle_deg[perform::actuator_index(rig, name)]; };
  const auto& rod = std::get<show::SliderCrank>(rig.mappings.front().response);
  const double pulled_mm = motion::position_mm(rod, at("jaw")).value - motion::position_mm(rod, rig.actuators.front().rest_deg).value;
  return {kLip_mm_per_deg * at("lip_upper_centre"), -kLip_mm_per_deg * at("lip_lower_centre") - kJaw_mm_per_rod_mm * pulled_mm};
}

std::vector<perform::Tick> performance(const Loaded& loaded) {
  std::vector<perform::Tick> ticks;
  const auto plan = perform::compile(loaded.rig, loaded.show);
  perform::render(*plan, [&](const perform::Tick& tick) { return ticks.push_back(tick), true; });
  return ticks;
}

// mien speak found these closures by itself. Each must be there from 20 ms before to 45 ms after the sound needs it (ITU-R BT.1359-1 has 45 ms as
// the least that is noticed), and last for most of it.
TEST(KeeperShow, ShutsTheLipsWhereSpeechShutsThem) {
  const Loaded loaded = keeper();
  const auto ticks = performance(loaded);
  int within = 0, shut_within = 0;
  for (const Sound& sound : kClosures) {
    bool asked_shut = false, performed_shut = false;
    for (const perform::Tick& tick : ticks) {
      const double t = show::to_seconds(tick.time);
      const Lips asked = lips(*loaded.rig, tick.target_deg.data()), performed = lips(*loaded.rig, tick.setpoint_deg.data());
      const bool shut = performed.upper_mm <= performed.lower_mm;
      if (t >= sound.begin_s && t <= sound.end_s) ++within, shut_within += shut;
      if (t < sound.begin_s - 0.02 || t > sound.begin_s + 0.045) continue;
      asked_shut = asked_shut || asked.upper_mm <= asked.lower_mm, performed_shut = performed_shut || shut;
    }
    EXPECT_TRUE(asked_shut) << sound.word;
    EXPECT_TRUE(performed_shut) << sound.word;
  }
  EXPECT_GE(shut_within, 0.85 * within) << within;
}

TEST(KeeperShow, PutsTheLowerLipToTheTeethForFAndV) {
  const Loaded loaded = keeper();
  const auto ticks = performance(loaded);
  int within = 0, there_within = 0;
  for (const Sound& sound : kFrictions) {
    const double quarter_s = (sound.end_s - sound.begin_s) / 4;
    bool there = false;
    for (const perform::Tick& tick : ticks) {
      const double t = show::to_seconds(tick.time);
      const Lips performed = lips(*loaded.rig, tick.setpoint_deg.data());
      const bool touches = performed.lower_mm >= -kTeeth_mm && performed.upper_mm - performed.lower_mm >= 2;  // and the teeth show
      if (t >= sound.begin_s + quarter_s && t <= sound.end_s - quarter_s) ++within, there_within += touches;
      there = there || (touches && t >= sound.begin_s - 0.02 && t <= sound.begin_s + 0.045);
    }
    EXPECT_TRUE(there) << sound.word;
  }
  EXPECT_GE(there_within, 0.85 * within) << within;
}

TEST(KeeperShow, AsksForNothingThatTheServosCantFollow) {
  const Loaded loaded = keeper();
  const auto ticks = performance(loaded);
  for (std::size_t i = 0; i < loaded.rig->actuators.size(); ++i) {
    double squares = 0, most = 0;
    for (const perform::Tick& tick : ticks) {
      const double off = tick.allowed_deg[i] - tick.setpoint_deg[i];
      squares += off * off, most = std::max(most, std::abs(off));
    }
    EXPECT_LT(std::sqrt(squares / static_cast<double>(ticks.size())), 0.2) << loaded.rig->actuators[i].name;
    EXPECT_LT(most, 1.5) << loaded.rig->actuators[i].name;
  }
}

TEST(KeeperShow, KeepsEveryConstraintAndLeansOnOne) {
  const Loaded loaded = keeper();
  const auto map = perform::map_of(*loaded.rig);
  int held = 0;
  for (const perform::Tick& tick : performance(loaded)) {
    held += tick.allowed_deg != tick.target_deg;
    for (const motion::Row& row : map.rows) EXPECT_GE(row.slack(tick.setpoint_deg) * row.length, -1e-9) << show::to_seconds(tick.time) << " s";
  }
  EXPECT_GT(held, 0);
}

// Bentivoglio et al. 1997, "Analysis of blink rate patterns in normal subjects": 26 a minute in conversation. Doughty 2001 gives 10.5
// to 32.5 as the band of 95 %. Sforza et al. 2008: lids close faster than they open.
TEST(KeeperShow, BlinksAsOftenAsATalkingPersonAndClosesFasterThanItOpens) {
  const Loaded loaded = keeper();
  const show::Channel& blink = *show::find_channel(*loaded.show, "blink_left");
  int blinks = 0;
  for (std::size_t i = 1; i + 2 < blink.keys.size(); ++i) {
    if (blink.keys[i].value != 1 || blink.keys[i + 1].value != 1) continue;
    ++blinks;
    const auto closing = blink.keys[i].time - blink.keys[i - 1].time, opening = blink.keys[i + 2].time - blink.keys[i + 1].time;
    EXPECT_LT(closing, opening) << "at " << show::to_seconds(blink.keys[i].time) << " s";
  }
  const double per_minute = 60 * blinks / show::to_seconds(loaded.show->length);
  EXPECT_GE(per_minute, 10.5);
  EXPECT_LE(per_minute, 32.5);
}

std::set<perform::Cause> causes(const perform::Study& study) {
  std::set<perform::Cause> found;
  for (const perform::Shortfall& s : study.shortfalls) found.insert(s.cause);
  return found;
}

TEST(KeeperShow, IsStudiedWithoutAFinding) {
  const Loaded loaded = keeper();
  const auto plan = perform::compile(loaded.rig, loaded.show);
  for (const auto& s : perform::study(*plan).shortfalls) ADD_FAILURE() << show::to_text(perform::finding_of(*plan, s));
}

TEST(HurriedShow, HasAFindingOfEachKindAndIsMadeToArrive) {
  using enum perform::Cause;
  const auto loaded = load_show(kShows / "hurried.show.json");
  ASSERT_TRUE(loaded) << show::to_text(loaded.problem());
  const auto plan = perform::compile(loaded->rig, loaded->show);
  const auto study = perform::study(*plan);
  EXPECT_EQ(causes(study), (std::set{late, clipped, out_of_sync}));
  const auto is = [&](auto what) { return std::any_of(study.shortfalls.begin(), study.shortfalls.end(), what); };
  EXPECT_TRUE(is([](const auto& s) { return s.short_deg > 0; })) << "none turns back short";
  EXPECT_TRUE(is([](const auto& s) { return s.past; })) << "none runs past";
  EXPECT_TRUE(is([](const auto& s) { return s.late_ms > 0 && s.short_deg == 0; })) << "none arrives late";
  const auto done = perform::make_it_arrive(plan, study);
  for (const auto& s : done.study.shortfalls) ADD_FAILURE() << show::to_text(perform::finding_of(*plan, s));
  // The smile was in time: its channels are the very same.
  EXPECT_EQ(show::find_channel(done.show, "smile_left"), show::find_channel(*loaded->show, "smile_left"));
}

}  // namespace
}  // namespace mien::store
