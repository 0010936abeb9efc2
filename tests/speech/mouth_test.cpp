// Visemes against the standard, dominance against the paper, and mouths against what the demo's head can do.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "motion/curve.hpp"
#include "perform/plan.hpp"
#include "perform/render.hpp"
#include "perform/speaking.hpp"
#include "perform/study.hpp"
#include "show/text.hpp"
#include "speech/align.hpp"
#include "speech/dominance.hpp"
#include "speech/made_speech.hpp"
#include "speech/mouth.hpp"
#include "show/layer_edit.hpp"
#include "speech/place.hpp"
#include "speech/visemes.hpp"
#include "store/store.hpp"

namespace mien::speech_tests {
namespace {

using namespace speech;
using show::Time;

const std::string kShows = std::string(MIEN_SOURCE_DIR) + "/shows/";

std::vector<PhonePart> parts_of(const VisemeTable& table, std::string_view phone) { return table.phones[static_cast<std::size_t>(phone_index(phone))]; }

// ISO/IEC 14496-2, table of FBA visemes, with its example words: put bed mill; far voice; think that; tip doll; call gas; chair join she;
// sir zeal; lot not; red; car; bed; tip; top; book.
TEST(Visemes, EveryRowOfMpeg4) {
  const std::pair<int, std::vector<const char*>> rows[] = {
      {1, {"P", "B", "M"}}, {2, {"F", "V"}}, {3, {"TH", "DH"}}, {4, {"T", "D"}}, {5, {"K", "G"}}, {6, {"CH", "JH", "SH"}}, {7, {"S", "Z"}},
      {8, {"N", "L"}}, {9, {"R"}}, {10, {"AA"}}, {11, {"EH"}}, {12, {"IH"}}, {13, {"AO"}}, {14, {"UH"}}};
  const auto table = standard_phones();
  for (const auto& [viseme, phones] : rows)
    for (const char* phone : phones) EXPECT_EQ(parts_of(table, phone), (std::vector<PhonePart>{{viseme, 0.5}})) << phone;
  for (const auto phone : kPhones)
    if (phone != "HH") { EXPECT_FALSE(parts_of(table, phone).empty()) << phone; }
}

// Cohen & Massaro 1993, worked with 50 digits: segments at 50, 150 and 260 ms with targets 0, 1, 0.2, alpha 1, 0.5, 0.8, theta 0.03, 0.02, 0.025, c 1.
TEST(Dominance, TheFormulaWorkedByHand) {
  const std::vector<Segment> segments{{50, 0, {1, 0.03, 0.03, 1}, 0}, {150, 1, {0.5, 0.02, 0.02, 1}, 0}, {260, 0.2, {0.8, 0.025, 0.025, 1}, 0}};
  const std::pair<double, double> values[] = {{0, .100848385}, {50, .063914021}, {100, .443111930}, {150, .849065621}, {200, .587977174}, {260, .251273985}, {300, .261936512}};
  for (const auto& [t, value] : values) EXPECT_NEAR(blend(segments, t), value, 1e-9) << t;
}

TEST(Dominance, SidesPowersAndCores) {
  const Segment s{100, 1, {0.7, 0.02, 0.04, 2}, 0};
  EXPECT_DOUBLE_EQ(dominance_at(s, 100), 0.7);
  EXPECT_DOUBLE_EQ(dominance_at(s, 90), 0.7 * std::exp(-0.02 * 100));
  EXPECT_DOUBLE_EQ(dominance_at(s, 110), 0.7 * std::exp(-0.04 * 100));
  const Segment core{100, 1, {1, 0.02, 0.02, 1}, 30};
  EXPECT_DOUBLE_EQ(dominance_at(core, 125), 1);
  EXPECT_DOUBLE_EQ(dominance_at(core, 140), std::exp(-0.2));
  EXPECT_EQ(blend({}, 0, 0.25), 0.25);
}

TEST(Visemes, TablesReadBackTheSame_AndMistakesAreNamedByLine) {
  const auto rig = store::load_rig(kShows + "keeper.rig.json");
  ASSERT_TRUE(rig) << show::to_text(rig.problem());
  const auto general = general_visemes(*rig->rig);
  ASSERT_TRUE(general);
  const auto back = parse_visemes(write_visemes(*general));
  ASSERT_TRUE(back) << show::to_text(back.problem());
  EXPECT_EQ(*back, *general);
  EXPECT_THAT(check_visemes(*general, *rig->rig), ::testing::IsEmpty());
  const auto refusal = [](std::string_view text) { const auto t = parse_visemes(text, "v"); return t ? std::string("accepted") : show::to_text(t.problem()); };
  using ::testing::HasSubstr;
  EXPECT_THAT(refusal(""), HasSubstr("empty"));
  EXPECT_THAT(refusal("hello"), HasSubstr("line 1"));
  EXPECT_THAT(refusal("mien visemes 1\nphone QQ 1"), HasSubstr("line 2: it names no phone"));
  EXPECT_THAT(refusal("mien visemes 1\nphone P 15"), HasSubstr("'15'"));
  EXPECT_THAT(refusal("mien visemes 1\n\nviseme 1 alpha -1 : a 1"), HasSubstr("line 3: 'alpha'"));
  EXPECT_THAT(refusal("mien visemes 1\nviseme 1 : jaw_open"), HasSubstr("no value"));
  const auto typo = parse_visemes("mien visemes 1\nviseme 1 : jaw_opn 0.1 lip_close 3!");
  ASSERT_TRUE(typo);
  const auto findings = check_visemes(*typo, *rig->rig);
  ASSERT_EQ(findings.size(), 2u);
  EXPECT_THAT(findings[0].cure, HasSubstr("jaw_open"));
  EXPECT_THAT(findings[1].what, HasSubstr("outside"));
}

TEST(Visemes, TheRolesOfTheDemosMouthAreFound) {
  const auto rig = store::load_rig(kShows + "keeper.rig.json");
  ASSERT_TRUE(rig);
  const auto table = general_visemes(*rig->rig);
  ASSERT_TRUE(table);
  EXPECT_THAT(controls_of(*table), ::testing::UnorderedElementsAre("jaw_open", "lips_wide", "lips_round", "lip_close", "lip_tuck", "upper_lip_raise", "lower_lip_drop"));
  show::Rig faceless;
  EXPECT_FALSE(general_visemes(faceless));
}

// The demo's head speaks each sentence on its own; its setpoints, and the measures of shows/README.md, say where its lips are.
class SpeakingHead {
 public:
  SpeakingHead() {
    const auto loaded = store::load_rig(kShows + "keeper.rig.json");
    if (loaded) rig = loaded->rig;
    const auto own = store::read_file(kShows + "keeper.visemes.txt", 1 << 20);
    if (own) table = *parse_visemes(*own);
  }
  std::shared_ptr<const show::Rig> rig;
  VisemeTable table;

