#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "show/layer_edit.hpp"
#include "show/validate.hpp"

namespace mien::show {
namespace {

using std::chrono::milliseconds;
using ::testing::HasSubstr;

Rig mouth_rig() {
  Rig rig;
  rig.groups = {{"mouth"}};
  rig.controls = {{"open", "mouth", "1", 0, 1, 0}, {"smile", "mouth", "1", -1, 1, 0}};
  rig.mappings = {{{{"jaw_open", 0, {{"open", 10}}}}, Straight{}, {"jaw"}}};
  return rig;
}

struct Parts {
  Pose pose{"glad", {6, 12}, "mouth", {{"smile", 0.8}}};
  Clip clip{"chew", milliseconds(500), {std::make_shared<const Channel>(Channel{"open", {{milliseconds(0), 0.1}, {milliseconds(500), 0.4}}})}};
  Layer layer;
  Parts() {
    layer.name = "life";
    layer.mask = {"mouth", "smile"};
    layer.placements = {{"chew", milliseconds(100)}};
    layer.idle = IdleLife{};
  }
  Show show() const {
    Show show;
    show.name = "s", show.rig_file = "r", show.length = std::chrono::seconds(5);
    show.poses = {std::make_shared<const Pose>(pose)}, show.clips = {std::make_shared<const Clip>(clip)}, show.layers = {std::make_shared<const Layer>(layer)};
    return show;
  }
};

TEST(ValidateLayers, HasNothingToSayAgainstSoundOnes) {
  for (const Finding& finding : validate(Parts().show(), mouth_rig(), "f")) ADD_FAILURE() << to_text(finding);
}

struct Wrong {
  std::function<void(Parts&)> make;
  Severity severity;
  const char* words;
};

TEST(ValidateLayers, NamesEachWayInWhichTheyCanBeWrong) {
  const double nan = std::nan("");
  const auto placed = [](auto change) { return [change](Parts& p) { change(p.layer.placements[0]); }; };
  const Severity error = Severity::error, warning = Severity::warning;
  const Wrong wrongs[] = {
      {[](Parts& p) { p.pose.name = ""; }, error, "pose 1 (counted from 1): has no name"},
      {[](Parts& p) { p.pose.values.clear(); }, warning, "pose 'glad': has no values"},
      {[](Parts& p) { p.pose.group = "mouht"; }, error, "there is no group 'mouht'. Did you mean 'mouth'?"},
      {[](Parts& p) { p.pose.action_units = {3}; }, warning, "there is no action unit 3"},
      {[](Parts& p) { p.pose.values.push_back({"smile", 0.1}); }, error, "has more than one value"},
      {[](Parts& p) { p.pose.values[0].control = "smlie"; }, error, "no control 'smlie'. Did you mean 'smile'?"},
      {[&](Parts& p) { p.pose.values[0].value = nan; }, error, "pose 'glad', control 'smile': is not a finite number"},
      {[](Parts& p) { p.pose.values[0].value = 2; }, warning, "beyond the control's range -1 to 1"},
      {[](Parts& p) { p.clip.name = ""; }, error, "clip 1 (counted from 1): has no name"},
      {[](Parts& p) { p.clip.length = Time{0}; }, error, "clip 'chew', length: is 0 s"},
      {[](Parts& p) { p.clip.length = milliseconds(400); }, warning, "1 key lies outside the clip, which is 0.4 s long"},
      {[](Parts& p) { p.clip.channels.clear(); }, warning, "clip 'chew': has no channels"},
      {[](Parts& p) { p.clip.channels.push_back(p.clip.channels[0]); }, error, "clip 'chew', channel 'open': there is more than one channel"},
      {[](Parts& p) { p.clip.channels = {std::make_shared<const Channel>(Channel{"opne", {}})}; }, error, "clip 'chew', channel 'opne': the rig has no control 'opne'"},
      {[](Parts& p) { p.layer.name = ""; }, error, "layer 1 (counted from 1): has no name"},
      {[](Parts& p) { p.layer.weight = -1; }, error, "layer 'life', weight: is -1"},
      {[&](Parts& p) { p.layer.weight = nan; }, error, "layer 'life', weight: is nan"},
      {[](Parts& p) { p.layer.weight = 2; }, warning, "on a layer that overrides"},
      {[](Parts& p) { p.layer.blend = Layer::Blend::add, p.layer.weight = 5; }, error, "Give 0 to 4"},
      {[](Parts& p) { p.layer.weight_curve = {{milliseconds(5), 1}, {milliseconds(5), 0}}; }, error, "layer 'life', weight_curve at 0.005 s: 1 key has the time of the key before"},
      {[&](Parts& p) { p.layer.weight_curve = {{milliseconds(5), nan}}; }, error, "weight_curve at 0.005 s: is nan"},
      {[](Parts& p) { p.layer.mask = {"moth"}; }, error, "there is no group and no control 'moth'. Did you mean 'mouth'?"},
      {[](Parts& p) { p.layer.placements.clear(), p.layer.idle.reset(); }, warning, "layer 'life': is empty"},
      {placed([](Placement& p) { p.clip = "chwe"; }), error, "there is no clip 'chwe'. Did you mean 'chew'?"},
      {placed([](Placement& p) { p.rate = 0; }), error, "layer 'life', placement 'chew' at 0.1 s, rate: is 0"},
      {placed([&](Placement& p) { p.rate = nan; }), error, "rate: is nan"},
      {placed([](Placement& p) { p.rate = -1; }), error, "rate: is -1"},
      {placed([](Placement& p) { p.rate = 101; }), error, "at most 100"},
      {placed([](Placement& p) { p.repeats = 0; }), error, "repeats: is 0"},
      {placed([](Placement& p) { p.offset = milliseconds(-1); }), error, "offset: is -0.001 s"},
      {placed([](Placement& p) { p.offset = milliseconds(500); }), error, "leaves nothing of the clip"},
      {placed([](Placement& p) { p.weight = -0.1; }), error, "weight: is -0.1"},
      {placed([](Placement& p) { p.fade_in = milliseconds(-1); }), error, "fade_in: is -0.001 s"},
      {placed([](Placement& p) { p.fade_in = p.fade_out = milliseconds(300); }), warning, "its fades take longer than the 0.5 s"},
      {placed([](Placement& p) { p.fade_out_easing = {Easing::Kind::bezier, 2, 0, 0, 1}; }), error, "fade_out: has an easing that can't be"},
      {placed([](Placement& p) { p.start = std::chrono::seconds(9); }), warning, "lies outside the show"},
      {[](Parts& p) { p.layer.idle->blinks = -1; }, error, "layer 'life', idle, blinks: is -1"},
      {[&](Parts& p) { p.layer.idle->gaze = nan; }, error, "idle, gaze: is nan"},
  };
  for (const Wrong& wrong : wrongs) {
    Parts parts;
    wrong.make(parts);
    const Findings findings = validate(parts.show(), mouth_rig(), "f");
    ASSERT_FALSE(findings.empty()) << wrong.words;
    std::string all;
    bool found = false;
    for (const Finding& f : findings) {
      all += to_text(f) + "\n";
      found = found || (f.severity == wrong.severity && to_text(f).find(wrong.words) != std::string::npos);
      EXPECT_FALSE(f.cure.empty());
    }
    EXPECT_TRUE(found) << wrong.words << "\nin\n" << all;
  }
}

TEST(ValidateLayers, WantsNamesOnce) {
  Show show = Parts().show();
  show.poses.push_back(show.poses[0]), show.clips.push_back(show.clips[0]), show.layers.push_back(show.layers[0]);
  const Findings findings = validate(show, mouth_rig(), "f");
  ASSERT_EQ(findings.size(), 3u);
  for (const Finding& f : findings) EXPECT_THAT(to_text(f), HasSubstr("of this name"));
}

TEST(ValidateLayers, SaysWhereNothingCanLive) {
  Rig plain = mouth_rig();
  plain.mappings[0].axes[0].role.clear();
  const Findings findings = validate(Parts().show(), plain, "f");
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_THAT(to_text(findings[0]), HasSubstr("no axis of the rig has a role"));
}

TEST(ValidateLibrary, NeedsNoRig) {
  const Show show = Parts().show();
  EXPECT_TRUE(validate(Library{"l", show.poses, show.clips}, "f").empty());
  Parts parts;
  parts.clip.length = Time{-1};
  EXPECT_TRUE(has_errors(validate(Library{"l", {}, parts.show().clips}, "f")));
}

}  // namespace
}  // namespace mien::show
