// Where each action of the registry can be done: what has to be so before, for tests and measurements that go through all of them.
#pragma once
#include <functional>
#include <string_view>

#include "editor/hands.hpp"
#include "store/places.hpp"

namespace mien::tests {

/// The show with something of everything on it: the pose "glad", the clip "nod", the layers "ground" (with keys of its own), "placed" (with the clip) and
/// "top", all of that `control`; and in its last second a move of `hurried` that no servo can follow.
show::Show composed(show::Show show, const show::Rig& rig, const std::string& control, const std::string& hurried);

/// A person's folders after some evenings: the show as a.show.json and b.show.json, both opened lately, a key of their own, and work that a crash left.
struct Lived {
  Lived(const std::filesystem::path& folder, const show::Rig& rig, const show::Show& show);
  std::filesystem::path a, b;
  store::Places places;
  /// The studio at home there, with a.show.json open and nothing asked.
  void move_in(editor::Studio& studio, const std::function<void()>& go_on) const;
};

/// Brings a studio that moved in there to where the action is possible; `go_on` lets a few frames pass. Failing that, the action is not possible, which is
/// for the caller to see.
void make_possible(editor::Studio& studio, FakeStage& stage, const std::function<void()>& go_on, std::string_view id);

}  // namespace mien::tests
