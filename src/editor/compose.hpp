// Edits of what a show is made of besides its keys: layers, clips, poses. Values, as those of editor/edits.hpp, of which they are one kind.
#pragma once
#include <string>
#include <variant>
#include <vector>

#include "show/layer_edit.hpp"

namespace mien::editor {

struct Edited;
struct Selection;

/// Whose keys are edited: those of the show itself, of a clip, or of a layer's own channels.
struct KeysOf {
  enum class Kind { show, clip, layer };
  Kind kind = Kind::show;
  std::string name;  ///< the clip's or layer's
  friend bool operator==(const KeysOf&, const KeysOf&) = default;
};
/// The show as far as its keys can be edited there: the whole one, or one whose channels and length are the clip's or layer's; a clip's has neither
/// markers, loop nor sounds. The whole show where there is no such clip or layer any more.
show::ShowPtr opened(const show::ShowPtr& whole, const KeysOf& of);
/// The inverse, after an edit made `after` of opened(whole): every other part of `whole` takes what the edit made of it.
show::Show put_back(const show::Show& whole, const KeysOf& of, const show::Show& before, show::Show after);

/// A layer as it is to be, added where there is none of its name; `doing` is what undo calls it.
struct PutLayer { std::string doing; show::Layer layer; };
struct RenameLayer { std::string name, now; };
struct DropLayer { std::string name; };
struct MoveLayer { std::string name; std::size_t index = 0; };
struct PutClip { std::string doing; show::Clip clip; };
struct RenameClip { std::string name, now; };
struct DropClip { std::string name; };
/// Of the keys named, which stay; nothing where there are none.
struct MakeClip { std::vector<show::KeyRef> keys; std::string name; };
struct PutPose { std::string doing; show::Pose pose; };
struct RenamePose { std::string name, now; };
struct DropPose { std::string name; };
/// On the channels that are open.
struct KeyPose { std::string pose; show::PoseKeying keying; };
/// What a computation made of poses, clips, layers and channels.
struct PutShow { std::string doing; show::ShowPtr show; };

/// Its copies and its end are made in compose.cpp alone, as Command's.
struct Composition : std::variant<PutLayer, RenameLayer, DropLayer, MoveLayer, PutClip, RenameClip, DropClip, MakeClip, PutPose, RenamePose, DropPose, KeyPose, PutShow> {
  using variant::variant;
  Composition(const Composition&);
  Composition(Composition&&) noexcept;
  Composition& operator=(const Composition&);
  Composition& operator=(Composition&&) noexcept;
  ~Composition();
};

/// Names that a file takes for what they are not (empty) change nothing, as show/layer_edit.hpp has it.
Edited compose(const Composition& edit, const show::Show& show, const show::Rig& rig, const Selection& selection);

/// "Layer", or the first of "Layer 2", "Layer 3" and so on that none of them has.
std::string fresh_name(const std::string& wanted, const std::vector<std::string>& taken);
template <class Part>
std::string fresh_name(const std::string& wanted, const std::vector<std::shared_ptr<const Part>>& parts) {
  std::vector<std::string> taken;
  for (const auto& part : parts) taken.push_back(part->name);
  return fresh_name(wanted, taken);
}

}  // namespace mien::editor
