// What tests of speech in the window start from: the demo's head, its line, and a show of nothing but its rig.
#pragma once
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <memory>

#include "editor/hands.hpp"
#include "show/layer_edit.hpp"
#include "speech/place.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {

class Speech : public testing::Test {
 protected:
  void SetUp() override {
    const std::filesystem::path shows = std::filesystem::path(MIEN_SOURCE_DIR) / "shows";
    for (const char* name : {"keeper.rig.json", "keeper.visemes.txt", "keeper.ogg", "keeper.txt"}) std::filesystem::copy_file(shows / name, folder / name);
    auto loaded = store::load_show(shows / "keeper.show.json");
    ASSERT_TRUE(loaded);
    show::Show bare = *loaded->show;
    bare.layers.clear(), bare.channels.clear(), bare.markers.clear();
    ASSERT_FALSE(store::save_show(folder / "line.show.json", bare));
  }
  void with_labels() { std::filesystem::copy_file(std::filesystem::path(MIEN_SOURCE_DIR) / "shows/keeper.TextGrid", folder / "keeper.TextGrid"); }
  std::unique_ptr<Hands> open() {
    auto hands = std::make_unique<Hands>(small_rig(), small_show(), ImVec2{1600, 900});
    hands->studio->open(folder / "line.show.json");
    until(*hands, [&] { return hands->sees("sound/keeper.ogg"); });
    hands->settle();
    return hands;
  }
  template <class Holds>
  void until(Hands& hands, Holds holds) {
    for (int i = 0; i < 3000 && !holds(); ++i) hands.frame(), ::usleep(10'000);
    EXPECT_TRUE(holds()) << "it never came";
  }
  void until_spoken(Hands& hands) {
    hands.settle();
    until(hands, [&] { return !hands.studio->speech().speaking.running && !hands.studio->speech().job.running(); });
    hands.settle();
  }
  void speak_without_a_text(Hands& hands) {
    hands.choose("Make the head speak\u2026");
    hands.studio->panels().speak.text.clear();
    hands.settle();
    hands.click("button/Make it speak");
    until_spoken(hands);
  }
  static const speech::Alignment& words(const Hands& hands) { return *hands.studio->speech().drawn().front().alignment; }
  // Where a moment of the sound stands in the row of words or of phones.
  static ImVec2 at(Hands& hands, const char* row, show::Time in_sound) {
    const auto& box = hands.probe.boxes.at(row);
    const auto seen = hands.studio->view().visible;
    const double share = show::to_seconds(hands.studio->speech().drawn().front().start + in_sound - seen.begin) / show::to_seconds(seen.length());
    return {box.min.x + static_cast<float>(share) * (box.max.x - box.min.x), (box.min.y + box.max.y) * 0.5f};
  }
  static std::size_t mouth_keys(const Hands& hands) {
    std::size_t keys = 0;
    if (const auto layer = show::find_layer(hands.document().whole(), speech::kSpeechLayer))
      for (const auto& c : layer->channels) keys += c->keys.size();
    return keys;
  }
  support::Folder folder;
};

}  // namespace mien::tests
