// The past of a document, packed: a long one comes back to the byte, and takes little room.
#include "editor/past.hpp"

#include <gtest/gtest.h>

#include <random>

#include "editor/document.hpp"
#include "editor/hands.hpp"
#include "show/library.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"
#include "support/sample.hpp"

namespace mien::editor {
namespace {
using show::from_seconds;
using support::Random;

show::ChannelPtr channel(const std::string& control, std::initializer_list<double> at) {
  show::Channel c{control, {}};
  for (const double t : at) c.keys.push_back({from_seconds(t), t});
  return std::make_shared<const show::Channel>(std::move(c));
}

show::ShowPtr show_of(std::vector<show::ChannelPtr> channels) {
  show::Show show;
  show.channels = std::move(channels);
  return std::make_shared<const show::Show>(std::move(show));
}

// What comes back once nobody has the packed one any more.
show::Show back(show::ShowPtr packed, const show::Show& beside) {
  const Packed p(packed, beside);
  packed.reset();
  return *p.unpack(beside);
}

TEST(Packed, IsTheVeryOneWhileSomebodyHasIt) {
  const auto a = show_of({channel("blink", {1, 2})}), b = show_of({channel("blink", {1, 3})});
  EXPECT_EQ(Packed(a, *b).unpack(*b), a);
}

TEST(Packed, ComesBackTheSameWhateverSetsItApart) {
  struct Case { const char* what; std::vector<show::ChannelPtr> was, now; };
  const auto untouched = channel("yaw", {0, 1, 2});
  for (const Case& c : {Case{"a key moved", {channel("blink", {1, 2, 3, 4})}, {channel("blink", {1, 2.5, 3, 4})}},
                        Case{"the first key gone", {channel("blink", {1, 2, 3})}, {channel("blink", {2, 3})}},
                        Case{"a key added at the end", {channel("blink", {1, 2})}, {channel("blink", {1, 2, 3})}},
                        Case{"one of two that are alike in part", {channel("blink", {1, 2, 2.5, 3})}, {channel("blink", {1, 3})}},
                        Case{"no key left", {channel("blink", {1, 2})}, {channel("blink", {})}},
                        Case{"all others", {channel("blink", {1, 2})}, {channel("blink", {5, 6, 7})}},
                        Case{"a channel more", {untouched}, {untouched, channel("blink", {1})}},
                        Case{"a channel less, others in another order", {untouched, channel("blink", {1}), channel("smile", {2})}, {channel("smile", {2}), untouched}},
                        Case{"none", {}, {untouched}}}) {
    const auto a = show_of(c.was), b = show_of(c.now);
    EXPECT_TRUE(show::same(back(show_of(c.was), *b), *a)) << c.what;
    EXPECT_TRUE(show::same(back(show_of(c.now), *a), *b)) << c.what << ", the other way";
  }
}

TEST(Packed, SharesWhatIsShared) {
  const auto untouched = channel("yaw", {0, 1, 2});
  const auto b = show_of({untouched, channel("blink", {2})});
  EXPECT_EQ(back(show_of({untouched, channel("blink", {1})}), *b).channels[0], untouched);
}

// What a person may do, at random: keys of all kinds, markers, loop, length; layers, clips and poses; within clips and layers, too.
struct RandomHands {
  Random random{11};
  Document& d;

  int below(int n) { return support::whole(random, 0, n - 1); }
  show::Time time() { return show::Time{10'000'000} * below(400); }
  std::string control() { return d.rig().controls[static_cast<std::size_t>(below(static_cast<int>(d.rig().controls.size())))].name; }
  std::vector<show::KeyRef> some() {
    std::vector<show::KeyRef> refs;
    for (const auto& ref : all_keys(d.show()).refs())
      if (support::chance(random, 0.1)) refs.push_back(ref);
    return refs;
  }
  template <class Parts>
  std::string one_of(const Parts& parts) { return parts.empty() ? "" : parts[static_cast<std::size_t>(below(static_cast<int>(parts.size())))]->name; }

