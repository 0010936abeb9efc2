// Shows and rigs as files. A file that loads is whole and valid: anything else is a finding that says where and what to do.
// A save is complete or it did not happen. What the files look like: tests/samples/small.show.json and small.rig.json.
#pragma once
#include <filesystem>
#include <memory>
#include <optional>

#include "show/finding.hpp"
#include "show/rig.hpp"
#include "show/show.hpp"
#include "store/disk.hpp"

namespace mien::store {

using Path = std::filesystem::path;
using RigPtr = std::shared_ptr<const show::Rig>;

struct LoadedRig {
  RigPtr rig;
  show::Findings notes;  ///< notes and warnings; never an error
};

struct Loaded {
  show::ShowPtr show;
  RigPtr rig;
  show::Findings notes;  ///< notes and warnings about both files; never an error
};

/// Where the rig of a show lies.
Path rig_path(const Path& show_path, const show::Show& show);

/// The first error where there is one, with the number of the others: check_file() lists them all.
show::Result<LoadedRig> load_rig(const Path& path);
/// Loads the rig that the show names, too. A sound file that is not there is a warning: the show opens and plays silent.
show::Result<Loaded> load_show(const Path& path);

struct LoadedLibrary {
  show::Library library;
  show::Findings notes;  ///< notes and warnings; never an error
};
/// Poses and clips that shows share, `NAME.clips.json`. They are checked without a rig here, for which show::with_library does it.
show::Result<LoadedLibrary> load_library(const Path& path);

/// Everything that there is to say about a show (with its rig), a rig or a library; which of them the file is, it says itself.
struct Checked {
  bool readable = false;  ///< false: not a show or a rig at all, or not whole
  show::Findings findings;
  show::ShowPtr show;     ///< and the rig: where nothing has an error, for whoever has more to say about them; of a rig's file only the rig, of a library or a map of hands neither
  RigPtr rig;
};
Checked check_file(const Path& path);

/// Nothing where the file is safely on the disk. The old file, if any, stays as it was on every failure; it keeps its
/// permissions, and a symbolic link stays one. A show or rig that could not be read back (a NaN, a control character in a name) is
/// refused; one that merely breaks a rule of validate() is saved, so that no work is lost.
std::optional<show::Finding> save_show(const Path& path, const show::Show& show, Disk& disk = real_disk());
std::optional<show::Finding> save_rig(const Path& path, const show::Rig& rig, Disk& disk = real_disk());
std::optional<show::Finding> save_library(const Path& path, const show::Library& library, Disk& disk = real_disk());

}  // namespace mien::store