  struct Result { int closures = 0, closed = 0; std::size_t keys = 0, phones = 0; std::string missed; std::vector<Track> tracks; perform::PlanPtr plan; };
  Result speak(const Recording& recording, const Alignment& alignment, const Alignment& truth) const {
    Result result;
    result.tracks = mouth_of(alignment, table, perform::abilities_of(*rig, table), levels_db(recording));
    show::Show show;
    show.length = recording.length() + Time{1'000'000'000};
    const Time start{500'000'000};
    show = with_mouth(show, result.tracks, start, {Time{0}, show.length});
    result.plan = perform::compile(rig, std::make_shared<const show::Show>(show));
    const int upper = perform::actuator_index(*rig, "lip_upper_centre"), lower = perform::actuator_index(*rig, "lip_lower_centre");
    std::vector<double> lips_mm, lower_mm;  // how far they are apart; how far the lower one is below where they meet at rest
    perform::render(*result.plan, [&](const perform::Tick& tick) {
      std::vector<double> x(result.plan->map->axes.size());
      perform::skin_of(*result.plan->map, tick.setpoint_deg.data(), x.data());
      double rod = 0;
      for (const auto& face : result.plan->map->face)
        if (face.role == show::Role::jaw_open) rod = x[static_cast<std::size_t>(face.axis)];
      lower_mm.push_back(4.36 * rod + 0.5 * tick.setpoint_deg[static_cast<std::size_t>(lower)]);
      lips_mm.push_back(lower_mm.back() + 0.5 * tick.setpoint_deg[static_cast<std::size_t>(upper)]);
      return true;
    });
    for (const auto& phone : truth.phones) {
      const bool lips = closes_lips(phone.label), teeth = touches_teeth(phone.label);
      if (!lips && !teeth) continue;
      ++result.closures;
      const auto tick = [&](Time t) { return static_cast<std::size_t>(std::clamp<std::int64_t>((start + t).count() / 10'000'000, 0, static_cast<std::int64_t>(lips_mm.size()) - 1)); };
      double nearest = 1e9;
      for (auto n = tick(phone.range.begin - Time{20'000'000}); n <= tick(phone.range.begin + Time{45'000'000}); ++n) nearest = std::min(nearest, lips ? lips_mm[n] : lower_mm[n] - 1.8);
      if (nearest <= 0.1) ++result.closed;
      else result.missed += phone.label + "@" + show::seconds_text(phone.range.begin) + " " + show::number_text(std::round(nearest * 100) / 100) + "mm; ";
    }
    for (const auto& track : result.tracks) result.keys += track.keys.size();
    result.phones = alignment.phones.size();
    return result;
  }
};

TEST(Mouth, ClosuresStandInTheSetpointsWithinTwentyMsBeforeAndFortyFiveAfterTheSound) {
  const SpeakingHead head;
  ASSERT_TRUE(head.rig);
  int closures = 0, closed = 0, heard = 0, heard_closed = 0;
  for (int voice = 0; voice < 4; ++voice)
    for (const double stretch : {1.0, 1.3})
      for (std::size_t n = static_cast<std::size_t>(voice) % 2; n < kSentences.size(); n += 2) {
        const auto spoken = say(voice, stretch, kSentences[n]);
        if (!spoken) GTEST_SKIP() << "flite1-dev is not installed";
        const auto exact = head.speak(spoken->recording, spoken->truth, spoken->truth);
        closures += exact.closures, closed += exact.closed;
        const auto found = align(spoken->recording, spoken->text);
        ASSERT_TRUE(found) << show::to_text(found.problem());
        const auto whole = head.speak(spoken->recording, *found, spoken->truth);
        heard += whole.closures, heard_closed += whole.closed;
        EXPECT_LE(whole.keys, 3 * whole.phones * whole.tracks.size());
      }
  RecordProperty("closures", closures), RecordProperty("held_of_known_phones", closed), RecordProperty("held_of_found_phones", heard_closed);
  EXPECT_GE(static_cast<double>(closed) / closures, 0.98);
  EXPECT_GE(static_cast<double>(heard_closed) / heard, 0.98);
}

TEST(Mouth, NoPhoneHasMoreThanThreeKeysOfAChannel) {
  const SpeakingHead head;
  ASSERT_TRUE(head.rig);
  for (int voice = 0; voice < 4; ++voice) {
    const auto spoken = say(voice, 1.3, kSentences[static_cast<std::size_t>(voice)]);
    if (!spoken) GTEST_SKIP() << "flite1-dev is not installed";
    for (const auto& track : mouth_of(spoken->truth, head.table, perform::abilities_of(*head.rig, head.table)))
      for (const auto& phone : spoken->truth.phones)
        EXPECT_LE(std::count_if(track.keys.begin(), track.keys.end(), [&](const auto& key) { return phone.range.contains(key.time); }), 3) << track.control << " " << phone.label;
  }
}

TEST(Mouth, AFastLineIsArticulatedLess_NotLate) {
  const SpeakingHead head;
  ASSERT_TRUE(head.rig);
  const auto line = [](int phone_ms) {
    Alignment a;
    Time t{200'000'000};
    for (int n = 0; n < 24; ++n) {
      const Time length{phone_ms * 1'000'000LL};
      a.phones.push_back({{t, t + length}, n % 2 ? "AA" : "P", 1, -1});
      t += length;
    }
    a.length = t + Time{300'000'000};
    return a;
  };
  double widest[2] = {0, 0};
  for (const int fast : {0, 1}) {
    const auto a = line(fast ? 55 : 140);
    Recording silence;
    silence.samples.resize(static_cast<std::size_t>(show::to_seconds(a.length) * kSpeechRate_hz));
    const auto result = head.speak(silence, a, a);
    EXPECT_EQ(result.closed, result.closures) << result.missed;
    for (const auto& track : result.tracks)
      if (track.control == "jaw_open")
        for (const auto& key : track.keys)
          if (key.time > Time{400'000'000} && key.time < a.length - Time{500'000'000}) widest[fast] = std::max(widest[fast], key.value);
    const auto study = perform::study(*result.plan);
    for (const auto& s : study.shortfalls) EXPECT_LE(s.late_ms, 45) << perform::size_text(s);
  }
  EXPECT_LT(widest[1], 0.6 * widest[0]);
  EXPECT_GT(widest[1], 0.02);
}

TEST(Mouth, KeysBeginAndEndAtRest_AndOthersStay) {
  const SpeakingHead head;
  ASSERT_TRUE(head.rig);
  Alignment a;
  a.phones = {{{Time{500'000'000}, Time{600'000'000}}, "B", 1, -1}, {{Time{600'000'000}, Time{800'000'000}}, "AA", 1, -1}};
  a.length = Time{1'500'000'000};
  const auto tracks = mouth_of(a, head.table, perform::abilities_of(*head.rig, head.table));
  ASSERT_FALSE(tracks.empty());
  for (const auto& track : tracks) {
    EXPECT_NEAR(track.keys.front().value, 0, 0.05) << track.control;
    EXPECT_NEAR(track.keys.back().value, 0, 0.05) << track.control;
  }
  show::Show show;
  show.length = Time{10'000'000'000};
  show::Channel jaw{"jaw_open", {{Time{100'000'000}, 0.3}, {Time{2'500'000'000}, 0.9}, {Time{9'000'000'000}, 0.4}}};
  show.channels = {std::make_shared<const show::Channel>(jaw)};
  const show::Range line{Time{2'100'000'000}, Time{3'200'000'000}};
  auto spoken = with_mouth(show, tracks, Time{2'000'000'000}, line);
  EXPECT_EQ(*spoken.channels[0], jaw) << "the show's own keys stay as they are";
  // Under the layer's weight the line has the mouth, and nowhere else.
  auto layer = *show::find_layer(spoken, speech::kSpeechLayer);
  EXPECT_EQ(layer.blend, show::Layer::Blend::over);
  EXPECT_EQ(layer.channels.size(), tracks.size());
  const show::Channel weight{"", layer.weight_curve};
  for (const auto& [ms, is] : {std::pair{0, 0.0}, {2100, 0.0}, {2250, 1.0}, {2600, 1.0}, {3050, 1.0}, {3200, 0.0}, {9000, 0.0}}) EXPECT_EQ(motion::evaluate(weight, Time{ms * 1'000'000LL}), is) << ms;
  // Hand edits of the layer outside of the line survive when it is made again, those within don't.
  const show::Keyframe by_hand{Time{5'000'000'000}, 0.7}, within{Time{2'500'000'001}, 0.7};
  spoken = show::with_layer_channels(spoken, speech::kSpeechLayer, show::with_key(show::with_key(show::opened_layer(spoken, speech::kSpeechLayer), "jaw_open", by_hand), "jaw_open", within).channels);
  const auto again = with_mouth(spoken, tracks, Time{2'000'000'000}, line);
  const auto made = show::opened_layer(again, speech::kSpeechLayer);
  const auto* channel = show::find_channel(made, "jaw_open");
  ASSERT_TRUE(channel);
  EXPECT_EQ(channel->keys.back(), by_hand);
  EXPECT_EQ(std::count(channel->keys.begin(), channel->keys.end(), within), 0);
  EXPECT_TRUE(show::same(again, with_mouth(again, tracks, Time{2'000'000'000}, line)));
  // A second line beside the first: between them the weight goes down and comes back.
  auto longer = with_mouth(again, tracks, Time{6'000'000'000}, {Time{6'100'000'000}, Time{7'200'000'000}});
  const show::Channel both{"", show::find_layer(longer, speech::kSpeechLayer)->weight_curve};
  for (const auto& [ms, is] : {std::pair{2600, 1.0}, {4000, 0.0}, {6600, 1.0}, {8000, 0.0}}) EXPECT_EQ(motion::evaluate(both, Time{ms * 1'000'000LL}), is) << ms;
  // One that begins where the first hasn't ended: no dip where they meet.
  longer = with_mouth(again, tracks, Time{3'000'000'000}, {Time{3'100'000'000}, Time{4'200'000'000}});
  const show::Channel joined{"", show::find_layer(longer, speech::kSpeechLayer)->weight_curve};
  for (int ms = 2250; ms <= 3000; ms += 10) EXPECT_EQ(motion::evaluate(joined, Time{ms * 1'000'000LL}), 1) << ms;
  EXPECT_EQ(motion::evaluate(joined, Time{4'000'000'000}), 1);
  EXPECT_TRUE(mouth_of({}, head.table, perform::abilities_of(*head.rig, head.table)).empty());
}

}  // namespace
}  // namespace mien::speech_tests
