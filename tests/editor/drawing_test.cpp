// What a frame costs to draw, counted in vertices: those are the same on every machine.
#include <gtest/gtest.h>

#include "editor/hands.hpp"

namespace mien::tests {
namespace {
using show::from_seconds;

show::Rig wide_rig(int controls) {
  show::Rig rig = small_rig();
  rig.groups = {{"one"}, {"two"}, {"three"}, {"four"}};
  rig.controls.clear(), rig.mappings.clear();
  for (int i = 0; i < controls; ++i) rig.controls.push_back({"c" + std::to_string(i), rig.groups[static_cast<std::size_t>(i % 4)].name, "1", 0, 1, 0});
  return rig;
}

show::Show dense_show(int channels, int keys) {
  show::Show show = small_show();
  show.channels.clear();
  show.length = from_seconds(600);
  for (int c = 0; c < channels; ++c) {
    show::Channel channel{"c" + std::to_string(c), {}};
    for (int k = 0; k < keys; ++k) channel.keys.push_back({show::Time{600'000'000'000 / keys * k}, (k % 7) / 7.0, k % 3 ? show::kSmooth : show::kEase});
    show.channels.push_back(std::make_shared<const show::Channel>(std::move(channel)));
  }
  return show;
}

class ManyKeys : public testing::TestWithParam<int> {};

TEST_P(ManyKeys, StayUnderThirtyThousandVerticesAtAnyZoom) {
  Hands hands(wide_rig(64), dense_show(64, GetParam() / 64), {1600, 900});
  for (const bool chosen : {false, true}) {
    hands.studio->apply(chosen ? editor::Select{editor::all_keys(hands.show())} : editor::Select{});
    for (const double span : {600.0, 120.0, 20.0, 5.0, 1.0, 0.1}) {
      hands.studio->see({from_seconds(300), from_seconds(300 + span)});
      hands.settle();
      EXPECT_LT(hands.vertices, 30'000) << span << " s in view" << (chosen ? ", all chosen" : "");
    }
    for (const char* group : {"one", "two", "three", "four"}) hands.studio->apply(editor::Fold{group, true});
    hands.settle();
    EXPECT_LT(hands.vertices, 30'000) << "folded";
    for (const char* group : {"one", "two", "three", "four"}) hands.studio->apply(editor::Fold{group, false});
  }
}
INSTANTIATE_TEST_SUITE_P(Keys, ManyKeys, testing::Values(6'400, 100'000, 1'000'000));

}  // namespace
}  // namespace mien::tests
