// How the past of a document fits into memory: a step that is not on screen is kept as what sets its show apart from the step beside it. Channels that
// both share cost nothing, and of one that an edit touched only the keys from the first to the last that differ are kept. A key moved in a channel of
// 15,000 takes a hundred bytes, where a copy of the channel takes 600 kB.
#pragma once
#include <cstddef>
#include <vector>

#include "show/show.hpp"

namespace mien::editor {

class Packed {
 public:
  Packed() = default;
  Packed(const show::ShowPtr& show, const show::Show& beside);
  /// The same show. While anybody still has the one that was packed it is that very one, so that a step that was saved is known again.
  /// Precondition: `beside` has the channels that the one given to the constructor had.
  show::ShowPtr unpack(const show::Show& beside) const;
  /// The show's paths, after a move to another folder.
  void set_paths(const std::string& rig_file, const std::vector<show::Sound>& sounds);

 private:
  struct Part {
    show::ChannelPtr whole;    ///< where most of it differs, or the one beside has no such channel
    std::size_t of = 0;        ///< else the index of that channel beside,
    std::size_t head = 0, tail = 0;  ///< how many of its first and last keys are in both,
    std::vector<show::Keyframe> keys;  ///< and what stands between them here
    bool shared = false;       ///< the channel beside itself
  };
  static Part part_of(const show::ChannelPtr& channel, std::size_t index, const show::Show& beside);
  static show::ChannelPtr channel_of(const Part& part, const show::Show& beside);

  show::Show rest_;  ///< all but the channels
  std::vector<Part> channels_;
  std::weak_ptr<const show::Show> same_;
};

/// The paths that a show that was saved into another folder has now.
show::Show with_paths(show::Show show, const std::string& rig_file, const std::vector<show::Sound>& sounds);

}  // namespace mien::editor