  Edit edit() {
    switch (below(22)) {
      case 0: return MoveKeys{some(), show::Time{10'000'000} * (below(9) - 4), support::real(random, -0.2, 0.2), support::chance(random, 0.2)};
      case 1: return DeleteKeys{some()};
      case 2: return SetEasing{some(), support::easing(random)};
      case 3: return SetValue{some(), support::real(random, -1, 1)};
      case 4: return Reshaping{ScaleKeys{some(), support::real(random, 0.5, 2), support::real(random, -1, 1), time()}};
      case 5: return Reshaping{ReverseKeys{some()}};
      case 6: return Reshaping{MirrorKeys{some()}};
      case 7: return PasteKeys{show::copy_keys(d.show(), some()), time()};
      case 8: return AddMarker{{time(), "m" + std::to_string(below(9))}};
      case 9: return d.show().markers.empty() ? Edit{SetLoop{}} : Edit{DeleteMarker{d.show().markers[static_cast<std::size_t>(below(static_cast<int>(d.show().markers.size())))]}};
      case 10: return SetLoop{show::Range{show::Time{0}, time()}};
      case 11: return SetLength{from_seconds(support::real(random, 3, 5))};
      case 12: {
        show::Layer layer;
        layer.name = "layer " + std::to_string(below(4)), layer.weight = support::real(random, 0, 1), layer.channels = {channel("smile", {1, 2})};
        if (const auto clip = one_of(d.whole().clips); !clip.empty()) layer.placements.push_back({clip, time()});
        return Composition{PutLayer{"Put layer", std::move(layer)}};
      }
      case 13: return Composition{MakeClip{some(), "clip " + std::to_string(below(4))}};
      case 14: return Composition{PutPose{"Put pose", {"pose " + std::to_string(below(4)), {12}, "", {{"smile", support::real(random, 0, 1)}}}}};
      case 15: return Composition{KeyPose{one_of(d.whole().poses), {time(), support::real(random, 0, 1)}}};
      case 16: return Composition{MoveLayer{one_of(d.whole().layers), static_cast<std::size_t>(below(4))}};
      case 17: return support::chance(random, 0.3) ? Composition{DropLayer{one_of(d.whole().layers)}} : support::chance(random, 0.3) ? Composition{DropClip{one_of(d.whole().clips)}} : Composition{DropPose{one_of(d.whole().poses)}};
      default: return SetKey{control(), {time(), support::real(random, -1, 1), support::easing(random)}};
    }
  }
  void wander() {
    if (support::chance(random, 0.9)) return;
    const KeysOf::Kind kind = support::chance(random, 0.5) ? KeysOf::Kind::clip : KeysOf::Kind::layer;
    d.open_keys(support::chance(random, 0.5) ? KeysOf{} : KeysOf{kind, kind == KeysOf::Kind::clip ? one_of(d.whole().clips) : one_of(d.whole().layers)});
  }
};

TEST(Past, TenThousandRandomEditsUndoneAndRedoneGiveTheIdenticalFile) {
  support::Folder folder;
  const auto file_of = [&](const Document& d) {
    EXPECT_FALSE(store::save_show(folder / "now.show.json", d.whole()));
    return support::read(folder / "now.show.json");
  };
  ASSERT_FALSE(store::save_rig(folder / "pip.rig.json", tests::small_rig()));
  Document d(std::make_shared<const show::Rig>(tests::small_rig()), std::make_shared<const show::Show>(tests::small_show()), folder / "a.show.json", false);
  RandomHands hands{.d = d};
  std::vector<std::pair<std::size_t, std::string>> files{{0, file_of(d)}};
  std::set<std::string> kinds;
  for (int done = 0; done < 10'000;) {
    hands.wander();
    const std::string name = d.commit(hands.edit());
    if (name.empty()) continue;
    kinds.insert(name.substr(0, name.find(' ')));
    // A show that only grows would make the last edits slow, and no better tested.
    if (all_keys(d.show()).size() > 300) d.commit(DeleteKeys{hands.some()});
    if (++done % 250 == 0) files.emplace_back(d.at(), file_of(d));
  }
  ASSERT_GE(d.steps(), 10'000u);
  EXPECT_GE(kinds.size(), 12u) << "edits of many kinds";
  for (const bool forth : {false, true, false}) {
    for (std::size_t n = 0; n < files.size(); ++n) {
      const auto& [at, text] = files[forth ? n : files.size() - 1 - n];
      while (d.at() > at) d.undo();
      while (d.at() < at) d.redo();
      ASSERT_EQ(file_of(d), text) << "step " << at << (forth ? ", redone" : ", undone");
    }
    EXPECT_EQ(forth ? d.can_redo() : d.can_undo(), false);
  }
}

TEST(Past, OfAnotherFolderNamesItsPathsInEveryStep) {
  Document d(std::make_shared<const show::Rig>(tests::small_rig()), std::make_shared<const show::Show>(tests::small_show()), "a.show.json", false);
  d.commit(AddSound{{"line.wav", show::Time{0}, show::Time{0}, 0}});
  d.commit(SetKey{"smile", {from_seconds(1), 0.5}});
  d.set_paths("../pip.rig.json", {{"../line.wav", show::Time{0}, show::Time{0}, 0}});
  d.undo();
  EXPECT_EQ(d.whole().rig_file, "../pip.rig.json");
  ASSERT_EQ(d.whole().sounds.size(), 1u);
  EXPECT_EQ(d.whole().sounds[0].file, "../line.wav");
  d.undo();
  EXPECT_EQ(d.whole().rig_file, "../pip.rig.json");
}

}  // namespace
}  // namespace mien::editor
