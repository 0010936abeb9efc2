#include "store/document.hpp"

#include <cereal/archives/json.hpp>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdio>
#include <sstream>

#include "show/text.hpp"
#include "store/csv.hpp"
#include "store/samples.hpp"
#include "store/scan.hpp"
#include "support/folder.hpp"
#include "support/sample.hpp"

namespace mien::store {
namespace {

using ::testing::HasSubstr;
using namespace std::string_view_literals;

TEST(ShowDocument, ReadsBackTheSame) {
  support::Random random(31);
  for (int i = 0; i < 60; ++i) {
    const show::Rig rig = support::rig(random, support::whole(random, 1, 20));
    show::Show show = support::show(random, rig);
    if (i % 2) show.sounds.push_back({"a \"b\".wav", show::Time{1}, show::Time{2'000'000'001}, -3.5, show::Time{i % 3 ? 0 : 1'250'000'001}});
    const std::string text = write_document(show);
    const auto read = read_show(text, "x");
    ASSERT_TRUE(read) << to_text(read.problem()) << text;
    ASSERT_TRUE(same(read->content, show)) << text;
    ASSERT_TRUE(read->notes.empty());
    ASSERT_EQ(write_document(read->content), text);
  }
}

// The sample keeps what such files look like; one without a trimmed end is as it ever was, so that a Mien from before reads it.
TEST(ShowDocument, AnEndThatIsLeftOutMakesItVersionFour_AndNothingElseDoes) {
  const auto read = read_show(support::read(kSamples / "trimmed.show.json"), "x");
  ASSERT_TRUE(read) << to_text(read.problem());
  ASSERT_EQ(read->content.sounds.size(), 2u);
  EXPECT_EQ(read->content.sounds[0], (show::Sound{"line.wav", show::Time{1'500'000'000}, show::Time{250'000'000}, -3, show::Time{750'000'000}}));
  EXPECT_EQ(read->content.sounds[1].trim_end, show::Time{0});
  EXPECT_EQ(write_document(read->content), support::read(kSamples / "trimmed.show.json"));
  show::Show whole = read->content;
  whole.sounds[0].trim_end = show::Time{0};
  EXPECT_NE(write_document(whole).find("\"version\": 1"), std::string::npos);
  EXPECT_EQ(write_document(whole).find("trim_end_s"), std::string::npos);
  const auto wrong = read_show(replaced(support::read(kSamples / "trimmed.show.json"), "\"0.75\"", "\"soon\""), "x");
  ASSERT_FALSE(wrong);
  EXPECT_NE(to_text(wrong.problem()).find("sound 1 (counted from 1), trim_end_s: 'soon' is not a time"), std::string::npos) << to_text(wrong.problem());
}

TEST(RigDocument, ReadsBackTheSame) {
  support::Random random(32);
  for (int i = 0; i < 60; ++i) {
    show::Rig rig = support::rig(random, support::whole(random, 1, show::kMaxActuators));
    if (i % 2) support::electrify(random, rig);
    const auto read = read_rig(write_document(rig), "x");
    ASSERT_TRUE(read) << to_text(read.problem());
    ASSERT_EQ(read->content, rig);
  }
}

TEST(Documents, OfNothingReadBackTheSame) {
  const auto show = read_show(write_document(show::Show{}), "x");
  ASSERT_TRUE(show) << to_text(show.problem());
  EXPECT_TRUE(same(show->content, show::Show{}));
  const auto rig = read_rig(write_document(show::Rig{}), "x");
  ASSERT_TRUE(rig) << to_text(rig.problem());
  EXPECT_EQ(rig->content, show::Rig{});
}

// The files in tests/samples are the format: a change of what is written shows here, and asks for a new version.
TEST(Documents, AreWrittenAsTheSamplesAre) {
  const std::string show = support::read(kSamples / "small.show.json"), rig = support::read(kSamples / "small.rig.json");
  EXPECT_EQ(write_document(read_show(show, "x")->content), show);
  EXPECT_EQ(write_document(read_rig(rig, "x")->content), rig);
  const std::string linkages = support::read(kSamples / "linkages.rig.json");
  EXPECT_EQ(write_document(read_rig(linkages, "x")->content), linkages);
  const std::string plate = support::read(kSamples / "plate.rig.json");
  EXPECT_EQ(write_document(read_rig(plate, "x")->content), plate);
  const std::string power = support::read(kSamples / "power.rig.json");
  EXPECT_EQ(write_document(read_rig(power, "x")->content), power);
}

TEST(RigDocument, HasLinkagesEyesClosingsAndConstraints) {
  const show::Rig rig = read_rig(support::read(kSamples / "linkages.rig.json"), "x")->content;
  ASSERT_EQ(rig.mappings.size(), 5u);
  EXPECT_EQ(std::get<show::FourBar>(rig.mappings[0].response), (show::FourBar{20, 60, 50, 70, false, 82}));
  EXPECT_EQ(rig.mappings[0].axes[0].closing, (show::Closing{"blink", -5.5}));
  EXPECT_EQ(rig.mappings[1].axes[0].closing, std::nullopt);
  EXPECT_EQ(std::get<show::Measured>(rig.mappings[2].response).rows[1], (show::Measured::Row{-12, -15}));
  EXPECT_EQ(std::get<show::SliderCrank>(rig.mappings[3].response), (show::SliderCrank{12, 40, 2.5, false, -110}));
  EXPECT_EQ(std::get<show::Differential>(rig.mappings[4].response), (show::Differential{1, 1.5}));
  EXPECT_EQ(rig.gaze, (show::Gaze{"gaze_yaw", "gaze_pitch", "gaze_distance", 63, "eye_left", "eye_right"}));
  ASSERT_EQ(rig.constraints.size(), 1u);
  EXPECT_EQ(rig.constraints[0], (show::Constraint{"the lids keep apart", {{"lid_upper", 1}, {"lid_lower", -1}}, 4}));
}

TEST(RigDocument, ATwoRodPlateMakesItVersionTwo_AndNothingElseDoes) {
  show::Rig rig = read_rig(support::read(kSamples / "plate.rig.json"), "x")->content;
  ASSERT_EQ(rig.mappings.size(), 2u);
  EXPECT_EQ(std::get<show::TwoRodPlate>(rig.mappings[0].response), (show::TwoRodPlate{30, 40, 20, 60, false, 0}));
  EXPECT_EQ(std::get<show::TwoRodPlate>(rig.mappings[1].response), (show::TwoRodPlate{22, -35, 14, 48, true, -4.5}));
  EXPECT_NE(write_document(rig).find("\"version\": 2"), std::string::npos);
  for (auto& m : rig.mappings) m.response = show::Differential{};
  EXPECT_NE(write_document(rig).find("\"version\": 1"), std::string::npos);
}

TEST(RigDocument, HasServosAndWhatFeedsThem) {
  const show::Rig rig = read_rig(support::read(kSamples / "power.rig.json"), "x")->content;
  ASSERT_EQ(rig.servos.size(), 2u);
  show::ServoKind micro{"micro", {}};
  micro.figures.voltage_v = 4.8, micro.figures.no_load_deg_s = 600, micro.figures.stall_torque_n_m = 0.15, micro.figures.stall_current_a = 0.65;
  EXPECT_EQ(rig.servos[0], micro) << "what is left out is usual";
  EXPECT_EQ(rig.servos[1].figures.inertia_kg_m2, 0.001);
  ASSERT_EQ(rig.boards[0].rails.size(), 2u);
  EXPECT_EQ(rig.boards[0].rails[0], (show::Rail{"lips", 10, 6, 8, 7.5, show::Wire{18, 0, 0.8, 35}, true}));
  EXPECT_EQ(rig.boards[0].rails[1].wire, (show::Wire{0, 1.5, 0.8, 20}));
  EXPECT_EQ(rig.actuators[0].servo, "micro");
  EXPECT_EQ(rig.actuators[0].skin_n_m_per_deg, 0.002);
  EXPECT_EQ(rig.actuators[1].load_kg_m2, 0.0004);
}

// Files from before there were any say nothing of gaze, closings and constraints, and a save adds nothing to them.
TEST(RigDocument, MayLackWhatNotEveryHeadHas) {
  const show::Rig rig = read_rig(support::read(kSamples / "small.rig.json"), "x")->content;
  EXPECT_FALSE(rig.gaze);
  EXPECT_TRUE(rig.constraints.empty());
  EXPECT_TRUE(rig.servos.empty());
  EXPECT_EQ(rig.actuators[0].servo, "");
  EXPECT_FALSE(rig.boards[0].rails[0].wire);
  EXPECT_FALSE(rig.boards[0].rails[0].governed);
}

TEST(RigDocument, HasToleranceAndSyncOnlyWhereTheyDifferFromTheUsual) {
  const std::string usual = support::read(kSamples / "small.rig.json");
  for (const char* name : {"tolerance_deg", "tolerance_ms", "link_latency_ms", "servo_response_ms"}) EXPECT_EQ(usual.find(name), std::string::npos);
  show::Rig rig = read_rig(usual, "x")->content;
  EXPECT_EQ(rig.tolerance_deg, 1);
  EXPECT_EQ(rig.tolerance_ms, 20);
  rig.tolerance_deg = 2.5, rig.tolerance_ms = 30, rig.link_latency_ms = 4, rig.actuators.back().servo_response_ms = 60;
  const std::string text = write_document(rig);
  const auto again = read_rig(text, "x");
  ASSERT_TRUE(again) << to_text(again.problem());
  EXPECT_EQ(again->content, rig);
  const auto bad = read_rig(replaced(text, "\"servo_response_ms\": 60.0", "\"servo_response_ms\": \"x\""), "x");
  ASSERT_FALSE(bad);
  EXPECT_THAT(bad.problem().place, HasSubstr("servo_response_ms"));
  // In a place of its own, since a person wrote it there.
  EXPECT_EQ(read_rig(replaced(usual, "\"tick_hz\"", "\"tolerance_ms\": 50,\n  \"tick_hz\""), "x")->content.tolerance_ms, 50);
}

// The bulk of a show passes by the library on its way; what comes out must be what the library alone would write.
TEST(ShowDocument, IsWhatAPlainArchiveWouldWrite) {
  const std::string text = support::read(kSamples / "small.show.json");
  std::istringstream stream(text);
  cereal::JSONInputArchive archive(stream);
  std::string format;
  archive(cereal::make_nvp("format", format));
  EXPECT_EQ(format, "mien show");
  archive.setNextName("channels");
  archive.startNode();
  archive.startNode();
  archive.setNextName("keys");
  archive.startNode();
  cereal::size_type size = 0;
  archive.loadSize(size);
  ASSERT_EQ(size, 6u);
  std::string key;
  archive.loadValue(key);
  EXPECT_EQ(key, "0 1 hold");
}

TEST(ShowDocument, OfAMovedKeyDiffersInOneLine) {
  support::Random random(33);
  const show::Rig rig = support::rig(random);
  show::Show show = support::show(random, rig);
  show.channels.push_back(support::channel(random, {"moved", "", "", -1, 1, 0}, show.length, 50));
  support::Folder folder;
  support::write(folder / "before", write_document(show));
  show::Channel moved = *show.channels.back();
  moved.keys[20].time += show::Time{1};
  moved.keys[20].value += 0.125;
  show.channels.back() = std::make_shared<const show::Channel>(moved);
  support::write(folder / "after", write_document(show));

  const std::string command = "git diff --no-index --numstat '" + (folder / "before").string() + "' '" + (folder / "after").string() + "'";
  FILE* git = ::popen(command.c_str(), "r");
  ASSERT_NE(git, nullptr);
  int added = 0, removed = 0;
  const int found = std::fscanf(git, "%d %d", &added, &removed);
  ::pclose(git);
  ASSERT_EQ(found, 2) << "git is needed for this test";
  EXPECT_EQ(added, 1);
  EXPECT_EQ(removed, 1);
}

TEST(Version0, ShowIsBroughtUpToDate) {
  const auto read = read_show(support::read(kSamples / "version0.show.json"), "old");
  ASSERT_TRUE(read) << to_text(read.problem());
  const show::Show& show = read->content;
  EXPECT_EQ(show.name, "Old morning");
  EXPECT_EQ(show.length, std::chrono::seconds(4));
  EXPECT_EQ(show.sounds, (std::vector<show::Sound>{{"old_morning.wav"}}));
  EXPECT_EQ(show.markers, (std::vector<show::Marker>{{std::chrono::milliseconds(1500), "first word"}}));
  ASSERT_EQ(show.channels.size(), 2u);
  EXPECT_EQ(show.channels[0]->control, "blink");
  EXPECT_EQ(show.channels[0]->keys[2], (show::Keyframe{std::chrono::milliseconds(2345), 0.5, *show::parse_easing("bezier(0.3 0 0.7 1)")}));
  ASSERT_EQ(read->notes.size(), 1u);
  EXPECT_THAT(to_text(read->notes[0]), HasSubstr("was written as version 0"));
  EXPECT_TRUE(same(read_show(write_document(show), "new")->content, show));
}

TEST(Version0, RigIsBroughtUpToDate) {
  const auto read = read_rig(support::read(kSamples / "version0.rig.json"), "old");
  ASSERT_TRUE(read) << to_text(read.problem());
  const show::Rig& rig = read->content;
  ASSERT_EQ(rig.controls.size(), 2u);
  EXPECT_EQ(rig.controls[0].group, "eyes");
  EXPECT_EQ(rig.controls[1].group, "mouth");
  EXPECT_TRUE(rig.actuators[0].reversed);
  EXPECT_EQ(rig.mappings[0].axes[0], (show::Axis{"lid_upper", 20, {{"blink", -50}}}));
  EXPECT_EQ(rig.tick_hz, 100);
  EXPECT_EQ(read_rig(write_document(rig), "new")->content, rig);
}

// RFC 8259 section 6: a number may have any digits and exponent. The JSON library below has no defined result for a long zero,
// so none may reach it; the fuzzers' regressions hold such files against the sanitizer.
TEST(ShowDocument, ZerosWrittenAtLengthAreZeros) {
  show::Show show;
  show.sounds.push_back({"a.wav", show::Time{0}, show::Time{0}, -3.5});
  for (const std::string zero : {"0e300", "-0E-300", "0.000000000000000000000000000000", "0.0e+99"}) {
    const std::string text = replaced(write_document(show), "-3.5", zero);
    const auto read = read_show(text, "x");
    ASSERT_TRUE(read) << to_text(read.problem());
    EXPECT_EQ(read->content.sounds[0].gain_db, 0) << zero;
    const auto scanned = scan(text, "x");
    EXPECT_EQ(scanned->document, replaced(text, zero, zero[0] == '-' ? "-0.0" : "0.0"));
  }
}

// The first rounds to 2^64 in twenty digits, which cereal's JSON library takes for 0; the others show that as many digits elsewhere change nothing.
TEST(ShowDocument, NumbersWithMoreDigitsThanADoubleHoldsAreRounded) {
  show::Show show;
  show.sounds.push_back({"a.wav", show::Time{0}, show::Time{0}, -3.5});
  const std::pair<const char*, double> all[] = {{"0.184467440737095516155", 0.184467440737095516155},
                                                {"-1.8446744073709551615999e-1", -0.18446744073709551615999},
                                                {"0.1000000000000000055511151231257827", 0.1},
                                                {"0.00000000000000000000000000000000001", 1e-35}};
  for (const auto& [written, meant] : all) {
    const auto read = read_show(replaced(write_document(show), "-3.5", written), "x");
    ASSERT_TRUE(read) << to_text(read.problem());
    EXPECT_EQ(read->content.sounds[0].gain_db, meant) << written;
  }
}

// Each: what is put in place of what in the small show, and words that the finding must have.
struct DocumentBreak {
  const char* from;
  const char* to;
  const char* words;
};

const DocumentBreak kBroken[] = {
    {"\"version\": 1", "\"version\": 5", "version: is 5, from a newer Mien; this one reads up to 4. Update Mien."},
    {"\"version\": 1", "\"version\": -1", "version: is -1"},
    {"\"version\": 1", "\"version\": \"1\"", "version: is not a whole number"},
    {"\"version\": 1", "\"version\": 99999999999", "version: is not a whole number"},
    {"\"version\": 1,", "", "version: is missing"},
    {"mien show", "mien rig", "format: is 'mien rig', not 'mien show'"},
    {"\"format\": \"mien show\"", "\"format\": 7", "format: is not a text"},
    {"\"4\"", "4", "length_s: is not a time in quotes"},
    {"\"4\"", "\"four\"", "length_s: 'four' is not a time"},
    {"\"4\"", "\"NaN\"", "length_s: 'NaN' is not a time"},
    {"\"4\"", "NaN", "line 6: 'NaN' is not a value"},
    {"\"4\"", "Infinity", "line 6: 'Infinity' is not a value"},
    {"\"4\"", "1e999", "line 6: the number 1e999 is too large, or too small"},
    {"\"4\"", "007", "line 6: there is a number that begins with 0"},
    {"\"4\"", "1.", "line 6: there is a number that is not complete"},
    {"\"4\"", "-", "line 6: there is a number that is not complete"},
    {"\"0.5 3.5\"", "\"0.5\"", "loop_s: '0.5' is not a loop"},
    {"\"0.5 3.5\"", "\"0.5 x\"", "loop_s: 'x' is not a time"},
    {"\"1.5 first word\"", "\"first word\"", "a.show.json: marker 2 (counted from 1): 'first' is not a time"},
    {"\"1.5 first word\"", "{}", "marker 2 (counted from 1): is not a marker in quotes"},
    {"\"sounds\": []", "\"sounds\": {}", "sounds: is not a list"},
    {"\"sounds\": []", "\"sounds\": [3]", "sound 1 (counted from 1): is not a group of fields"},
    {"\"sounds\": []", "\"sounds\": [{\"file\": \"a\"}]", "sound 1 (counted from 1), start_s: is missing"},
    {"\"0.4 1 ease-out\"", "\"0.4 1 ease-up\"", "line 18: '0.4 1 ease-up' is not a key. Write time in seconds, value and easing"},
    {"\"0.4 1 ease-out\"", "\"0.4 nan hold\"", "line 18: '0.4 nan hold' is not a key"},
    {"\"0.4 1 ease-out\"", "\"inf 1 hold\"", "line 18: 'inf 1 hold' is not a key"},
    {"\"0.4 1 ease-out\"", "\"0.4 1\"", "line 18: '0.4 1' is not a key"},
    {"\"0.4 1 ease-out\"", "\"0.4\\t1 hold\"", "line 18: '0.4\\t1 hold' is not a key"},
    {"\"0.4 1 ease-out\"", "\"\x01\xff\"", "line 18: '?" "?' is not a key"},
    {"\"0.4 1 ease-out\"", "0.4", "line 18: there is no key in quotes where one is due"},
    {"\"0 1 hold\"", "0", "a.show.json: channel 'blink', keys: is not a list of keys"},
    {"\"keys\": []", "\"keys\": [0]", "channel 'smile', keys: is not a list of keys"},
    {"\"keys\": []", "\"keys\": \"0\"", "channel 'smile', keys: is not a list of keys"},
    {"\"keys\": []", "\"keys\": {}", "channel 'smile', keys: is not a list of keys"},
    {"\"keys\": []", "\"keys\": \"\\u00010\"", "line 45: there is a control character in a text"},
    {"\"keys\": []", "\"kays\": []", "channel 'smile', keys: is missing"},
    {"\"control\": \"smile\"", "\"control\": null", "channel 4 (counted from 1), control: is not a text"},
    {"\"channels\"", "\"chanels\"", "channels: is missing"},
    {"\"name\": \"Good", "\"format\": \"Good", "line 4: the field 'format' is there twice"},
    {"Good morning", "Good\nmorning", "line 4: there is a control character (byte 10) in a text"},
    {"Good morning", "Good\\u0007morning", "line 4: there is a control character in a text"},
    {"Good morning", "Good\\nmorning", "line 4: there is a control character in a text"},
    {"Good morning", "Good\\ud800morning", "line 4: there is half a character"},
    {"Good morning", "Good\\udc00morning", "line 4: there is half a character"},
    {"Good morning", "Good\\u12x4", "line 4: there is a '\\u' in a text without four hexadecimal digits"},
    {"Good morning", "Good\\qmorning", "line 4: there is a '\\' in a text that means nothing"},
    {"Good morning", "Good\xC3(", "line 4: there is a text that is not UTF-8"},
    {"Good morning", "\xC0\xAF", "not UTF-8"},
    {"Good morning", "\xED\xA0\x80", "not UTF-8"},
    {"Good morning", "\xF4\x90\x80\x80", "not UTF-8"},
    {"Good morning", "\xFF", "not UTF-8"},
    {"\"Good morning\",", "\"Good morning\"", "line 5: there is no ',' or '}' where one is due"},
    {"\"name\":", "\"name\"", "line 4: there is no ':' after the name of a field"},
    {"\"name\":", "name:", "line 4: there is no name of a field in quotes where one is due"},
    {"{", "", "line 2: the file does not begin with '{'"},
    {"{", "[{", "line 1: the file does not begin with '{'"},
};

TEST(BrokenShow, IsToldWhereAndWhatToDo) {
  const std::string sample = support::read(kSamples / "small.show.json");
  for (const DocumentBreak& broken : kBroken) {
    const auto read = read_show(replaced(sample, broken.from, broken.to), "a.show.json");
    ASSERT_FALSE(read) << broken.to << " was taken";
    EXPECT_THAT(to_text(read.problem()), HasSubstr(broken.words));
    EXPECT_EQ(read.problem().file, "a.show.json");
    EXPECT_FALSE(read.problem().cure.empty()) << broken.words;
  }
}

const DocumentBreak kBrokenRig[] = {
    {"\"name\": \"Pebble\"", "\"name\": [\"Pebble\"]", "name: is not a text"},
    {"\"tick_hz\": 100", "\"tick_hz\": 100.5", "tick_hz: is not a whole number"},
    {"\"velocity_deg_s\": 500.0", "\"velocity_deg_s\": \"fast\"", "a.rig.json: actuator 'lids', velocity_deg_s: is not a number"},
    {"\"velocity_deg_s\": 500.0", "\"velocity_deg\": 500.0", "a.rig.json: actuator 'lids', velocity_deg_s: is missing"},
    {"\"reversed\": true", "\"reversed\": 1", "actuator 'eyes_yaw', reversed: is not true or false"},
    {"\"output\": 0", "\"output\": null", "actuator 'lids', output: is not a whole number"},
    {"\"-50 blink\"", "\"blink\"", "mapping 1 (counted from 1), axis 1 (counted from 1), term 1 (counted from 1): 'blink' is not a term"},
    {"\"-50 blink\"", "\"nan blink\"", "'nan blink' is not a term"},
    {"\"-50 blink\"", "-50", "term 1 (counted from 1): is not a text in quotes"},
    {"\"kind\": \"straight\"", "\"kind\": \"bent\"", "response, kind: 'bent' is not a response. Known: 'straight', 'measured', 'slider-crank', 'four-bar', 'differential', 'two-rod-plate'."},
    {"\"watchdog\": {", "\"watchdog\": [], \"dogwatch\": {", "watchdog, hold_after_ms: is missing"},
    {"\"watchdog\": {", "\"watchdog\": 3, \"dogwatch\": {", "watchdog: is not a group of fields"},
};

TEST(BrokenRig, IsToldWhereAndWhatToDo) {
  const std::string sample = support::read(kSamples / "small.rig.json");
  for (const DocumentBreak& broken : kBrokenRig) {
    const auto read = read_rig(replaced(sample, broken.from, broken.to), "a.rig.json");
    ASSERT_FALSE(read) << broken.to << " was taken";
    EXPECT_THAT(to_text(read.problem()), HasSubstr(broken.words));
    EXPECT_FALSE(read.problem().cure.empty()) << broken.words;
  }
}

const DocumentBreak kBrokenLinkages[] = {
    {"\"horn_mm\": 12.0", "\"horn\": 12.0", "mapping 4 (counted from 1), response, horn_mm: is missing"},
    {"\"horn_mm\": 12.0", "\"horn_mm\": \"12\"", "response, horn_mm: is not a number"},
    {"\"crossed\": false", "\"crossed\": 0", "response, crossed: is not true or false"},
    {"\"-12 -15\"", "\"-12\"", "mapping 3 (counted from 1), response, row 2 (counted from 1): '-12' is not a measured row"},
    {"\"-12 -15\"", "\"-12 nan\"", "'-12 nan' is not a measured row"},
    {"\"-12 -15\"", "-12", "row 2 (counted from 1): is not a text in quotes"},
    {"\"value\": -5.5", "\"values\": -5.5", "axis 1 (counted from 1), closing, value: is missing"},
    {"\"closing\": {", "\"closing\": [], \"opening\": {", "closing, control: is missing"},
    {"\"ipd_mm\": 63.0,", "", "gaze, ipd_mm: is missing"},
    {"\"gaze\": {", "\"gaze\": 4, \"graze\": {", "gaze: is not a group of fields"},
    {"\"constraints\": [", "\"constraints\": 7, \"constrains\": [", "constraints: is not a list"},
    {"\"1 lid_upper\"", "\"lid_upper\"", "constraint 'the lids keep apart', term 1 (counted from 1): 'lid_upper' is not a term. Write weight and actuator"},
    {"\"at_least_deg\": 4.0", "\"at_least\": 4.0", "constraint 'the lids keep apart', at_least_deg: is missing"},
};

const DocumentBreak kBrokenPlates[] = {
    {"\"arm_mm\": 40.0", "\"arm\": 40.0", "mapping 1 (counted from 1), response, arm_mm: is missing"},
    {"\"rod_mm\": 60.0", "\"rod_mm\": NaN", "line 138: 'NaN' is not a value"},
    {"\"half_span_mm\": 22.0", "\"half_span_mm\": \"22\"", "mapping 2 (counted from 1), response, half_span_mm: is not a number"},
    {"\"horns_ahead\": true", "\"horns_ahead\": 1", "mapping 2 (counted from 1), response, horns_ahead: is not true or false"},
    {"\"horn_at_zero_deg\": -4.5", "\"horn_at_zero_deg\": null", "mapping 2 (counted from 1), response, horn_at_zero_deg: is not a number"},
    {"\"version\": 2", "\"version\": 3", "version: is 3, from a newer Mien; this one reads up to 2"},
};

TEST(BrokenRig, IsToldAboutTwoRodPlatesToo) {
  const std::string sample = support::read(kSamples / "plate.rig.json");
  for (const DocumentBreak& broken : kBrokenPlates) {
    const auto read = read_rig(replaced(sample, broken.from, broken.to), "a.rig.json");
    ASSERT_FALSE(read) << broken.to << " was taken";
    EXPECT_THAT(to_text(read.problem()), HasSubstr(broken.words));
    EXPECT_FALSE(read.problem().cure.empty()) << broken.words;
  }
}

TEST(BrokenRig, IsToldAboutLinkagesToo) {
  const std::string sample = support::read(kSamples / "linkages.rig.json");
  for (const DocumentBreak& broken : kBrokenLinkages) {
    const auto read = read_rig(replaced(sample, broken.from, broken.to), "a.rig.json");
    ASSERT_FALSE(read) << broken.to << " was taken";
    EXPECT_THAT(to_text(read.problem()), HasSubstr(broken.words));
    EXPECT_FALSE(read.problem().cure.empty()) << broken.words;
  }
}

TEST(Documents, CutAtAnyByteAreToldToBeCut) {
  for (const char* name : {"small.show.json", "layers.show.json", "small.rig.json", "linkages.rig.json", "version0.show.json", "version0.rig.json"}) {
    const std::string sample = support::read(kSamples / name);
    const std::size_t whole = sample.rfind('}') + 1;
    for (std::size_t size = 0; size < whole; ++size) {
      const std::string_view cut = std::string_view(sample).substr(0, size);
      const auto problem = says_rig(sample) ? read_rig(cut, name).problem() : read_show(cut, name).problem();
      ASSERT_THAT(problem.what, HasSubstr("the file ends too early")) << name << " cut to " << size << " bytes";
    }
  }
}

TEST(Documents, WithAnyByteChangedAreReadOrRefusedButNeverHarm) {
  support::Random random(34);
  for (const char* name : {"small.show.json", "layers.show.json", "small.rig.json", "linkages.rig.json", "version0.show.json", "version0.rig.json"}) {
    const std::string sample = support::read(kSamples / name);
    for (int i = 0; i < 4'000; ++i) {
      std::string text = sample;
      for (int changes = support::whole(random, 1, 3); changes > 0; --changes) {
        static constexpr auto kBytes = "{}[]\",:\\u0019-+.eE \n\0\x01\x7f\x80\xc3\xed\xff truefalsn"sv;
        const auto at = static_cast<std::size_t>(support::whole(random, 0, static_cast<int>(text.size()) - 1));
        text[at] = support::chance(random, 0.7) ? kBytes[random() % kBytes.size()] : static_cast<char>(support::whole(random, 0, 255));
      }
      if (says_rig(sample)) {
        const auto read = read_rig(text, name);
        ASSERT_TRUE(read || !read.problem().what.empty());
      } else {
        const auto read = read_show(text, name);
        ASSERT_TRUE(read || !read.problem().what.empty());
      }
    }
  }
}

// A finding of the scan has a line; one that comes from the library's own parser would mean that the scan let something past.
TEST(Scan, LeavesNothingForTheLibraryToRefuse) {
  support::Random random(35);
  const std::string sample = support::read(kSamples / "small.show.json");
  for (int i = 0; i < 4'000; ++i) {
    std::string text = sample;
    text[static_cast<std::size_t>(support::whole(random, 0, static_cast<int>(text.size()) - 1))] = static_cast<char>(support::whole(random, 0, 255));
    const auto read = read_show(text, "x");
    ASSERT_THAT(read ? "" : read.problem().what, ::testing::Not(HasSubstr("can't be read"))) << text;
  }
}

TEST(Scan, RefusesWhatIsNestedTooDeep) {
  for (const char* open : {"[", "{\"a\":"}) {
    std::string deep = "{\"format\": ";
    for (int i = 0; i < 1'000'000; ++i) deep += open;
    EXPECT_THAT(scan(deep, "x").problem().what, HasSubstr("nested more than 16 deep"));
  }
}

TEST(Scan, RefusesAbsurdCounts) {
  std::string values = "{\"a\": [0";
  for (std::size_t i = 0; i < kMostValues; ++i) values += ",0";
  EXPECT_THAT(scan(values + "]}", "x").problem().what, HasSubstr("more than 5000000 values"));
  std::string fields = "{\"a\":0";
  for (std::size_t i = 0; i < kMostFields; ++i) fields += ",\"b" + std::to_string(i) + "\":0";
  EXPECT_THAT(scan(fields + "}", "x").problem().what, HasSubstr("more than 64 fields together"));
}

TEST(Scan, TakesOutKeyRowsAndLeavesAMark) {
  const auto scanned = scan("{\"keys\": [ \"1 2 hold\" , \"3 4 linear\" ], \"b\": {\"keys\" : []}, \"c\": {\"keys\": [1]}}", "x");
  ASSERT_TRUE(scanned) << to_text(scanned.problem());
  EXPECT_EQ(scanned->document, "{\"keys\": \"\\u00010\", \"b\": {\"keys\" : \"\\u00011\"}, \"c\": {\"keys\": [1]}}");
  ASSERT_EQ(scanned->keys.size(), 2u);
  EXPECT_EQ(scanned->keys[0], (std::vector<show::Keyframe>{{std::chrono::seconds(1), 2, show::kHold}, {std::chrono::seconds(3), 4, show::kLinear}}));
}

TEST(Scan, ShowsUnknownTextHarmlessly) {
  EXPECT_EQ(shown("a\x1b[31m\xff"), "a?[31m?");
  EXPECT_EQ(shown(std::string(100, 'x')), std::string(40, 'x') + "...");
}

}  // namespace
}  // namespace mien::store
