// What is known of an open show's files: as they were when they were last read or written here, and whether another window has the show, too.
#pragma once
#include <cstdint>
#include <filesystem>

#include "store/stamp.hpp"

namespace mien::editor {

struct Underneath {
  std::filesystem::path rig_file;
  store::Stamp show, rig;            ///< as read or written here
  store::Stamp told_show, told_rig;  ///< as the person knows that they are now
  store::OpenShow open;
  std::int64_t look_ns = 0;          ///< when they are looked at next
};

}  // namespace mien::editor
